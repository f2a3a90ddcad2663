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

from pullbook.gas.compiled import inner_kernel

if TYPE_CHECKING:
    from pullbook.gas.losses import Rows

__all__ = ["half_step"]


@inner_kernel
def _half_slope(a: float, b: float, lean: float) -> float:
    """Half of the slope from the jumps at both faces: their mean leant to one side, at most twice either.

    None at an extremum, where the jumps differ in sign.
    """
    c = 0.25 * (a + b) + lean * (a - b)
    return max(min(c, max(min(a, b), 0.0)), min(max(a, b), 0.0))


@inner_kernel
def _contact_slope(a: float, b: float, lean: float, steep: float) -> float:
    """The same, but as steep as the larger jump where ``steep`` is 0.25."""
    total = a + b
    gap = a - b
    c = 0.25 * total + lean * gap + steep * (abs(gap) if total >= 0.0 else -abs(gap))
    return max(min(c, max(min(a, b), 0.0)), min(max(a, b), 0.0))


@inner_kernel
def half_step(  # noqa: PLR0915 - one loop in one piece: with a call inside it is no vector code
    dt: float, before: Rows, cells: Rows, after: Rows, wall: Rows, faces: Rows
) -> int:
    """Face states; returns how often a density or pressure had to be floored.

    ``before`` and ``after``: density, velocity, pressure, their factors at the face towards the cell, burned, fuel.
    ``cells``: density, velocity, pressure, six factors, burned, fuel, gamma. ``faces``: five rows right of the cell's
    left face, five rows left of its right face. ``wall``: loss, exchange, lacking, inverse length; its last row is
    written: density times speed of sound.
    """
    density, velocity, pressure = cells[0], cells[1], cells[2]
    loss, exchange, lacking, per_length = wall[0], wall[1], wall[2], wall[3]
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
        sixth = 1.0 / 6.0
        forward = _half_slope(ap + zau, bp + zbu, sixth * (hu + hc - 0.5))
        backward = _half_slope(ap - zau, bp - zbu, sixth * (hu - hc + 0.5))
        sp = 0.5 * (forward + backward)
        su = 0.5 * (forward - backward) * inverse_c * inverse_r
        # The contact, and what moves with it.
        a = ar - ap * inverse_c2
        b = br - bp * inverse_c2
        steep = min(max(10.0 * abs(a + b) * inverse_r - 1.0, 0.0), 1.0)
        lean = (1.0 - steep) * sixth * (hu - (0.5 if u >= 0.0 else -0.5))
        steep *= 0.25
        sr = _contact_slope(a, b, lean, steep) + sp * inverse_c2
        burned = cells[9][i]
        fuel = cells[10][i]
        sb = _contact_slope(burned - before[6][i], after[6][i] - burned, lean, steep)
        sf = _contact_slope(fuel - before[7][i], after[7][i] - fuel, lean, steep)
        # Half a step in time, half a cell in space: the slopes are halves.
        # However strong a wall is, it takes no more than half of the way in half a step.
        slow = min(dt * loss[i], 1.0) * u
        dr = -(hu * sr + h * r * su)
        du = -(hu * su + h * sp * inverse_r) - 0.5 * slow
        dp = -(hu * sp + h * stiff * su)
        dp += 0.5 * (cells[11][i] - 1.0) * (min(dt * exchange[i], 1.0) * lacking[i] + slow * r * u)
        db = burned - hu * sb
        df = fuel - hu * sf
        low_r = 0.1 * r
        low_p = 0.1 * p
        rl = at_left_r + (dr - sr)
        pl = at_left_p + (dp - sp)
        rr = at_right_r + (dr + sr)
        pr = at_right_p + (dp + sp)
        # Not in ghosts, whose length is without end.
        floors += int((min(min(rr, rl) - low_r, min(pr, pl) - low_p) < 0.0) & (h > 0.0))
        faces[0][i] = max(rl, low_r)
        faces[1][i] = at_left_u + (du - su)
        faces[2][i] = max(pl, low_p)
        faces[3][i] = db - sb
        faces[4][i] = df - sf
        faces[5][i] = max(rr, low_r)
        faces[6][i] = at_right_u + (du + su)
        faces[7][i] = max(pr, low_p)
        faces[8][i] = db + sb
        faces[9][i] = df + sf
        wall[4][i] = z
    return floors
