"""Join of n pipes with one pressure at its merge plane, closed exactly.

The merge plane has one static pressure, so that small pulses pass as linear acoustics has it. Streams that arrive
bring their stagnation enthalpy and their composition; those that leave carry the mixture away. What the last step of
the iteration leaves over in the mass balance is put into the leaving streams in proportion, so that mass, energy and
species close to round-off whatever the tolerance.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pullbook.gas.compiled import kernel
from pullbook.gas.end_waves import behind_wave, sonic_end, wall_pressure
from pullbook.gas.join_mixing import JOIN_MIXING, JOIN_STAGNATION, leaving_pressure

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["join"]

# Columns of the flux rows, which hold what the iteration needs until the fluxes are written.
_FACE, _SPEED, _DENSITY, _SOUND, _MASS = 0, 1, 2, 3, 4


@kernel
def _row(inside: FloatArray, i: int) -> tuple[float, float, float, float, float, float, float]:
    return (inside[i, 0], inside[i, 1], inside[i, 2], inside[i, 3], inside[i, 4], inside[i, 5], inside[i, 6])


@kernel
def _arrive(i: int, inside: FloatArray, pressure: float, model: int, work: FloatArray) -> float:
    """State at the face of a pipe at the pressure of the merge plane; its speed, positive when its gas arrives."""
    rho, u, p, gamma = inside[i, 0], inside[i, 1], inside[i, 2], inside[i, 3]
    change, density, sound = behind_wave(pressure, rho, p, gamma)
    speed = u - change
    face = pressure
    if speed > 0.0 and model == JOIN_STAGNATION:
        # The face stands below the common stagnation pressure by the stream's own head.
        expansion = gamma / (gamma - 1.0)
        for _ in range(20):
            head = math.pow(1.0 + 0.5 * (gamma - 1.0) * speed * speed / (sound * sound), expansion)
            excess = face * head - pressure
            step = -excess / (head * (1.0 - speed / sound) + 1e-3)
            face = max(face + step, 0.05 * pressure)
            change, density, sound = behind_wave(face, rho, p, gamma)
            speed = max(u - change, 0.0)
            if abs(step) < 1e-10 * pressure:
                break
    if speed > sound:
        face, density, speed = sonic_end(_row(inside, i))
        sound = speed
    work[i, _FACE], work[i, _SPEED], work[i, _DENSITY], work[i, _SOUND] = face, speed, density, sound
    return float(speed)


@kernel
def _leave(i: int, inside: FloatArray, pressure: float, mixed: tuple[float, ...], work: FloatArray) -> float:
    """State at the face of a pipe that takes mixed gas away, and its slope of mass over pressure.

    ``mixed``: stagnation enthalpy without offset, gamma, speed carried along this pipe.
    """
    rho, u, p, own_gamma = inside[i, 0], inside[i, 1], inside[i, 2], inside[i, 3]
    stagnation, gamma, carried = mixed[0], mixed[1], mixed[2]
    fraction = (gamma - 1.0) / gamma
    fastest = math.sqrt(2.0 * (gamma - 1.0) / (gamma + 1.0) * stagnation)
    carried = min(carried, fastest)
    low, high = 0.0, fastest
    speed = min(max(-work[i, _SPEED], 0.0), 0.999 * fastest)
    face = pressure
    slope = stiffness = 1.0
    for _ in range(40):
        face = pressure if carried < 0.0 else leaving_pressure(speed, pressure, carried, stagnation, gamma)
        change, outer, sound = behind_wave(face, rho, p, own_gamma)
        stiffness = outer * sound
        excess = speed + u - change
        if excess > 0.0:
            high = speed
        else:
            low = speed
        density = face / (fraction * (stagnation - 0.5 * speed * speed))
        slope = 1.0
        if carried >= 0.0:
            lever = 2.0 * speed - carried if speed < carried else speed
            slope += lever * density / stiffness
        slope = max(slope, 0.2)
        following = speed - excess / slope
        if not low <= following <= high:
            following = 0.5 * (low + high)
        step = following - speed
        speed = following
        if abs(step) <= 1e-9 * sound:
            break
    work[i, _FACE], work[i, _SPEED] = face, -speed
    work[i, _DENSITY] = face / (fraction * (stagnation - 0.5 * speed * speed))
    return float(work[i, _DENSITY] / (stiffness * slope))


@kernel
def _mix(n: int, inside: FloatArray, area: FloatArray, flux: FloatArray) -> tuple[float, ...]:
    """Mass that arrives in a join, and mean stagnation enthalpy, offset, gamma/(gamma-1) and fractions."""
    mass = enthalpy = offset = expansion = burned = fuel = 0.0
    for i in range(n):
        speed = flux[i, _SPEED]
        if speed > 0.0:
            part = flux[i, _DENSITY] * speed * area[i]
            own = inside[i, 3] / (inside[i, 3] - 1.0)
            mass += part
            enthalpy += part * (own * flux[i, _FACE] / flux[i, _DENSITY] + inside[i, 4] + 0.5 * speed * speed)
            offset += part * inside[i, 4]
            expansion += part * own
            burned += part * inside[i, 5]
            fuel += part * inside[i, 6]
    if mass <= 0.0:
        return 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    return mass, enthalpy / mass, offset / mass, expansion / mass, burned / mass, fuel / mass


@kernel
def _carried(j: int, inside: FloatArray, area: FloatArray, cosine: FloatArray, flux: FloatArray) -> float:
    """Mean speed along pipe j of the gas that arrives, not below zero."""
    mass = momentum = 0.0
    for i in range(inside.shape[0]):
        speed = flux[i, _SPEED]
        if speed > 0.0:
            part = flux[i, _DENSITY] * speed * area[i]
            mass += part
            momentum += part * speed * cosine[i, j]
    return max(momentum / mass, 0.0) if mass > 0.0 else 0.0


@kernel
def _balance(
    pressure: float, inside: FloatArray, area: FloatArray, cosine: FloatArray, model: int, flux: FloatArray
) -> tuple[float, float, float]:
    """Mass that arrives, mass that leaves, and the slope of their difference, for a pressure of the merge plane."""
    n = area.shape[0]
    slope = 0.0
    for i in range(n):
        if _arrive(i, inside, pressure, model, flux) > 0.0:
            slope -= area[i] / flux[i, _SOUND] * (1.0 - flux[i, _SPEED] / flux[i, _SOUND])
    mixed = _mix(n, inside, area, flux)
    leaves = 0.0
    for i in range(n):
        if flux[i, _SPEED] > 0.0:
            continue
        if mixed[0] > 0.0:
            carried = -1.0
            if model == JOIN_MIXING:
                carried = _carried(i, inside, area, cosine, flux)
            elif model == JOIN_STAGNATION:
                carried = 0.0
            stream = (mixed[1] - mixed[2], mixed[3] / (mixed[3] - 1.0), carried)
            slope -= area[i] * _leave(i, inside, pressure, stream, flux)
        else:
            slope -= area[i] / flux[i, _SOUND]
        leaves -= area[i] * flux[i, _DENSITY] * flux[i, _SPEED]
    return mixed[0], leaves, min(slope, -1e-30)


@kernel
def _write(scale: float, inside: FloatArray, area: FloatArray, mixed: tuple[float, ...], flux: FloatArray) -> None:
    """Fluxes in place of what the iteration knew; leaving streams are scaled to what arrives."""
    for i in range(area.shape[0]):
        face, speed, density = flux[i, _FACE], flux[i, _SPEED], flux[i, _DENSITY]
        mass = density * speed * area[i]
        enthalpy, burned, fuel = mixed[1], mixed[4], mixed[5]
        if speed > 0.0 and scale > 0.0:
            own = inside[i, 3] / (inside[i, 3] - 1.0)
            enthalpy = own * face / density + inside[i, 4] + 0.5 * speed * speed
            burned, fuel = inside[i, 5], inside[i, 6]
        else:
            mass *= scale
        flux[i, 0] = mass
        flux[i, 1] = face * area[i] + mass * speed
        flux[i, 2] = mass * enthalpy
        flux[i, 3] = mass * burned
        flux[i, 4] = mass * fuel


@kernel
def join(inside: FloatArray, area: FloatArray, cosine: FloatArray, model: int, guess: float, flux: FloatArray) -> float:
    """Fluxes through the ends of the pipes of a join.

    Parameters
    ----------
    inside : (n, 7) array of float
        Last state of each pipe: density, speed towards the join, pressure, gamma, energy offset, fractions. []
    area : (n,) array of float
        Area of each pipe's end face. [m2]
    cosine : (n, n) array of float
        Cosine of the turn from each pipe (row) into each other (column), see ``turning_cosines``. [1]
    model : int
        0, one static pressure for all; 1, jets mix and streams contract behind the merge plane; 2, one stagnation
        pressure.
    guess : float
        Pressure of the merge plane to begin with, as returned last time; 0 for none. [Pa]
    flux : (n, 5) array of float
        Written: mass, momentum with pressure, energy, burned gas and fuel vapour towards the join. []

    Returns
    -------
    pressure : float
        Pressure of the merge plane. [Pa]

    Notes
    -----
    All models pass small pulses as linear acoustics has it; they differ in the square of the Mach number. Sums of
    mass, energy and species over the pipes are zero to round-off.

    References
    ----------
    .. [1] R. S. Benson, *The Thermodynamics and Gas Dynamics of Internal-Combustion Engines*, vol. 1, 1982, chapter 9
       (constant-pressure junction; from memory).
    .. [2] D. E. Winterbone and R. J. Pearson, *Theory of Engine Manifold Design*, 2000, chapter 9 (junctions with
       losses; from memory).

    Examples
    --------
    >>> import numpy as np
    >>> still = np.tile([1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0], (3, 1))
    >>> out = np.zeros((3, 5))
    >>> join(still, np.full(3, 1e-3), -np.ones((3, 3)), 0, 0.0, out)
    100000.0
    """
    n = area.shape[0]
    low, high, weight, mean = 1e300, 0.0, 0.0, 0.0
    for i in range(n):
        wall = wall_pressure(_row(inside, i))
        low, high = min(low, wall), max(high, wall)
        stiffness = math.sqrt(inside[i, 3] * inside[i, 2] * inside[i, 0])
        weight += area[i] / stiffness
        mean += area[i] / stiffness * (inside[i, 2] + stiffness * inside[i, 1])
    pressure = guess if low < guess < high else min(max(mean / weight, low), high)
    last_p = last_excess = 0.0
    arrives = leaves = 0.0
    for attempt in range(60):
        arrives, leaves, slope = _balance(pressure, inside, area, cosine, model, flux)
        excess = arrives - leaves
        if excess > 0.0:
            low = pressure
        else:
            high = pressure
        if abs(excess) <= 1e-11 * max(arrives, leaves) or high - low <= 1e-13 * high:
            break
        if attempt > 0 and (excess - last_excess) * (pressure - last_p) < 0.0:
            slope = (excess - last_excess) / (pressure - last_p)
        last_p, last_excess = pressure, excess
        following = pressure - excess / slope
        if not low < following < high:
            following = 0.5 * (low + high)
        pressure = following
    mixed = _mix(n, inside, area, flux)
    scale = arrives / leaves if arrives > 0.0 and leaves > 0.0 else 0.0
    _write(scale, inside, area, mixed, flux)
    return pressure
