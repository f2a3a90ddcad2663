"""Orifice, valve or throttle between the end of a pipe and a volume, both ways, choked or not.

Quasi-steady: the throat holds no gas. In the pipe one wave links the face to the last state (``end_waves``).

- Out of the pipe: isentropic from the pipe's end to the throat, whose pressure is the volume's unless it is sonic.
- Into the pipe: isentropic from the volume at rest to the throat; the jet then fills the pipe, either at the
  throat's pressure (all of its velocity head lost) or with the rise of pressure that momentum asks for. Past a sonic
  throat the pressure in the pipe is free, down to where the pipe itself is sonic.
"""

from __future__ import annotations

import math

from pullbook.gas.compiled import kernel
from pullbook.gas.end_waves import Flux, Inside, Reservoir, behind_wave, jet, leaving, runs_out, wall_pressure
from pullbook.gas.ends import closed_end, entering
from pullbook.gas.powers import power_near_one

__all__ = ["RECOVERY_MOMENTUM", "RECOVERY_NONE", "orifice", "orifice_flow"]

RECOVERY_NONE = 0
RECOVERY_MOMENTUM = 1

# An opening below this part of the pipe's area is shut.
_SHUT = 1e-9
# A step that small, in parts of pressure or sound speed, is the last: what is left of it is its square.
_SMALL_STEP = 1e-7


@kernel
def orifice_flow(area: float, upstream: Reservoir, pressure: float) -> float:
    """Mass flow of a compressible orifice from gas at rest to a pressure.

    ``m = A p0/sqrt(R T0) (p/p0)^(1/g) sqrt(2 g/(g-1) (1 - (p/p0)^((g-1)/g)))``, at most the choked value.

    Parameters
    ----------
    area : float
        Effective area. [m2]
    upstream : tuple of float
        Gas at rest: pressure, temperature, gas constant, gamma, enthalpy, burned and fuel fractions. [SI]
    pressure : float
        Pressure downstream. [Pa]

    Returns
    -------
    mass : float
        Mass flow; 0 when the pressure downstream is the higher one. [kg/s]

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, 1988, appendix C, eqs C.8 and C.9 (from memory).

    Examples
    --------
    >>> air = (100e3, 300.0, 287.05, 1.4, 0.0, 0.0, 0.0)
    >>> round(orifice_flow(0.6 * 1256.637e-6, air, 50e3), 6)
    0.175931
    """
    p0, heat, gamma = upstream[0], upstream[1] * upstream[2], upstream[3]
    critical = math.pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0))
    ratio = max(pressure / p0, critical)
    if ratio >= 1.0:
        return 0.0
    density = math.pow(ratio, 1.0 / gamma)
    head = 2.0 * gamma / (gamma - 1.0) * max(1.0 - ratio / density, 0.0)
    return area * p0 / math.sqrt(heat) * density * math.sqrt(head)


@kernel
def orifice(inside: Inside, area: float, outside: Reservoir, effective_area: float, recovery: int) -> Flux:
    """Flux through an orifice between the end of a pipe and a volume.

    Parameters
    ----------
    inside : tuple of float
        Last state in the pipe: density, speed outward, pressure, gamma, energy offset, burned and fuel fractions. [SI]
    area : float
        Area of the pipe's end face. [m2]
    outside : tuple of float
        The volume, at rest: pressure, temperature, gas constant, gamma, enthalpy, burned and fuel fractions. [SI]
    effective_area : float
        Area of the throat times its discharge coefficient; 0 is a closed wall, more than the pipe's is the pipe's. [m2]
    recovery : int
        Of the jet that enters the pipe: 0, the pipe has the throat's pressure; 1, it has the pressure that follows
        from momentum (a sudden enlargement).

    Returns
    -------
    flux : tuple of float
        Mass, momentum with pressure, energy, burned gas and fuel vapour, outward. [kg/s, N, W, kg/s, kg/s]

    Notes
    -----
    Continuous at zero flow, at choking and at zero area. The solution is bracketed between the pressure on a closed
    wall and that of the volume.

    References
    ----------
    .. [1] R. S. Benson, *The Thermodynamics and Gas Dynamics of Internal-Combustion Engines*, vol. 1, 1982, chapter 6
       (constant-pressure valve; from memory).

    Examples
    --------
    >>> still = (1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0)
    >>> orifice(still, 1e-3, (1e5, 300.0, 287.05, 1.4, 0.0, 0.0, 0.0), 5e-4, 0)[:2]
    (0.0, 100.0)
    """
    ratio = min(effective_area / area, 1.0)
    if not ratio > _SHUT:
        return closed_end(inside, area)
    if runs_out(inside, outside[0]):
        if ratio == 1.0:
            return jet(inside, area, outside[0])
        return _outflow(inside, area, outside[0], ratio)
    return _inflow(inside, area, outside, ratio, recovery)


