"""Steady flow through a cell whose area changes: what the gas of a cell would be at the cell's two faces.

Density ratio ``r = exp(z)`` between the face and the cell, from conservation of mass and of stagnation enthalpy at
constant entropy:

    (r^(gamma - 1) - 1)/(gamma - 1) + M^2/2 (a^2/r^2 - 1) = 0,      a = area of the cell / area of the face

Newton's method on z, a fixed number of steps, from z = 0. Where there is no such flow (choked) or it is too close to
sonic to be found, the gas is taken at the face as it is in the cell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import inline_kernel, row_kernel

if TYPE_CHECKING:
    from pullbook.gas.losses import Rows

__all__ = ["steady_factors"]

_CLOSE: Final = 1e-9


@inline_kernel
def _exponential(x: float) -> float:
    """Exponential for |x| < 2 to 1e-13, without a call."""
    y = 0.125 * x
    y = 1.0 + y * (
        1.0 + y * (0.5 + y * (1 / 6 + y * (1 / 24 + y * (1 / 120 + y * (1 / 720 + y * (1 / 5040 + y / 40320))))))
    )
    y *= y
    y *= y
    return y * y


@inline_kernel
def _logarithm_of_density(mach2: float, ratio2: float, less_one: float) -> tuple[float, float]:
    """Exponent z, and the residual that is left."""
    z = 0.0
    flow2 = mach2 * ratio2
    residual = 0.5 * (flow2 - mach2)
    for _ in range(5):
        warmth = _exponential(less_one * z)
        expansion = _exponential(-2.0 * z)
        residual = (warmth - 1.0) / less_one + 0.5 * (flow2 * expansion - mach2)
        slope = warmth - flow2 * expansion
        z = min(max(z - residual / slope, -0.9), 0.9)
    return z, residual


@row_kernel
def steady_factors(cell: Rows, area: Rows, left: Rows, right: Rows, force: Rows) -> None:
    """Density, velocity, pressure at both faces over those of the cell, and the force of the wall on the gas."""
    density, velocity, pressure, gamma = cell
    mean, at_left, at_right = area
    for i in range(len(density)):
        r = density[i]
        u = velocity[i]
        p = pressure[i]
        g = gamma[i]
        dynamic = r * u * u
        mach2 = dynamic / (g * p)
        a_l = mean[i] / at_left[i]
        a_r = mean[i] / at_right[i]
        z_l, rest_l = _logarithm_of_density(mach2, a_l * a_l, g - 1.0)
        z_r, rest_r = _logarithm_of_density(mach2, a_r * a_r, g - 1.0)
        found = (abs(rest_l) < _CLOSE) & (abs(rest_r) < _CLOSE)
        d_l = _exponential(z_l) if found else 1.0
        d_r = _exponential(z_r) if found else 1.0
        v_l = a_l / d_l if found else 1.0
        v_r = a_r / d_r if found else 1.0
        p_l = d_l * _exponential((g - 1.0) * z_l) if found else 1.0
        p_r = d_r * _exponential((g - 1.0) * z_r) if found else 1.0
        left[0][i] = d_l
        left[1][i] = v_l
        left[2][i] = p_l
        right[0][i] = d_r
        right[1][i] = v_r
        right[2][i] = p_r
        moving = dynamic if found else 0.0
        from_left = at_left[i] * (p * p_l + moving * d_l * v_l * v_l)
        from_right = at_right[i] * (p * p_r + moving * d_r * v_r * v_r)
        force[0][i] = from_right - from_left
