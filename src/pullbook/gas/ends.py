"""Ends of pipes: closed, silent, and open to a room.

Every end returns the flux through its whole face, outward: mass, momentum with pressure, energy, burned gas, fuel.
"""

from __future__ import annotations

import math

from pullbook.gas.compiled import kernel
from pullbook.gas.end_waves import (
    Flux,
    Inside,
    Reservoir,
    behind_wave,
    jet,
    leaving,
    runs_out,
    sonic_end,
    wall_pressure,
)
from pullbook.gas.powers import power_near_one

__all__ = ["anechoic_end", "closed_end", "end_correction", "entering", "open_end"]


@kernel
def closed_end(inside: Inside, area: float) -> Flux:
    """Closed end: nothing passes, and the wall carries the pressure.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe: density, speed outward, pressure, gamma, energy offset, burned and fuel fractions. [SI]
    area : float
        Area of the end face. [m2]

    Returns
    -------
    flux : tuple of float
        Mass, momentum with pressure, energy, burned gas and fuel vapour, outward. [kg/s, N, W, kg/s, kg/s]

    Examples
    --------
    >>> closed_end((1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0), 1e-3)
    (0.0, 100.0, 0.0, 0.0, 0.0)
    """
    return 0.0, wall_pressure(inside) * area, 0.0, 0.0, 0.0


@kernel
def entering(outside: Reservoir, area: float, pressure: float, speed: float) -> Flux:
    """Flux of a reservoir's gas into a pipe, outward and hence negative, momentum apart.

    Parameters
    ----------
    outside : tuple of float
        Reservoir: stagnation pressure and temperature, gas constant, gamma, stagnation enthalpy, burned and fuel
        fractions. [SI]
    area : float
        Area of the end face. [m2]
    pressure : float
        Pressure at the face. [Pa]
    speed : float
        Speed into the pipe. [m/s]

    Returns
    -------
    flux : tuple of float
        Mass, momentum with pressure, energy, burned gas and fuel vapour, outward. [kg/s, N, W, kg/s, kg/s]

    Examples
    --------
    >>> entering((1e5, 300.0, 287.05, 1.4, 0.0, 0.0, 0.0), 1e-3, 1e5, 0.0)[1]
    100.0
    """
    gamma = outside[3]
    heat = outside[2] * outside[1] - 0.5 * (gamma - 1.0) / gamma * speed * speed
    mass = -pressure / heat * speed * area
    return mass, pressure * area - mass * speed, mass * outside[4], mass * outside[5], mass * outside[6]


@kernel
def anechoic_end(inside: Inside, area: float, far: Reservoir) -> Flux:
    """End that sends nothing back: a silent pipe without end.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe: density, speed outward, pressure, gamma, energy offset, burned and fuel fractions. [SI]
    area : float
        Area of the end face. [m2]
    far : tuple of float
        Gas at rest far away: pressure, temperature, gas constant, gamma, enthalpy, burned and fuel fractions. [SI]

    Returns
    -------
    flux : tuple of float
        Mass, momentum with pressure, energy, burned gas and fuel vapour, outward. [kg/s, N, W, kg/s, kg/s]

    Notes
    -----
    The gas that has left fills the far pipe next to the end, so outflow meets gas of its own kind and the incoming
    characteristic is that of this gas at rest at the far pressure. Gas that is sucked in is the far gas.

    Examples
    --------
    >>> anechoic_end((1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0), 1e-3, (1e5, 300.0, 287.05, 1.4, 0.0, 0.0, 0.0))[1]
    100.0
    """
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    change, density, sound, _ = behind_wave(far[0], rho, p, gamma)
    speed = u - change
    if speed >= 0.0:
        # Half of the speed that the gas would have at the far pressure is left at the face: simple waves both ways.
        face_p = far[0] * power_near_one(0.25 * (gamma - 1.0) * speed / sound, 2.0 * gamma / (gamma - 1.0))
        change, density, sound, _ = behind_wave(face_p, rho, p, gamma)
        speed = u - change
        if speed > sound:
            face_p, density, speed = sonic_end(inside)
        return leaving(inside, area, face_p, density, speed)
    return _from_far(inside, area, far)


@kernel
def _from_far(inside: Inside, area: float, far: Reservoir) -> Flux:
    """Far gas sucked in through an expansion in the far pipe; its pressure lies between the wall's and the far one."""
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    far_rho = far[0] / (far[1] * far[2])
    low, high = wall_pressure(inside), far[0]
    face_p = 0.5 * (low + high)
    speed = 0.0
    density = far_rho
    for _ in range(60):
        change, _, _, slope = behind_wave(face_p, rho, p, gamma)
        speed, density, _, far_slope = behind_wave(face_p, far_rho, far[0], far[3])
        excess = change - u + speed
        if excess > 0.0:
            high = face_p
        else:
            low = face_p
        following = face_p - excess / (slope + far_slope)
        if not low < following < high:
            following = 0.5 * (low + high)
        done = abs(following - face_p) <= 1e-12 * far[0]
        face_p = following
        if done:
            break
    speed = -speed
    mass = -density * speed * area
    # The far gas loses no heat, but work is done on it while it starts to move: its enthalpy is that of the wave.
    heat = far[3] / (far[3] - 1.0) * (face_p / density - far[1] * far[2]) + 0.5 * speed * speed
    return mass, face_p * area - mass * speed, mass * (far[4] + heat), mass * far[5], mass * far[6]


