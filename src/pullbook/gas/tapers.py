"""Steady flow through a cell whose area changes: what the gas of a cell would be at the cell's two faces.

Density ratio ``r = exp(z)`` between the face and the cell, from conservation of mass and of stagnation enthalpy at
constant entropy:

    (r^(gamma - 1) - 1)/(gamma - 1) + M^2/2 (a^2/r^2 - 1) = 0,      a = area of the cell / area of the face

Newton's method on z, a fixed number of steps, from z = 0. Where there is no such flow (choked) or it is too close to
sonic to be found, the gas is taken at the face as it is in the cell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.compiled import row_kernel
from pullbook.gas.grid import AREA, FACE_AREA, FACTORS, FORCE

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray

__all__ = ["add_push", "steady_flow"]

_CLOSE: Final = 1e-7
_FAR: Final = 0.9  # largest logarithm of a density ratio
_FLAT: Final = 1e-3  # least slope of a Newton step, at sonic flow
_STILL: Final = 1e-12  # square of a Mach number that is nothing
_STEPS: Final = 5


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
def _logarithm(x: float) -> float:
    """Natural logarithm for 0.5 < x < 2 to 1e-7, without a call."""
    t = (x - 1.0) / (x + 1.0)
    s = t * t
    return 2.0 * t * (1.0 + s * (1 / 3 + s * (1 / 5 + s * (1 / 7 + s * (1 / 9 + s * (1 / 11))))))


@row_kernel
def _at_face(mach2: float, ratio: float, less_one: float, sonic: float) -> tuple[float, float, float, float]:
    """Density, velocity, temperature over those of the cell, and the residual that is left.

    ``ratio`` is the area of the cell over that of the face, ``sonic`` the exponent z at which the gas is sonic: the
    least z of subsonic flow, the greatest of supersonic flow.
    """
    below = mach2 < 1.0
    least = sonic if below else -_FAR
    most = _FAR if below else sonic
    flow2 = mach2 * ratio * ratio
    z = min(max(0.0, least), most)
    for _ in range(_STEPS):
        warmth = _exponential(less_one * z)
        moving = flow2 * _exponential(-2.0 * z)
        residual = (warmth - 1.0) / less_one + 0.5 * (moving - mach2)
        slope = warmth - moving
        slope = max(slope, _FLAT) if below else min(slope, -_FLAT)
        z = min(max(z - residual / slope, least), most)
    warmth = _exponential(less_one * z)
    density = _exponential(z)
    residual = (warmth - 1.0) / less_one + 0.5 * (flow2 / (density * density) - mach2)
    return density, ratio / density, warmth, residual


@row_kernel
def _steady_factors(cell: Rows, area: Rows, factors: Rows, force: FloatArray) -> None:
    """Density, velocity, pressure at both faces over those of the cell, and the force of the wall on the gas."""
    density, velocity, pressure, gamma = cell
    mean, at_left, at_right = area
    for i in range(len(force)):
        r = density[i]
        u = velocity[i]
        p = pressure[i]
        less_one = gamma[i] - 1.0
        dynamic = r * u * u
        mach2 = dynamic / (gamma[i] * p)
        warmest = (2.0 + less_one * mach2) / (gamma[i] + 1.0)
        sonic = _logarithm(min(max(warmest, 0.5), 2.0)) / less_one
        sonic_speed = np.sqrt(warmest / max(mach2, _STILL))
        d_l, v_l, t_l, rest_l = _at_face(mach2, mean[i] / at_left[i], less_one, sonic)
        d_r, v_r, t_r, rest_r = _at_face(mach2, mean[i] / at_right[i], less_one, sonic)
        # Choked: no more than sonic flow gets to the face.
        choked_l = abs(rest_l) > _CLOSE
        choked_r = abs(rest_r) > _CLOSE
        v_l = sonic_speed if choked_l else v_l
        v_r = sonic_speed if choked_r else v_r
        p_l = d_l * t_l
        p_r = d_r * t_r
        factors[0][i] = d_l
        factors[1][i] = v_l
        factors[2][i] = p_l
        factors[3][i] = d_r
        factors[4][i] = v_r
        factors[5][i] = p_r
        from_left = at_left[i] * (p * p_l + dynamic * d_l * v_l * v_l)
        from_right = at_right[i] * (p * p_r + dynamic * d_r * v_r * v_r)
        by_pressure = p * (p_l + 4.0 + p_r) * (1.0 / 6.0) * (at_right[i] - at_left[i])
        force[i] = by_pressure if choked_l | choked_r else from_right - from_left


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
