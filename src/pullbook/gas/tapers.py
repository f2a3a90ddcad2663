"""Steady flow through a cell whose area changes: what the gas of a cell would be at the cell's two faces.

Density ratio ``r = exp(z)`` between the face and the cell, from conservation of mass and of stagnation enthalpy at
constant entropy:

    (r^(gamma - 1) - 1)/(gamma - 1) + M^2/2 (a^2/r^2 - 1) = 0,      a = area of the cell / area of the face

Newton's method on z, from the answer of the last time step, a fixed number of steps: the function is convex, and the
steps stay on the side of sonic flow on which the cell is. Where the face is too narrow for the flow, what is sonic gets
through. A throat is met exactly where it lies at a face; inside a cell the area of its mean counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.compiled import inner_kernel
from pullbook.gas.grid import AREA, FACE_AREA, FACTORS, FORCE

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray

__all__ = ["add_push", "steady_flow"]

_FAR: Final = 0.9  # largest logarithm of a density ratio
_FLAT: Final = 1e-3  # least slope of a Newton step, at sonic flow
_STILL: Final = 1e-12  # square of a Mach number that is nothing
_STEPS: Final = 2


@inner_kernel
def _exponential(x: float) -> float:
    """Exponential for |x| < 2 to 1e-13, without a call."""
    y = 0.125 * x
    y = 1.0 + y * (
        1.0 + y * (0.5 + y * (1 / 6 + y * (1 / 24 + y * (1 / 120 + y * (1 / 720 + y * (1 / 5040 + y / 40320))))))
    )
    y *= y
    y *= y
    return y * y


@inner_kernel
def _logarithm(x: float) -> float:
    """Natural logarithm for 0.5 < x < 2 to 1e-7, without a call."""
    t = (x - 1.0) / (x + 1.0)
    s = t * t
    return 2.0 * t * (1.0 + s * (1 / 3 + s * (1 / 5 + s * (1 / 7 + s * (1 / 9 + s * (1 / 11))))))


@inner_kernel
def _begin(cell: Rows, start: Rows) -> None:
    """Squares of the Mach number in the cell and of what it would be at the face at the same density; bounds and start.

    Choked is where the function is above zero at its least, which is at sonic flow: there is no root then.
    """
    density, velocity, pressure, gamma, ratio = cell
    mach2, flow2, least, most, z, choked = start
    for i in range(len(z)):
        less_one = gamma[i] - 1.0
        m = density[i] * velocity[i] * velocity[i] / (gamma[i] * pressure[i])
        f = m * ratio[i] * ratio[i]
        warmest = (2.0 + less_one * m) / (gamma[i] + 1.0)
        sonic = _logarithm(min(max(warmest, 0.5), 2.0)) / less_one
        at_sonic = (warmest - 1.0) / less_one + 0.5 * (f * _exponential(-2.0 * sonic) - m)
        choked[i] = 1.0 if at_sonic > 0.0 else 0.0
        mach2[i] = m
        flow2[i] = f
        least[i] = sonic if m < 1.0 else -_FAR
        most[i] = _FAR if m < 1.0 else sonic
        # The last answer, or where there is none on this side of sonic flow, the first step from z = 0.
        slope = max(1.0 - f, _FLAT) if m < 1.0 else min(1.0 - f, -_FLAT)
        first = min(max(0.5 * (m - f) / slope, least[i]), most[i])
        z[i] = z[i] if least[i] < z[i] < most[i] else first


@inner_kernel
def _newton_step(gamma: FloatArray, start: Rows) -> None:
    """One step; at the bounds the flow is sonic and the slope vanishes, so it is kept from zero."""
    mach2, flow2, least, most, z, _ = start
    for i in range(len(z)):
        less_one = gamma[i] - 1.0
        warmth = _exponential(less_one * z[i])
        moving = flow2[i] * _exponential(-2.0 * z[i])
        residual = (warmth - 1.0) / less_one + 0.5 * (moving - mach2[i])
        slope = warmth - moving
        slope = max(slope, _FLAT) if mach2[i] < 1.0 else min(slope, -_FLAT)
        z[i] = min(max(z[i] - residual / slope, least[i]), most[i])


@inner_kernel
def _finish(cell: Rows, start: Rows, area: FloatArray, outcome: Rows) -> None:
    """Density, velocity, pressure over those of the cell, and momentum flux with pressure."""
    density, velocity, pressure, gamma, ratio = cell
    mach2, _, _, _, z, choked = start
    for i in range(len(z)):
        less_one = gamma[i] - 1.0
        warmth = _exponential(less_one * z[i])
        d = _exponential(z[i])
        # Choked: no more than sonic flow gets to the face.
        sonic = np.sqrt((2.0 + less_one * mach2[i]) / ((gamma[i] + 1.0) * max(mach2[i], _STILL)))
        v = sonic if choked[i] > 0.0 else ratio[i] / d
        outcome[0][i] = d
        outcome[1][i] = v
        outcome[2][i] = d * warmth
        u = v * velocity[i]
        outcome[3][i] = area[i] * (d * warmth * pressure[i] + d * density[i] * u * u)


@inner_kernel
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


@inner_kernel
def steady_flow(pipes: Pipes) -> None:
    """Factors and force of all cells in tapers; cells of straight pipes keep factors of one and no force."""
    t = pipes.taper_work
    w = pipes.work
    half = t.shape[1] // 2
    if half == 0:
        return
    _collect(pipes)
    start = (t[6], t[7], t[8], t[9], t[10], t[15])
    _begin((t[0], t[1], t[2], t[3], t[4]), start)
    for _ in range(_STEPS):
        _newton_step(t[3], start)
    _finish((t[0], t[1], t[2], t[3], t[4]), start, t[5], (t[11], t[12], t[13], t[14]))
    for m in range(len(pipes.tapers)):
        i = pipes.tapers[m]
        for row in range(3):
            w[FACTORS + row, i] = t[11 + row, m]
            w[FACTORS + 3 + row, i] = t[11 + row, half + m]
        if t[15, m] > 0.0 or t[15, half + m] > 0.0:
            # Not the same mass reaches both faces: the force is that of the pressures, by Simpson's rule.
            mean = (t[13, m] + 4.0 + t[13, half + m]) * (1.0 / 6.0) * t[2, m]
            w[FORCE, i] = mean * (t[5, half + m] - t[5, m])
        else:
            w[FORCE, i] = t[14, half + m] - t[14, m]


@inner_kernel
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
