"""HLLC fluxes through all faces of all pipes at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.compiled import inner_kernel

if TYPE_CHECKING:
    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray

__all__ = ["hllc_fluxes"]


@inner_kernel
def hllc_fluxes(left: Rows, right: Rows, area: FloatArray, flux: Rows) -> None:
    """Fluxes times area. Rows of a side: density, velocity, pressure, gamma, q, burned, fuel, and rho c in the cell."""
    rho_l, u_l, p_l, g_l, q_l, b_l, f_l, z_l = left
    rho_r, u_r, p_r, g_r, q_r, b_r, f_r, z_r = right
    mass, momentum, energy, burned, fuel = flux
    for i in range(len(mass)):
        rl = rho_l[i]
        ul = u_l[i]
        pl = p_l[i]
        gl = g_l[i]
        rr = rho_r[i]
        ur = u_r[i]
        pr = p_r[i]
        gr = g_r[i]
        stiff_l = gl * pl
        stiff_r = gr * pr
        zl = z_l[i]
        zr = z_r[i]
        guess = max(0.0, (zr * pl + zl * pr + zl * zr * (ul - ur)) / (zl + zr))
        # Mass that each outer wave overtakes on its way: that of a shock to the guessed pressure, or of the middle of a
        # fan to it; but that of the head of a fan whose tail runs the other way.
        ml = np.sqrt(rl * (stiff_l + 0.5 * (gl + 1.0) * (guess - pl)))
        mr = np.sqrt(rr * (stiff_r + 0.5 * (gr + 1.0) * (guess - pr)))
        ml = max(ml, zl) if rl * ul > 2.0 * ml - zl else ml
        mr = max(mr, zr) if -rr * ur > 2.0 * mr - zr else mr
        middle = (pl - pr + ml * ul + mr * ur) / (ml + mr)
        from_left = middle >= 0.0
        r = rl if from_left else rr
        u = ul if from_left else ur
        p = pl if from_left else pr
        m = -ml if from_left else mr  # rho (S - u)
        s = u + m / r
        inverse = 1.0 / (s - middle)
        e = p / ((gl if from_left else gr) - 1.0) + 0.5 * r * u * u
        star = m * inverse
        star_energy = inverse * (e * (s - u) + (middle - u) * (m * middle + p))
        shift = min(s, 0.0) if from_left else max(s, 0.0)
        a = area[i]
        flow = a * (r * u + shift * (star - r))
        mass[i] = flow
        momentum[i] = a * (r * u * u + p + shift * (star * middle - r * u))
        # What a gas carries along comes from the side that it comes from.
        rightward = max(flow, 0.0)
        leftward = min(flow, 0.0)
        energy[i] = a * (u * (e + p) + shift * (star_energy - e)) + (rightward * q_l[i] + leftward * q_r[i])
        burned[i] = rightward * b_l[i] + leftward * b_r[i]
        fuel[i] = rightward * f_l[i] + leftward * f_r[i]
