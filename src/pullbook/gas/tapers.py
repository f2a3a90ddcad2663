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
def _begin(cell: Rows, start: Rows) -> None:
    """Squares of the Mach number in the cell and of what it would be at the face at the same density; bounds of z."""
    density, velocity, pressure, gamma, ratio = cell
    mach2, flow2, least, most, z = start
    for i in range(len(z)):
        less_one = gamma[i] - 1.0
        m = density[i] * velocity[i] * velocity[i] / (gamma[i] * pressure[i])
        sonic = _logarithm(min(max((2.0 + less_one * m) / (gamma[i] + 1.0), 0.5), 2.0)) / less_one
        mach2[i] = m
        flow2[i] = m * ratio[i] * ratio[i]
        least[i] = sonic if m < 1.0 else -_FAR
        most[i] = _FAR if m < 1.0 else sonic
        z[i] = min(max(0.0, least[i]), most[i])


@row_kernel
def _newton_step(gamma: FloatArray, start: Rows) -> None:
    """One step; at the bounds the flow is sonic and the slope vanishes, so it is kept from zero."""
    mach2, flow2, least, most, z = start
    for i in range(len(z)):
        less_one = gamma[i] - 1.0
        warmth = _exponential(less_one * z[i])
        moving = flow2[i] * _exponential(-2.0 * z[i])
        residual = (warmth - 1.0) / less_one + 0.5 * (moving - mach2[i])
        slope = warmth - moving
        slope = max(slope, _FLAT) if mach2[i] < 1.0 else min(slope, -_FLAT)
        z[i] = min(max(z[i] - residual / slope, least[i]), most[i])


@row_kernel
def _finish(cell: Rows, start: Rows, area: FloatArray, outcome: Rows) -> None:
    """Density, velocity, pressure over those of the cell; momentum flux with pressure; pressure if choked, else -1."""
    density, velocity, pressure, gamma, ratio = cell
    mach2, flow2, z = start
    for i in range(len(z)):
        less_one = gamma[i] - 1.0
        warmth = _exponential(less_one * z[i])
        d = _exponential(z[i])
        residual = (warmth - 1.0) / less_one + 0.5 * (flow2[i] / (d * d) - mach2[i])
        warmest = (2.0 + less_one * mach2[i]) / (gamma[i] + 1.0)
        choked = abs(residual) > _CLOSE
        # Choked: no more than sonic flow gets to the face.
        v = np.sqrt(warmest / max(mach2[i], _STILL)) if choked else ratio[i] / d
        outcome[0][i] = d
        outcome[1][i] = v
        outcome[2][i] = d * warmth
        u = v * velocity[i]
        p = d * warmth * pressure[i]
        outcome[3][i] = area[i] * (p + d * density[i] * u * u)
        outcome[4][i] = p if choked else -1.0


@row_kernel
def _collect(pipes: Pipes) -> None:
    """Gas and areas of the cells of tapers, side by side: first for their left faces, then for their right ones."""
    t = pipes.taper_work
    half = t.shape[1] // 2
    for m in range(len(pipes.tapers)):
        i = pipes.tapers[m]
        for side in range(2):
            k = m + side * half
            for row in range(4):
                t[row, k] = pipes.primitive[row, i]
            t[5, k] = pipes.geometry[FACE_AREA, i + side]
            t[4, k] = pipes.geometry[AREA, i] / t[5, k]


@row_kernel
def steady_flow(pipes: Pipes) -> None:
    """Factors and force of all cells in tapers; cells of straight pipes keep factors of one and no force."""
    t = pipes.taper_work
    w = pipes.work
    half = t.shape[1] // 2
    if half == 0:
        return
    _collect(pipes)
    start = (t[6], t[7], t[8], t[9], t[10])
    _begin((t[0], t[1], t[2], t[3], t[4]), start)
    for _ in range(_STEPS):
        _newton_step(t[3], start)
    _finish((t[0], t[1], t[2], t[3], t[4]), (t[6], t[7], t[10]), t[5], (t[11], t[12], t[13], t[14], t[15]))
    for m in range(len(pipes.tapers)):
        i = pipes.tapers[m]
        for row in range(3):
            w[FACTORS + row, i] = t[11 + row, m]
            w[FACTORS + 3 + row, i] = t[11 + row, half + m]
        if t[15, m] > 0.0 or t[15, half + m] > 0.0:
            mean = (t[13, m] + 4.0 + t[13, half + m]) * (1.0 / 6.0) * t[2, m]
            w[FORCE, i] = mean * (t[5, half + m] - t[5, m])
        else:
            w[FORCE, i] = t[14, half + m] - t[14, m]


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
