"""Exact solution of the Riemann problem of two perfect gases, which may differ in gamma.

The yardstick of the scheme; the scheme itself uses the approximate solver of ``hllc``. Pressure between the waves from
``f_left(p) + f_right(p) + u_right - u_left = 0`` by Newton's method from a lower bound, from which it rises without
overshoot since the function is concave. Where the gases part so fast that a vacuum opens, its pressure is zero.

References
----------
.. [1] E. F. Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed., Springer 2009, chapter 4,
   equations 4.5 to 4.9 (pressure), 4.40 (vacuum), 4.51 to 4.63 (sampling); from memory.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from pullbook.gas.compiled import kernel

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

Side: TypeAlias = tuple[float, float, float, float]

__all__ = ["riemann_at", "riemann_profile", "riemann_star"]

_MOST_STEPS = 60


@kernel
def _wave(p: float, side: Side) -> tuple[float, float]:
    """Change of speed through the wave of one side up to pressure p, and its derivative."""
    rho, _, p0, gamma = side
    c = math.sqrt(gamma * p0 / rho)
    if p > p0:
        a = 2.0 / ((gamma + 1.0) * rho)
        b = p0 * (gamma - 1.0) / (gamma + 1.0)
        root = math.sqrt(a / (p + b))
        return (p - p0) * root, root * (1.0 - 0.5 * (p - p0) / (p + b))
    ratio = (p / p0) ** (0.5 * (gamma - 1.0) / gamma)
    slope = ratio * p0 / p / (rho * c) if p > 0.0 else 0.0
    return 2.0 * c / (gamma - 1.0) * (ratio - 1.0), slope


@kernel
def _density(p: float, side: Side) -> float:
    """Density behind the wave of one side."""
    rho, _, p0, gamma = side
    if p > p0:
        k = (gamma - 1.0) / (gamma + 1.0)
        return rho * (p / p0 + k) / (k * p / p0 + 1.0)
    return float(rho * (p / p0) ** (1.0 / gamma))


@kernel
def riemann_star(left: Side, right: Side) -> tuple[float, float, float, float]:
    """State between the two outer waves.

    Parameters
    ----------
    left : tuple of float
        Density, velocity, pressure and gamma on the left. [SI, or any consistent units]
    right : tuple of float
        The same on the right. [SI, or any consistent units]

    Returns
    -------
    star : tuple of float
        Pressure, velocity, density left and density right of the contact. With a vacuum between them pressure and
        densities are zero and the velocity that of the left edge. NaN in, NaN out. [as given]

    Examples
    --------
    Sod's shock tube [1]_, table 4.3.

    >>> pressure, speed, _, _ = riemann_star((1.0, 0.0, 1.0, 1.4), (0.125, 0.0, 0.1, 1.4))
    >>> f"{pressure:.5f} {speed:.5f}"
    '0.30313 0.92745'
    """
    part = right[1] - left[1]
    if _wave(0.0, left)[0] + _wave(0.0, right)[0] + part >= 0.0:
        return 0.0, left[1] - _wave(0.0, left)[0], 0.0, 0.0
    p = min(left[2], right[2])
    # Below the root the function is negative and, being concave, Newton's steps overshoot only once; going down by
    # decades finds such a start when both waves thin the gas.
    while _wave(p, left)[0] + _wave(p, right)[0] + part > 0.0:
        p *= 0.1
    for _ in range(_MOST_STEPS):
        f_left, d_left = _wave(p, left)
        f_right, d_right = _wave(p, right)
        step = (f_left + f_right + part) / (d_left + d_right)
        p -= step
        if abs(step) <= 1e-15 * p:
            break
    u = 0.5 * (left[1] + right[1] + _wave(p, right)[0] - _wave(p, left)[0])
    return p, u, _density(p, left), _density(p, right)


@kernel
def _beside(p: float, u: float, side: Side, xi: float) -> tuple[float, float, float]:
    """State at speed xi left of the contact; for the right side it is called with all speeds turned round."""
    rho, u0, p0, gamma = side
    c0 = math.sqrt(gamma * p0 / rho)
    if p > p0:
        shock = u0 - c0 * math.sqrt(0.5 * (gamma + 1.0) / gamma * p / p0 + 0.5 * (gamma - 1.0) / gamma)
        return (rho, u0, p0) if xi < shock else (_density(p, side), u, p)
    if xi < u0 - c0:
        return rho, u0, p0
    c = c0 * (p / p0) ** (0.5 * (gamma - 1.0) / gamma)
    # Through a fan into a vacuum u is the speed of its edge, where c is zero.
    if xi > u - c:
        return _density(p, side), u, p
    inside = 2.0 / (gamma + 1.0) * (c0 + 0.5 * (gamma - 1.0) * u0 + xi)
    c = inside - xi
    pressure = p0 * (c / c0) ** (2.0 * gamma / (gamma - 1.0))
    return _density(pressure, side), inside, pressure


@kernel
def _sampled(star: tuple[float, float, float], left: Side, right: Side, xi: float) -> tuple[float, float, float]:
    """State at speed xi between two gases, given the pressure and the speeds at both sides of the contact."""
    p, u_left, u_right = star
    if xi <= u_left:
        return _beside(p, u_left, left, xi)
    if xi >= u_right:
        rho, turned, pressure = _beside(p, -u_right, (right[0], -right[1], right[2], right[3]), -xi)
        return rho, -turned, pressure
    return 0.0, xi, 0.0


@kernel
def _contact(left: Side, right: Side) -> tuple[float, float, float]:
    """Pressure, and the speed of either gas at the contact; they differ when a vacuum parts them."""
    p, u, _, _ = riemann_star(left, right)
    return p, u, u if p > 0.0 else right[1] + _wave(0.0, right)[0]


@kernel
def riemann_at(left: Side, right: Side, speed: float) -> tuple[float, float, float, bool]:
    """Solution along one ray from the place where the gases met.

    Parameters
    ----------
    left : tuple of float
        Density, velocity, pressure and gamma on the left. [SI, or any consistent units]
    right : tuple of float
        The same on the right. [SI, or any consistent units]
    speed : float
        Distance over time of the ray. [m/s]

    Returns
    -------
    density : float
        Density. [as given]
    velocity : float
        Velocity. [as given]
    pressure : float
        Pressure. [as given]
    from_left : bool
        Whether it is gas of the left.

    Examples
    --------
    >>> riemann_at((1.0, 0.0, 1.0, 1.4), (0.125, 0.0, 0.1, 1.4), 0.0)
    (0.426, 0.927, 0.303, True)
    """
    star = _contact(left, right)
    rho, u, p = _sampled(star, left, right, speed)
    return rho, u, p, speed <= star[1]


@kernel
def riemann_profile(left: Side, right: Side, speeds: FloatArray) -> FloatArray:
    """Solution along rays from the place where the gases met.

    Parameters
    ----------
    left : tuple of float
        Density, velocity, pressure and gamma on the left. [SI, or any consistent units]
    right : tuple of float
        The same on the right. [SI, or any consistent units]
    speeds : (n,) array of float
        Distance over time of each ray. [m/s]

    Returns
    -------
    profile : (3, n) array of float
        Density, velocity, pressure. [as given]

    Examples
    --------
    >>> import numpy as np
    >>> profile = riemann_profile((1.0, 0.0, 1.0, 1.4), (0.125, 0.0, 0.1, 1.4), np.array([-2.0, 1.0]))
    >>> np.round(profile[0], 4).tolist()
    [1.0, 0.2656]
    """
    star = _contact(left, right)
    profile = np.empty((3, len(speeds)))
    for i in range(len(speeds)):
        profile[0, i], profile[1, i], profile[2, i] = _sampled(star, left, right, speeds[i])
    return profile
