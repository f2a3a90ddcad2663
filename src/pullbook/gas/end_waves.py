"""The wave that runs from a pipe's end back into the pipe: what every end has in common.

The last state in the pipe reaches the end face through one wave. A face pressure above that of the state sends a
shock into the pipe, a lower one a simple (isentropic) wave; either gives speed and density at the face as functions
of its pressure alone. Speeds are positive *out of* the pipe.
"""

from __future__ import annotations

import math
from typing import TypeAlias

from pullbook.gas.compiled import kernel
from pullbook.gas.powers import power_near_one

Inside: TypeAlias = tuple[float, float, float, float, float, float, float]
Reservoir: TypeAlias = tuple[float, float, float, float, float, float, float]
Flux: TypeAlias = tuple[float, float, float, float, float]

__all__ = ["Flux", "Inside", "Reservoir", "behind_wave", "jet", "leaving", "runs_out", "sonic_end", "wall_pressure"]


@kernel
def behind_wave(pressure: float, rho: float, p: float, gamma: float) -> tuple[float, float, float, float]:
    """Change of speed, density, sound speed and slope behind the wave that brings a pipe's end to a pressure.

    The speed at the face, outward, is ``u - change``.

    Parameters
    ----------
    pressure : float
        Pressure at the face, above zero. [Pa]
    rho : float
        Density before the wave. [kg/m3]
    p : float
        Pressure before the wave. [Pa]
    gamma : float
        Ratio of specific heats. [1]

    Returns
    -------
    change : float
        Speed taken from the gas by the wave, negative behind an expansion. [m/s]
    density : float
        Density behind the wave. [kg/m3]
    sound : float
        Sound speed behind the wave. [m/s]
    slope : float
        Derivative of `change` with the pressure at the face. [m/s/Pa]

    References
    ----------
    .. [1] E. F. Toro, *Riemann Solvers and Numerical Methods for Fluid Dynamics*, 3rd ed., 2009, eqs 4.6-4.7 and
       3.59-3.60 (from memory).

    Examples
    --------
    >>> change, density, sound, slope = behind_wave(140178.98, 100e3 / (287.05 * 300), 100e3, 1.4)
    >>> round(change, 3), round(density, 5)
    (85.943, 1.47641)
    """
    if pressure > p:
        mu = (gamma - 1.0) / (gamma + 1.0)
        density = rho * (pressure + mu * p) / (mu * pressure + p)
        rise = pressure - p
        over = pressure + mu * p
        root = math.sqrt(2.0 / ((gamma + 1.0) * rho * over))
        return rise * root, density, math.sqrt(gamma * pressure / density), root * (1.0 - 0.5 * rise / over)
    density = rho * power_near_one((pressure - p) / p, 1.0 / gamma)
    sound = math.sqrt(gamma * pressure / density)
    change = 2.0 / (gamma - 1.0) * (sound - math.sqrt(gamma * p / rho))
    return change, density, sound, 1.0 / (density * sound)


@kernel
def wall_pressure(inside: Inside) -> float:
    """Pressure at the end of a pipe when nothing flows through it.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe: density, speed outward, pressure, gamma, energy offset, burned and fuel fractions. [SI]

    Returns
    -------
    pressure : float
        Pressure on the wall; a floor of a millionth of the pressure stands for a vacuum. [Pa]

    Notes
    -----
    A gas running against the wall is stopped by a shock, for which the pressure has a closed form; a gas running away
    from it by a simple wave.

    Examples
    --------
    >>> round(wall_pressure((1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0)), 6)
    100000.0
    """
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    if u > 0.0:
        half = 0.25 * (gamma + 1.0) * rho * u * u
        return p + half + math.sqrt(half * half + gamma * p * rho * u * u)
    less = 0.5 * (gamma - 1.0) * u / math.sqrt(gamma * p / rho)
    floor = 1e-6 * p
    if less < -0.9:
        return floor
    return max(floor, p * power_near_one(less, 2.0 * gamma / (gamma - 1.0)))


