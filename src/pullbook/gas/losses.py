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

    Parameters
    ----------
    gas : tuple of (n,) arrays of float
        Density, velocity, pressure, gamma, temperature. [SI]
    wall : tuple of (n,) arrays of float
        Inverse diameter, relative roughness, friction multiplier, half bend loss per length, wall temperature, heat
        multiplier. [SI]
    rates : tuple of (n,) arrays of float
        Written: loss of velocity by ``du/dt = -loss u``; rate of ``dT/dt = exchange (Tw - T)``; energy per volume that
        the gas lacks to be as warm as the wall. [1/s, 1/s, J/m3]
    """
    density, velocity, pressure, gamma, temperature = gas
    inverse_diameter, roughness, friction, bend, wall_temperature, heat = wall
    loss, exchange, lacking = rates
    for i in range(len(loss)):
        speed = abs(velocity[i])
        t = temperature[i]
        warm = max(t, 100.0)
        viscosity = 1.458e-6 * warm * np.sqrt(warm) / (warm + 110.4)
        per = inverse_diameter[i]
        reynolds = density[i] * speed / (viscosity * per)
        root = np.sqrt(reynolds)
        factor = 0.11 * np.sqrt(np.sqrt(roughness[i] + 68.0 / (reynolds + 1e-3)))
        diffusion = viscosity * per * per / density[i]
        loss[i] = friction[i] * max(0.5 * factor * speed * per, 32.0 * diffusion) + bend[i] * speed
        nusselt = max(0.07 * root * np.sqrt(root), 3.66)
        exchange[i] = heat[i] * nusselt * (4.0 / 0.7) * gamma[i] * diffusion
        lacking[i] = pressure[i] / ((gamma[i] - 1.0) * t) * (wall_temperature[i] - t)