@kernel
def _throat_demand(
    pressure: float, inside: Inside, volume: float, widening: float, lead: float
) -> tuple[float, float, float, float, float]:
    """Head that the throat would need less the head there is, and what it depends on.

    Positive: the pipe brings more than the throat takes. ``widening`` is the square of pipe area over throat area,
    ``lead`` the density of the pipe's last state over that at the throat, if it went there without a shock.
    """
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    change, density, sound, ease = behind_wave(pressure, rho, p, gamma)
    speed = u - change
    square = sound * sound
    mach = speed / sound
    stagnation = square + 0.5 * (gamma - 1.0) * speed * speed
    sonic = 2.0 * stagnation / (gamma + 1.0)
    packed = lead * density / rho if pressure <= p else power_near_one(pressure / volume - 1.0, 1.0 / gamma)
    throat = square * packed * volume / pressure
    # What the pressure at the face does to the stagnation enthalpy.
    rise = 2.0 / density - 2.0 * speed * ease
    if throat < sonic:
        packed = power_near_one(square / sonic - 1.0, 1.0 / (gamma - 1.0))
        need = widening * packed * packed
        thinner = mach * mach * (ease + 0.5 * (gamma - 1.0) * mach / (density * sound)) * sonic / square
        slope = 2.0 * need * speed * (2.0 / (gamma + 1.0) * thinner - ease)
        head = 2.0 / (gamma - 1.0) * (stagnation - sonic)
        return need * speed * abs(speed) - head, slope - (gamma - 1.0) / (gamma + 1.0) * rise, density, speed, sound
    head = 2.0 / (gamma - 1.0) * (stagnation - throat)
    need = widening * packed * packed
    slope = 2.0 * need * speed * (mach / (density * sound) - ease) - rise
    return need * speed * abs(speed) - head, slope, density, speed, sound


@kernel
def _outflow(inside: Inside, area: float, volume: float, ratio: float) -> Flux:
    """Pipe's gas through the throat into the volume."""
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    widening = 1.0 / (ratio * ratio)
    low, high = volume, wall_pressure(inside)
    stiffness = math.sqrt(gamma * p * rho)
    # A first guess: linear wave, and the throat's head from this little gas at the volume's pressure or sonic.
    push = max(p + stiffness * u - max(volume, 0.55 * p), 0.0)
    speed = 2.0 * push / (stiffness + math.sqrt(stiffness * stiffness + 2.0 * rho * (widening - 1.0) * push))
    pressure = p + stiffness * (u - speed)
    if not low < pressure < high:
        pressure = 0.5 * (low + high)
    density, step = rho, 0.0
    sound = stiffness / rho
    lead = power_near_one(p / volume - 1.0, 1.0 / gamma)
    for _ in range(60):
        excess, slope, density, speed, sound = _throat_demand(pressure, inside, volume, widening, lead)
        following = pressure - excess / slope
        if excess > 0.0 or speed > sound:
            low = pressure
        else:
            high = pressure
        if not low < following < high:
            following = 0.5 * (low + high)
        step = following - pressure
        pressure = following
        # Little against the pressure, and little against what a small flow takes off the pressure on a wall.
        if abs(step) <= min(_SMALL_STEP * pressure, 1e-4 * density * sound * abs(speed) + 1e-15 * pressure):
            break
    # The last step is small: its effect on speed and density is that of a sound wave.
    speed = max(speed - step / (density * sound), 0.0)
    density += step / (sound * sound)
    return leaving(inside, area, pressure, density, speed)


