"""States at the ends of pipes and what can be read from their fluxes, for tests of ends and joins; a perfect gas."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

R = 287.05

Seven = tuple[float, float, float, float, float, float, float]


def pipe(
    p: float, t: float, u: float, *, gamma: float = 1.4, q: float = 0.0, fractions: tuple[float, float] = (0.0, 0.0)
) -> Seven:
    """Last state of a pipe from pressure, temperature and speed outward; fractions of burned gas and of fuel."""
    return p / (R * t), u, p, gamma, q, *fractions


def room(p: float, t: float, *, gamma: float = 1.4, q: float = 0.0, yb: float = 0.0, yf: float = 0.0) -> Seven:
    """Reservoir of the same perfect gas."""
    return p, t, R, gamma, gamma / (gamma - 1.0) * R * t + q, yb, yf


class Face(NamedTuple):
    """What a flux says of the face: pressure, density, speed outward."""

    p: float
    rho: float
    u: float

    def entropy(self, gamma: float) -> float:
        """Entropy over the gas constant, up to a constant."""
        return math.log(self.p / self.rho**gamma) / (gamma - 1.0)


def face(flux: Sequence[float], area: float, gamma: float, q: float = 0.0) -> Face:
    """Subsonic state with this flux: mass, momentum and energy of one perfect gas fix it (a quadratic)."""
    mass, momentum, energy = flux[0] / area, flux[1] / area, flux[2] / area
    if mass == 0.0:
        return Face(momentum, math.nan, 0.0)
    k = gamma / (gamma - 1.0)
    b = k * momentum / mass
    root = math.sqrt(max(b * b - 4.0 * (k - 0.5) * (energy / mass - q), 0.0))
    u = 2.0 * (energy / mass - q) / (b + math.copysign(root, b))
    return Face(momentum - mass * u, mass / u, u)


def simple_wave(ratio: float, p0: float = 1e5, t0: float = 300.0, gamma: float = 1.4) -> tuple[float, float, float]:
    """Pressure, temperature and speed in a wave of this pressure ratio that runs outward into gas at rest.

    Standards 6.7 (Bannister, Benson; from memory): X = ratio^((g-1)/2g), u = 2 a0/(g-1) (X - 1).
    """
    x = ratio ** ((gamma - 1.0) / (2.0 * gamma))
    return p0 * ratio, t0 * x * x, 2.0 * math.sqrt(gamma * R * t0) / (gamma - 1.0) * (x - 1.0)


def plain_change(p_face: float, rho: float, p: float, gamma: float) -> float:
    """Speed lost in the wave from (rho, p) to p_face; Toro 2009, eqs 4.6 and 4.7 (from memory), written out anew."""
    c = math.sqrt(gamma * p / rho)
    if p_face > p:
        a, b = 2.0 / ((gamma + 1.0) * rho), (gamma - 1.0) / (gamma + 1.0) * p
        return (p_face - p) * math.sqrt(a / (p_face + b))
    return 2.0 * c / (gamma - 1.0) * (math.pow(p_face / p, (gamma - 1.0) / (2.0 * gamma)) - 1.0)
