"""States at both sides of every face at half a step: limited slopes about steady flow, then Hancock's predictor."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.gas.compiled import row_kernel

if TYPE_CHECKING:
    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray

__all__ = ["half_step", "plain_slopes", "steady_slopes"]


@row_kernel
def plain_slopes(cell: FloatArray, slope: FloatArray) -> None:
    """Limited difference over a cell (monotonised central), written for slots 1 to n - 2."""
    before = cell[:-2]
    here = cell[1:-1]
    after = cell[2:]
    out = slope[1:-1]
    for i in range(len(out)):
        a = here[i] - before[i]
        b = after[i] - here[i]
        c = 0.5 * (a + b)
        a += a
        b += b
        out[i] = max(0.0, min(a, b, c)) + min(0.0, max(a, b, c))


@row_kernel
def steady_slopes(cell: FloatArray, left: FloatArray, right: FloatArray, slope: FloatArray) -> None:
    """The same of the departure from steady flow: jumps between what neighbours would have at their common face."""
    before = cell[:-2]
    here = cell[1:-1]
    after = cell[2:]
    before_right = right[:-2]
    here_left = left[1:-1]
    here_right = right[1:-1]
    after_left = left[2:]
    out = slope[1:-1]
    for i in range(len(out)):
        a = here[i] * here_left[i] - before[i] * before_right[i]
        b = after[i] * after_left[i] - here[i] * here_right[i]
        c = 0.5 * (a + b)
        a += a
        b += b
        out[i] = max(0.0, min(a, b, c)) + min(0.0, max(a, b, c))


@row_kernel
def half_step(dt: float, cells: Rows, wall: Rows, slopes: Rows, factors: Rows, faces: Rows) -> int:
    """Face states; returns how often a density or pressure had to be floored.

    ``faces`` holds the rows left of the next face first, then the rows right of the cell's own face, then the force.
    """
    density, velocity, pressure, gamma, burned, fuel = cells
    loss, exchange, lacking, per_length, area_left, area_right, force = wall
    slope_density, slope_velocity, slope_pressure, slope_burned, slope_fuel = slopes
    left_density, left_velocity, left_pressure, right_density, right_velocity, right_pressure = factors
    floors = 0
    for i in range(len(density)):
        r = density[i]
        u = velocity[i]
        p = pressure[i]
        sr = slope_density[i]
        su = slope_velocity[i]
        sp = slope_pressure[i]
        sb = slope_burned[i]
        sf = slope_fuel[i]
        half = 0.5 * dt
        h = half * per_length[i]
        hu = h * u
        slow = half * loss[i] * u
        dr = -(hu * sr + h * r * su)
        du = -(hu * su + h * sp / r) - slow
        dp = -(hu * sp + h * gamma[i] * p * su)
        dp += (gamma[i] - 1.0) * (half * exchange[i] * lacking[i] + slow * r * u)
        db = burned[i] - hu * sb
        df = fuel[i] - hu * sf
        low_r = 0.1 * r
        low_p = 0.1 * p
        rr = r * right_density[i] + dr + 0.5 * sr
        pr = p * right_pressure[i] + dp + 0.5 * sp
        rl = r * left_density[i] + dr - 0.5 * sr
        pl = p * left_pressure[i] + dp - 0.5 * sp
        floors += int((rr < low_r) | (pr < low_p) | (rl < low_r) | (pl < low_p))
        faces[0][i] = max(rr, low_r)
        faces[1][i] = u * right_velocity[i] + du + 0.5 * su
        faces[2][i] = max(pr, low_p)
        faces[3][i] = db + 0.5 * sb
        faces[4][i] = df + 0.5 * sf
        faces[5][i] = max(rl, low_r)
        faces[6][i] = u * left_velocity[i] + du - 0.5 * su
        faces[7][i] = max(pl, low_p)
        faces[8][i] = db - 0.5 * sb
        faces[9][i] = df - 0.5 * sf
        force[i] += dp * (area_right[i] - area_left[i])
    return floors
