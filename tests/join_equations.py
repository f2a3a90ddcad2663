"""One large pulse in a join, by nested bisection: the equations of ``join_mixing`` written out anew, for tests."""

from __future__ import annotations

import math

from pipe_states import R, plain_change, simple_wave

from pullbook.gas.join_mixing import JOIN_STATIC

__all__ = ["one_active"]

P0, T0, G = 1e5, 300.0, 1.4
RHO0 = P0 / (R * T0)
K = G / (G - 1.0)


def one_active(bar: float, others: list[tuple[float, float]], model: int) -> tuple[float, list[float]]:
    """Pressure of the merge plane and pressures in the other pipes, by nested bisection.

    ``others``: area over that of the active pipe, and cosine of the turn out of the active pipe. The pulse is a simple
    wave; others hold gas at rest. Mass and energy are conserved, pressures as ``join_mixing`` describes.
    """
    from scipy.optimize import brentq

    p1, t1, u1 = simple_wave(1.0 + bar, P0, T0)
    rho1 = p1 / (R * t1)

    def active(pj: float) -> tuple[float, float, float]:
        u = u1 - plain_change(pj, rho1, p1, G)
        mu = (G - 1.0) / (G + 1.0)
        x = pj / p1
        rho = rho1 * ((x + mu) / (mu * x + 1.0) if x > 1.0 else math.pow(x, 1.0 / G))
        return rho * u, u, K * pj / rho + 0.5 * u * u

    def other(pj: float, cosine: float) -> tuple[float, float]:
        _, u, h0 = active(pj)
        carried = max(u * cosine, 0.0)

        def pressure(v: float) -> float:
            if model == JOIN_STATIC:
                return pj
            if v <= carried:
                return pj / (1.0 - v * (carried - v) * K / (h0 - 0.5 * v * v))
            return pj * math.pow((h0 - 0.5 * v * v) / (h0 - 0.5 * carried * carried), K)

        v = brentq(lambda v: v - plain_change(pressure(v), RHO0, P0, G), 0.0, 300.0, xtol=1e-11)
        p = pressure(v)
        return p * K / (h0 - 0.5 * v * v) * v, p

    def excess(pj: float) -> float:
        return active(pj)[0] - math.fsum(a * other(pj, c)[0] for a, c in others)

    pj = brentq(excess, P0 * (1.0 + 1e-9), p1 * (1.0 + bar), xtol=1e-7)
    return pj, [other(pj, c)[1] for _, c in others]
