"""States at both sides of every face at half a step: limited slopes about steady flow, then Hancock's predictor.

Jumps between cells are taken at their common face, between what the gas of either cell would be there in steady flow
(``tapers``); in a straight pipe that is the plain difference. They are split into the two acoustic waves and the
contact. Slopes are of third order for the Courant number of their wave, limited to twice either jump; at a strong
contact (a density jump of more than 5 % a cell) the steepest monotone slope takes over, so that it stays sharp.

References
----------
.. [1] E. F. Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed., Springer 2009, section 14.4
   (MUSCL-Hancock; from memory).
.. [2] M. Arora, P. L. Roe, A well-behaved TVD limiter for high-resolution calculations of unsteady flow, Journal of
   Computational Physics 132 (1997) 3 (slopes that follow the Courant number; from memory).
.. [3] P. Colella, P. R. Woodward, The piecewise parabolic method, Journal of Computational Physics 54 (1984) 174
   (contacts treated apart; from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.compiled import row_kernel

if TYPE_CHECKING:
    from pullbook.gas.losses import Rows

__all__ = ["half_step"]


@row_kernel
def _slope(a: float, b: float, lean: float) -> float:
    """Slope from the jumps at both faces: their mean leant to one side, at most twice either, none at an extremum."""
    c = 0.5 * (a + b) + lean * (a - b)
    a += a
    b += b
    return max(0.0, min(a, b, c)) + min(0.0, max(a, b, c))


@row_kernel
def _steepest(a: float, b: float) -> float:
    """Steepest slope that keeps a step monotone."""
    return max(0.0, min(a + a, b), min(a, b + b)) + min(0.0, max(a + a, b), max(a, b + b))


@row_kernel
def half_step(  # noqa: PLR0915 - one loop in one piece: with a call inside it is no vector code
    dt: float, before: Rows, cells: Rows, after: Rows, wall: Rows, faces: Rows
) -> int:
    """Face states; returns how often a density or pressure had to be floored.

    ``before`` and ``after``: density, velocity, pressure, their factors at the face towards the cell, burned, fuel.
    ``cells``: density, velocity, pressure, six factors, burned, fuel, gamma. ``faces``: five rows right of the cell's
    left face, five rows left of its right face.
    """
    density, velocity, pressure = cells[0], cells[1], cells[2]
    loss, exchange, lacking, per_length = wall
    floors = 0
    for i in range(len(loss)):
        r = density[i]
        u = velocity[i]
        p = pressure[i]
        stiff = cells[11][i] * p
        inverse_r = 1.0 / r
        inverse_c2 = r / stiff
        inverse_c = np.sqrt(inverse_c2)
        z = stiff * inverse_c
        h = dt * per_length[i]
        hu = h * u
        hc = h * z * inverse_r
        at_left_r = r * cells[3][i]
        at_left_u = u * cells[4][i]
        at_left_p = p * cells[5][i]
        at_right_r = r * cells[6][i]
        at_right_u = u * cells[7][i]
        at_right_p = p * cells[8][i]
        ar = at_left_r - before[0][i] * before[3][i]
        au = at_left_u - before[1][i] * before[4][i]
        ap = at_left_p - before[2][i] * before[5][i]
        br = after[0][i] * after[3][i] - at_right_r
        bu = after[1][i] * after[4][i] - at_right_u
        bp = after[2][i] * after[5][i] - at_right_p
        # Acoustic waves in units of pressure.
        zau = z * au
        zbu = z * bu
        third = 1.0 / 3.0
        forward = _slope(ap + zau, bp + zbu, third * (hu + hc - 0.5))
        backward = _slope(ap - zau, bp - zbu, third * (hu - hc + 0.5))
        sp = 0.5 * (forward + backward)
        su = 0.5 * (forward - backward) * inverse_c * inverse_r
        # The contact, and what moves with it.
        a = ar - ap * inverse_c2
        b = br - bp * inverse_c2
        lean = third * (hu - (0.5 if u >= 0.0 else -0.5))
        steep = min(max(10.0 * abs(a + b) * inverse_r - 1.0, 0.0), 1.0)
        calm = 1.0 - steep
        sr = calm * _slope(a, b, lean) + steep * _steepest(a, b) + sp * inverse_c2
        burned = cells[9][i]
        a = burned - before[6][i]
        b = after[6][i] - burned
        sb = calm * _slope(a, b, lean) + steep * _steepest(a, b)
        fuel = cells[10][i]
        a = fuel - before[7][i]
        b = after[7][i] - fuel
        sf = calm * _slope(a, b, lean) + steep * _steepest(a, b)
        # Half a step in time, half a cell in space.
        half = 0.5 * dt
        slow = half * loss[i] * u
        dr = -0.5 * (hu * sr + h * r * su)
        du = -0.5 * (hu * su + h * sp * inverse_r) - slow
        dp = -0.5 * (hu * sp + h * stiff * su)
        dp += (cells[11][i] - 1.0) * (half * exchange[i] * lacking[i] + slow * r * u)
        db = burned - 0.5 * hu * sb
        df = fuel - 0.5 * hu * sf
        low_r = 0.1 * r
        low_p = 0.1 * p
        rl = at_left_r + dr - 0.5 * sr
        pl = at_left_p + dp - 0.5 * sp
        rr = at_right_r + dr + 0.5 * sr
        pr = at_right_p + dp + 0.5 * sp
        floors += int((rr < low_r) | (pr < low_p) | (rl < low_r) | (pl < low_p))
        faces[0][i] = max(rl, low_r)
        faces[1][i] = at_left_u + du - 0.5 * su
        faces[2][i] = max(pl, low_p)
        faces[3][i] = db - 0.5 * sb
        faces[4][i] = df - 0.5 * sf
        faces[5][i] = max(rr, low_r)
        faces[6][i] = at_right_u + du + 0.5 * su
        faces[7][i] = max(pr, low_p)
        faces[8][i] = db + 0.5 * sb
        faces[9][i] = df + 0.5 * sf
    return floors
