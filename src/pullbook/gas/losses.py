"""Friction, bends and heat at the wall of a pipe, cell by cell.

Friction factor: Altshul's formula, ``0.11 (k/D + 68/Re)^(1/4)`` [1]_, which needs two square roots and no logarithm and
stays between 5.5 % below and 2.7 % above Colebrook's for ``4e3 < Re < 2e5`` and ``k/D <= 0.005`` (10 % below at 0.01,
and in a smooth pipe at ``Re = 5e5``); never below the laminar ``64/Re``.
Heat: ``Nu = 0.07 Re^0.75`` of pulsating flow [2]_, never below the laminar 3.66, Prandtl number 0.7. Viscosity: a
quotient of polynomials that follows Sutherland's formula of air [3]_ within 0.31 % from 220 to 2500 K, without a root.

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

    Gas: TypeAlias = tuple[float, float, float, float]
    Rows: TypeAlias = tuple[FloatArray, ...]
    Wall: TypeAlias = tuple[float, float, float, float, float]

__all__ = ["wall_rates"]


@row_kernel
def wall_rates(gas: Gas, wall: Wall) -> tuple[float, float]:
    """Rates at which the wall slows the gas and brings it to its own temperature.

    With ``w = |u|/D`` and ``v = viscosity/(density D^2)``, so that ``Re = w/v``, the friction is
    ``f w/2 = 0.055 w (k/D + 68 v/w)^(1/4)`` and the heat ``Nu v = 0.07 w^(3/4) v^(1/4)``: no division by the speed.

    Parameters
    ----------
    gas : tuple of float
        Density, velocity, gamma, temperature. [SI]
    wall : tuple of float
        Inverse diameter, relative roughness, friction multiplier, half bend loss per length, heat multiplier. [SI]

    Returns
    -------
    loss : float
        Rate of loss of velocity, ``du/dt = -loss u``. [1/s]
    exchange : float
        Rate of exchange of heat, ``dT/dt = exchange (Tw - T)``. [1/s]

    Examples
    --------
    Air at 30 m/s in a smooth pipe of 40 mm: half of f u/D, f = 0.0191.

    >>> loss, exchange = wall_rates((1.161, 30.0, 1.4, 300.0), (25.0, 1e-6, 1.0, 0.0, 1.0))
    >>> loss
    7.15
    """
    density, velocity, gamma, temperature = gas
    per, roughness, friction, bend, heat = wall
    speed = abs(velocity)
    t = max(temperature, 100.0)
    w = speed * per
    v = t * (8.161576e-8 + 1.705089e-11 * t) * per * per / ((1.0 + 1.374151e-3 * t) * density)
    # Two square roots make a fourth root, and the square root of w has gone into the outer one.
    rubbing = 0.055 * np.sqrt(w * np.sqrt(w * (roughness * w + 68.0 * v)))
    warming = max(0.07 * np.sqrt(w * np.sqrt(w * v)), 3.66 * v)
    return friction * max(rubbing, 32.0 * v) + bend * speed, heat * warming * (4.0 / 0.7) * gamma
