"""Steady flow through a cell whose area changes: what the gas of a cell would be at the cell's two faces.

Density ratio ``r = exp(z)`` between the face and the cell, from conservation of mass and of stagnation enthalpy at
constant entropy:

    (r^(gamma - 1) - 1)/(gamma - 1) + M^2/2 (a^2/r^2 - 1) = 0,      a = area of the cell / area of the face

Newton's method on z, a fixed number of steps, from z = 0. Where there is no such flow (choked) or it is too close to
sonic to be found, the gas is taken at the face as it is in the cell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import row_kernel
from pullbook.gas.grid import AREA, FACE_AREA, FACTORS, FORCE

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray

__all__ = ["add_push", "steady_flow"]

_CLOSE: Final = 1e-9


@row_kernel
def _exponential(x: float) -> float:
    """Exponential for |x| < 2 to 1e-13, without a call."""
    y = 0.125 * x
    y = 1.0 + y * (
        1.0 + y * (0.5 + y * (1 / 6 + y * (1 / 24 + y * (1 / 120 + y * (1 / 720 + y * (1 / 5040 + y / 40320))))))
    )
    y *= y
    y *= y
    return y * y


@row_kernel
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
def _steady_factors(cell: Rows, area: Rows, factors: Rows, force: FloatArray) -> None:
    """Density, velocity, pressure at both faces over those of the cell, and the force of the wall on the gas."""
    density, velocity, pressure, gamma = cell
    mean, at_left, at_right = area
    for i in range(len(force)):
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
        z_l = z_l if found else 0.0
        z_r = z_r if found else 0.0
        d_l = _exponential(z_l)
        d_r = _exponential(z_r)
        v_l = a_l / d_l if found else 1.0
        v_r = a_r / d_r if found else 1.0
        p_l = d_l * _exponential((g - 1.0) * z_l)
        p_r = d_r * _exponential((g - 1.0) * z_r)
        factors[0][i] = d_l
        factors[1][i] = v_l
        factors[2][i] = p_l
        factors[3][i] = d_r
        factors[4][i] = v_r
        factors[5][i] = p_r
        moving = dynamic if found else 0.0
        from_left = at_left[i] * (p * p_l + moving * d_l * v_l * v_l)
        from_right = at_right[i] * (p * p_r + moving * d_r * v_r * v_r)
        force[i] = from_right - from_left


@row_kernel
def steady_flow(pipes: Pipes) -> None:
    """Factors and force of all cells in tapers; cells of straight pipes keep factors of one and no force."""
    t = pipes.taper_work
    p = pipes.primitive
    g = pipes.geometry
    w = pipes.work
    for m in range(len(pipes.tapers)):
        i = pipes.tapers[m]
        for row in range(4):
            t[row, m] = p[row, i]
        t[4, m] = g[AREA, i]
        t[5, m] = g[FACE_AREA, i]
        t[6, m] = g[FACE_AREA, i + 1]
    _steady_factors((t[0], t[1], t[2], t[3]), (t[4], t[5], t[6]), (t[7], t[8], t[9], t[10], t[11], t[12]), t[13])
    for m in range(len(pipes.tapers)):
        i = pipes.tapers[m]
        for row in range(6):
            w[FACTORS + row, i] = t[7 + row, m]
        w[FORCE, i] = t[13, m]


@row_kernel
def add_push(pipes: Pipes) -> None:
    """Add to the force in tapers what the pressure has changed in half a step."""
    p = pipes.primitive
    f = pipes.faces
    w = pipes.work
    a = pipes.geometry[FACE_AREA]
    for m in range(len(pipes.tapers)):
        i = pipes.tapers[m]
        now = p[2, i] * (w[FACTORS + 2, i] + w[FACTORS + 5, i])
        w[FORCE, i] += 0.5 * (f[2, i + 1] + f[7, i] - now) * (a[i + 1] - a[i])
