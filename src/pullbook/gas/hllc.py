"""HLLC fluxes through all faces of all pipes at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.compiled import row_kernel

if TYPE_CHECKING:
    from pullbook.gas.losses import Rows

__all__ = ["hllc_fluxes"]


@row_kernel
def hllc_fluxes(left: Rows, right: Rows, area: Rows, flux: Rows) -> None:
    """Fluxes times area. Rows of a side: density, velocity, pressure, gamma, q, burned, fuel."""
    rho_l, u_l, p_l, g_l, q_l, b_l, f_l = left
    rho_r, u_r, p_r, g_r, q_r, b_r, f_r = right
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
        cl = np.sqrt(gl * pl / rl)
        cr = np.sqrt(gr * pr / rr)
        zl = rl * cl
        zr = rr * cr
        guess = max((zr * pl + zl * pr + zl * zr * (ul - ur)) / (zl + zr), 0.0)
        steep_l = np.sqrt(1.0 + max(0.0, 0.5 * (gl + 1.0) * (guess - pl) / (gl * pl)))
        steep_r = np.sqrt(1.0 + max(0.0, 0.5 * (gr + 1.0) * (guess - pr) / (gr * pr)))
        ml = rl * cl * steep_l  # rho (u - S), positive
        mr = rr * cr * steep_r
        sl = ul - cl * steep_l
        sr = ur + cr * steep_r
        middle = (pl - pr + ml * ul + mr * ur) / (ml + mr)
        el = pl / (gl - 1.0) + rl * (q_l[i] + 0.5 * ul * ul)
        er = pr / (gr - 1.0) + rr * (q_r[i] + 0.5 * ur * ur)
        from_left = middle >= 0.0
        r = rl if from_left else rr
        u = ul if from_left else ur
        p = pl if from_left else pr
        e = el if from_left else er
        s = sl if from_left else sr
        m = -ml if from_left else mr  # rho (S - u)
        beyond = sl >= 0.0 if from_left else sr <= 0.0
        star = m / (s - middle)
        star_energy = star * (e / r + (middle - u) * (middle + p / m))
        shift = 0.0 if beyond else s
        a = area[0][i]
        flow = r * u + shift * (star - r)
        mass[i] = a * flow
        momentum[i] = a * (r * u * u + p + shift * (star * middle - r * u))
        energy[i] = a * (u * (e + p) + shift * (star_energy - e))
        burned[i] = a * flow * (b_l[i] if from_left else b_r[i])
        fuel[i] = a * flow * (f_l[i] if from_left else f_r[i])
