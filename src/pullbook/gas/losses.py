"""Friction, bends and heat at the wall of a pipe, cell by cell.

Friction factor: Altshul's formula, ``0.11 (k/D + 68/Re)^(1/4)`` [1]_, which needs two square roots and no logarithm and
stays within 5 % of Colebrook's for ``4e3 < Re < 5e5`` and ``k/D < 0.01``; never below the laminar ``64/Re``.
Heat: ``Nu = 0.07 Re^0.75`` of pulsating flow [2]_, never below the laminar 3.66, Prandtl number 0.7. Viscosity:
Sutherland's formula of air [3]_.

References
----------
.. [1] A. D. Altshul, Hydraulic resistance, 1982, as quoted in textbooks; from memory.
.. [2] C. Depcik, D. Assanis, A universal heat transfer correlation for intake and exhaust flows,
   SAE 2002-01-0372, 2002.
.. [3] U.S. Standard Atmosphere, 1976, equation 51; from memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.compiled import row_kernel

if TYPE_CHECKING:
    from typing import TypeAlias

    from pullbook.quantities.arrays import FloatArray

    Rows: TypeAlias = tuple[FloatArray, ...]

__all__ = ["wall_rates"]


@row_kernel
def wall_rates(gas: Rows, wall: Rows, rates: Rows) -> None:
    """Rates at which the wall slows the gas and brings it to its own temperature.

    With ``w = |u|/D`` and ``v = viscosity/(density D^2)``, so that ``Re = w/v``, the friction is
    ``f w/2 = 0.055 w (k/D + 68 v/w)^(1/4)`` and the heat ``Nu v = 0.07 w^(3/4) v^(1/4)``: no division by the speed.

    Parameters
    ----------
    gas : tuple of (n,) arrays of float
        Density, velocity, gamma, temperature. [SI]
    wall : tuple of (n,) arrays of float
        Inverse diameter, relative roughness, friction multiplier, half bend loss per length, heat multiplier. [SI]
    rates : tuple of (n,) arrays of float
        Written: loss of velocity by ``du/dt = -loss u``; exchange of heat by ``dT/dt = exchange (Tw - T)``. [1/s]
    """
    density, velocity, gamma, temperature = gas
    inverse_diameter, roughness, friction, bend, heat = wall
    loss, exchange = rates
    for i in range(len(loss)):
        speed = abs(velocity[i])
        t = max(temperature[i], 100.0)
        per = inverse_diameter[i]
        w = speed * per
        v = 1.458e-6 * t * np.sqrt(t) * per * per / ((t + 110.4) * density[i])
        root = np.sqrt(w)
        rubbing = 0.055 * root * np.sqrt(np.sqrt(w * (roughness[i] * w + 68.0 * v)))
        loss[i] = friction[i] * max(rubbing, 32.0 * v) + bend[i] * speed
        warming = max(0.07 * root * np.sqrt(np.sqrt(w * v)), 3.66 * v)
        exchange[i] = heat[i] * warming * (4.0 / 0.7) * gamma[i]