@kernel
def runs_out(inside: Inside, pressure: float) -> bool:
    """Whether gas leaves a pipe whose end opens on a pressure.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe. [SI]
    pressure : float
        Pressure outside. [Pa]

    Returns
    -------
    leaves : bool
        True when the pressure on a closed wall would not be below the one outside.

    Notes
    -----
    The wall's pressure lies between ``p + rho c u`` and that plus ``(gamma + 1)/2 rho u^2`` (from its closed forms),
    which decides nearly always.

    Examples
    --------
    >>> runs_out((1.2, 10.0, 1e5, 1.4, 0.0, 0.0, 0.0), 1.03e5)
    True
    """
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    linear = p + math.sqrt(gamma * p * rho) * u
    if pressure <= linear:
        return True
    if pressure >= linear + 0.5 * (gamma + 1.0) * rho * u * u:
        return False
    return u >= behind_wave(pressure, rho, p, gamma)[0]


@kernel
def sonic_end(inside: Inside) -> tuple[float, float, float]:
    """State where the gas that leaves a pipe through a simple wave reaches the speed of sound.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe. [SI]

    Returns
    -------
    pressure : float
        Pressure at the face; that of the state itself when it is sonic already. [Pa]
    density : float
        Density at the face. [kg/m3]
    speed : float
        Speed at the face. [m/s]

    Examples
    --------
    >>> pressure, density, speed = sonic_end((1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0))
    >>> round(pressure / 1e5, 6), round(speed**2 * density / pressure, 6)
    (0.279082, 1.4)
    """
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    sound = math.sqrt(gamma * p / rho)
    if u >= sound:
        return p, rho, u
    speed = ((gamma - 1.0) * u + 2.0 * sound) / (gamma + 1.0)
    pressure = p * math.pow(max(speed / sound, 0.1), 2.0 * gamma / (gamma - 1.0))
    return pressure, gamma * pressure / (speed * speed), speed


@kernel
def leaving(inside: Inside, area: float, pressure: float, density: float, speed: float) -> Flux:
    """Flux of the pipe's own gas through its end.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe, of which gamma, energy offset and fractions are used. [SI]
    area : float
        Area of the end face. [m2]
    pressure : float
        Pressure at the face. [Pa]
    density : float
        Density at the face. [kg/m3]
    speed : float
        Speed at the face, outward. [m/s]

    Returns
    -------
    flux : tuple of float
        Mass, momentum with pressure, energy, burned gas and fuel vapour, outward. [kg/s, N, W, kg/s, kg/s]

    Examples
    --------
    >>> leaving((1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0), 1e-3, 1e5, 1.2, 0.0)[1]
    100.0
    """
    gamma = inside[3]
    mass = density * speed * area
    enthalpy = gamma / (gamma - 1.0) * pressure / density + inside[4] + 0.5 * speed * speed
    return mass, pressure * area + mass * speed, mass * enthalpy, mass * inside[5], mass * inside[6]


@kernel
def jet(inside: Inside, area: float, pressure: float) -> Flux:
    """Flux of the pipe's own gas that leaves as a free jet into a pressure.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe. [SI]
    area : float
        Area of the end face. [m2]
    pressure : float
        Pressure outside. [Pa]

    Returns
    -------
    flux : tuple of float
        Mass, momentum with pressure, energy, burned gas and fuel vapour, outward. [kg/s, N, W, kg/s, kg/s]

    Notes
    -----
    The face has the outside pressure unless it is sonic, or the gas arrives so fast that the shock from outside
    cannot enter the pipe.

    Examples
    --------
    >>> round(jet((1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0), 1e-3, 1e4)[1], 3)  # sonic
    66.98
    """
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    front = math.sqrt((gamma * p + 0.5 * (gamma + 1.0) * max(pressure - p, 0.0)) / rho)
    if u >= front:
        return leaving(inside, area, p, rho, u)
    change, density, sound, _ = behind_wave(pressure, rho, p, gamma)
    speed = max(u - change, 0.0)
    if speed > sound:
        pressure, density, speed = sonic_end(inside)
    return leaving(inside, area, pressure, density, speed)