@kernel
def open_end(inside: Inside, area: float, ambient: Reservoir, k_in: float, k_out: float) -> Flux:
    """Open end: the gas leaves as a jet and enters with a loss.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe: density, speed outward, pressure, gamma, energy offset, burned and fuel fractions. [SI]
    area : float
        Area of the end face. [m2]
    ambient : tuple of float
        The room: pressure, temperature, gas constant, gamma, enthalpy, burned and fuel fractions. [SI]
    k_in : float
        Stagnation pressure lost by inflow, in velocity heads in the pipe: about 0.5 with a sharp flange, 0.9 to 1
        without one, 0.03 with a bell mouth. [1]
    k_out : float
        Static pressure above the room's left by outflow, in velocity heads: 0 for a plain end, whose jet loses its own
        head in the room; above 0 for a grille. [1]

    Returns
    -------
    flux : tuple of float
        Mass, momentum with pressure, energy, burned gas and fuel vapour, outward. [kg/s, N, W, kg/s, kg/s]

    References
    ----------
    .. [1] I. E. Idelchik, *Handbook of Hydraulic Resistance*, 3rd ed., 1994, diagrams 3-1 to 3-4 (from memory).

    Examples
    --------
    >>> room = (1e5, 300.0, 287.05, 1.4, 0.0, 0.0, 0.0)
    >>> open_end((1.2, 10.0, 1e5, 1.4, 0.0, 0.0, 0.0), 1e-3, room, 0.9, 0.0)[0]
    0.012
    """
    if not runs_out(inside, ambient[0]):
        return _sucked_in(inside, area, ambient, k_in)
    if k_out > 0.0:
        return _through_grille(inside, area, ambient[0], k_out)
    return jet(inside, area, ambient[0])


@kernel
def _through_grille(inside: Inside, area: float, room: float, loss: float) -> Flux:
    """Outflow whose face pressure stands above the room's by a number of velocity heads."""
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    low, high = room, wall_pressure(inside)
    face_p = low
    for _ in range(60):
        change, density, _, slope = behind_wave(face_p, rho, p, gamma)
        speed = u - change
        excess = face_p - room - 0.5 * loss * density * speed * abs(speed)
        if excess > 0.0:
            high = face_p
        else:
            low = face_p
        following = face_p - excess / (1.0 + loss * abs(speed) * density * slope)
        if not low < following < high:
            following = 0.5 * (low + high)
        done = abs(following - face_p) <= 1e-12 * room
        face_p = following
        if done:
            break
    return jet(inside, area, face_p)


@kernel
def _sucked_in(inside: Inside, area: float, ambient: Reservoir, loss: float) -> Flux:
    """Inflow from a room at rest, up to the speed of sound."""
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    heat, room_gamma = ambient[1] * ambient[2], ambient[3]
    drop = 0.5 * (room_gamma - 1.0) / room_gamma
    expansion = room_gamma / (room_gamma - 1.0)
    low, high = 0.0, math.sqrt(2.0 * room_gamma / (room_gamma + 1.0) * heat)
    room_rho = ambient[0] / heat
    stiffness = math.sqrt(gamma * p * rho)
    push = max(ambient[0] - p - stiffness * u, 0.0)
    # Linear wave, incompressible head: a good first guess at any loss.
    speed = 2.0 * push / (stiffness + math.sqrt(stiffness * stiffness + 2.0 * (1.0 + loss) * room_rho * push))
    speed = min(speed, 0.999 * high)
    face_p = ambient[0]
    for _ in range(60):
        cold = heat - drop * speed * speed
        fall = power_near_one(-drop * speed * speed / heat, expansion)
        face_p = ambient[0] * fall / (1.0 + 0.5 * loss * speed * speed * fall / cold)
        change, _, sound, wave_slope = behind_wave(face_p, rho, p, gamma)
        excess = speed + u - change
        if excess > 0.0:
            high = speed
        else:
            low = speed
        slope = 1.0 + (1.0 + loss) * face_p / cold * speed * wave_slope
        following = speed - excess / slope
        if not low < following < high:
            following = 0.5 * (low + high)
        step = following - speed
        if abs(step) <= 3e-5 * sound:
            # Small enough for the slope; what is left is its square.
            face_p -= (1.0 + loss) * face_p / cold * speed * step
            speed = following
            break
        speed = following
    return entering(ambient, area, face_p, speed)


def end_correction(radius: float, *, flanged: bool) -> float:
    """Length by which a pipe sounds longer than it is, at an open end.

    Parameters
    ----------
    radius : float
        Inner radius of the pipe. [m]
    flanged : bool
        Whether the end lies in a wide wall.

    Returns
    -------
    length : float
        Length to add to the pipe at this end. [m]

    Notes
    -----
    For wave lengths far above the radius: 2 % at ``k a = 0.3``, which is 2.8 kHz for 20 mm in cold air.

    References
    ----------
    .. [1] H. Levine and J. Schwinger, "On the radiation of sound from an unflanged circular pipe", Phys. Rev. 73
       (1948) 383: 0.6133 radii.
    .. [2] Flanged: 0.8217 radii, Y. Nomura et al., J. Phys. Soc. Japan 15 (1960) 510 (from memory).

    Examples
    --------
    >>> round(1e3 * end_correction(0.020, flanged=False), 2), round(1e3 * end_correction(0.020, flanged=True), 2)
    (12.27, 16.43)
    """
    return (0.8217 if flanged else 0.6133) * radius