@kernel
def _jet(throat: float, outside: Reservoir, ratio: float, recovery: int) -> tuple[float, float, float, float, float]:
    """Pressure, speed and mass flux in the pipe for a speed at the throat; slopes of the first two with it."""
    gamma, heat = outside[3], outside[1] * outside[2]
    expansion = gamma / (gamma - 1.0)
    stagnation = expansion * heat
    colder = 0.5 * throat * throat / expansion
    cold = heat - colder
    pressure = outside[0] * power_near_one(-colder / heat, expansion)
    density = pressure / cold
    flux = ratio * density * throat
    fall = density * throat
    more = ratio * density * (1.0 - throat * throat / (gamma * cold))
    if recovery == RECOVERY_MOMENTUM:
        # Momentum and energy of the mixed stream: a quadratic for its speed, of which the subsonic root is meant.
        impulse = pressure + flux * throat
        half = expansion * impulse
        root = math.sqrt(max(half * half - 4.0 * (expansion - 0.5) * stagnation * flux * flux, 1e-12 * half * half))
        speed = 2.0 * stagnation * flux / (half + root)
        gain = flux + throat * more - fall
        faster = expansion * speed * (impulse * more / max(flux, 1e-300) - gain) / root
        return impulse - flux * speed, speed, flux, gain - more * speed - flux * faster, faster
    half = expansion * pressure
    root = math.sqrt(half * half + 2.0 * stagnation * flux * flux)
    speed = 2.0 * stagnation * flux / (half + root)
    faster = expansion * (2.0 * stagnation / (half + root) * more * pressure + speed * fall) / root
    return pressure, speed, flux, -fall, faster


@kernel
def _inflow(inside: Inside, area: float, outside: Reservoir, ratio: float, recovery: int) -> Flux:
    """Volume's gas through the throat into the pipe."""
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    heat, volume_gamma = outside[1] * outside[2], outside[3]
    fastest = math.sqrt(2.0 * volume_gamma / (volume_gamma + 1.0) * heat)
    low, high = 0.0, 2.0 * fastest
    stiffness = math.sqrt(gamma * p * rho)
    push = max(outside[0] - p - stiffness * u, 0.0)
    linear = ratio * stiffness
    throat = 2.0 * push / (linear + math.sqrt(linear * linear + 2.0 * outside[0] / heat * push))
    throat = min(throat, fastest)
    pressure, speed, flux = outside[0], 0.0, 0.0
    for _ in range(60):
        pressure, speed, flux, gain, faster = _jet(throat, outside, ratio, recovery)
        change, _, sound, ease = behind_wave(pressure, rho, p, gamma)
        excess = speed + u - change
        if excess > 0.0:
            high = throat
        elif throat >= fastest:
            return _choked_inflow(inside, area, outside, flux, pressure)
        else:
            low = throat
        following = min(throat - excess / max(faster - gain * ease, 1e-9 * ratio), fastest)
        if not low < following < high:
            following = 0.5 * (low + min(high, fastest))
        step = following - throat
        throat = following
        if abs(step) <= _SMALL_STEP * sound:
            # Small enough for the slopes.
            pressure += step * gain
            speed += step * faster
            break
    return entering(outside, area, pressure, speed)


@kernel
def _choked_inflow(inside: Inside, area: float, outside: Reservoir, flux: float, highest: float) -> Flux:
    """Inflow past a sonic throat: the mass flow is fixed, the pressure in the pipe follows from the wave."""
    rho, u, p, gamma = inside[0], inside[1], inside[2], inside[3]
    volume_gamma = outside[3]
    expansion = volume_gamma / (volume_gamma - 1.0)
    stagnation = expansion * outside[1] * outside[2]
    sonic = math.sqrt(2.0 * (volume_gamma - 1.0) / (volume_gamma + 1.0) * stagnation)
    lowest = flux * sonic / volume_gamma
    low, high = min(lowest, highest), highest
    pressure = min(
        max(p + math.sqrt(gamma * p * rho) * (u + flux * area / area * outside[1] * outside[2] / highest), low), high
    )
    for _ in range(60):
        half = expansion * pressure
        root = math.sqrt(half * half + 2.0 * stagnation * flux * flux)
        speed = 2.0 * stagnation * flux / (half + root)
        change, _, _, ease = behind_wave(pressure, rho, p, gamma)
        excess = change - u - speed
        if excess > 0.0:
            high = pressure
            if pressure <= lowest:
                break
        else:
            low = pressure
        following = max(pressure - excess / (ease + speed * expansion / root), lowest)
        if not low <= following <= high:
            following = 0.5 * (low + high)
        step = following - pressure
        pressure = following
        if abs(step) <= _SMALL_STEP * pressure:
            break
    half = expansion * pressure
    speed = 2.0 * stagnation * flux / (half + math.sqrt(half * half + 2.0 * stagnation * flux * flux))
    mass = -flux * area
    return mass, pressure * area - mass * speed, mass * outside[4], mass * outside[5], mass * outside[6]
