"""Join of n pipes with one pressure at its merge plane, closed exactly.

The merge plane has one static pressure, so that small pulses pass as linear acoustics has it. Streams that arrive
bring their stagnation enthalpy and their composition; those that leave carry the mixture away. What the last step of
the iteration leaves over in the mass balance is put into the leaving streams in proportion, so that mass, energy and
species close to round-off whatever the tolerance.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import row_kernel
from pullbook.gas.end_waves import runs_out
from pullbook.gas.join_mixing import JOIN_MIXING, JOIN_STAGNATION
from pullbook.gas.join_streams import DENSITY, EASE, FACE, SHARE, SPEED, arrive, leave, state_of

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["join"]

# A step of the merge pressure that small, in parts, is the last; it is added to all faces by their slopes. The slope of
# the first try leaves out what the pressure does to the jets.
_SMALL_FIRST: Final = 1e-7
_SMALL_LATER: Final = 2e-7


@row_kernel
def _mix(n: int, inside: FloatArray, area: FloatArray, flux: FloatArray) -> tuple[float, ...]:
    """Mass that arrives in a join, and mean stagnation enthalpy, offset, gamma/(gamma-1) and fractions."""
    mass = enthalpy = offset = expansion = burned = fuel = 0.0
    for i in range(n):
        speed = flux[i, SPEED]
        if speed > 0.0:
            part = flux[i, DENSITY] * speed * area[i]
            own = inside[i, 3] / (inside[i, 3] - 1.0)
            mass += part
            enthalpy += part * (own * flux[i, FACE] / flux[i, DENSITY] + inside[i, 4] + 0.5 * speed * speed)
            offset += part * inside[i, 4]
            expansion += part * own
            burned += part * inside[i, 5]
            fuel += part * inside[i, 6]
    if mass <= 0.0:
        return 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    return mass, enthalpy / mass, offset / mass, expansion / mass, burned / mass, fuel / mass


@row_kernel
def _carried(j: int, inside: FloatArray, area: FloatArray, cosine: FloatArray, flux: FloatArray) -> float:
    """Mean speed along pipe j of the gas that arrives, not below zero."""
    mass = momentum = 0.0
    for i in range(inside.shape[0]):
        speed = flux[i, SPEED]
        if speed > 0.0:
            part = flux[i, DENSITY] * speed * area[i]
            mass += part
            momentum += part * speed * cosine[i, j]
    return max(momentum / mass, 0.0) if mass > 0.0 else 0.0


@row_kernel
def _balance(
    pressure: float,
    inside: FloatArray,
    area: FloatArray,
    cosine: FloatArray,
    model: int,
    flux: FloatArray,
) -> tuple[float, float, float]:
    """Mass that arrives, mass that leaves, and the slope of their difference, for a pressure of the merge plane."""
    n = area.shape[0]
    slope = -1e-300
    for i in range(n):
        if runs_out(state_of(inside, i), pressure):
            slope -= area[i] * arrive(i, inside, pressure, model, flux)
        else:
            flux[i, SPEED] = min(flux[i, SPEED], -1e-30)
    mixed = _mix(n, inside, area, flux)
    leaves = 0.0
    for i in range(n):
        if flux[i, SPEED] >= 0.0:
            continue
        carried = -1.0
        if model == JOIN_MIXING:
            carried = _carried(i, inside, area, cosine, flux)
        elif model == JOIN_STAGNATION:
            carried = 0.0
        stream = (mixed[1] - mixed[2], mixed[3] / (mixed[3] - 1.0), carried)
        if mixed[0] <= 0.0:
            # Nothing arrives: only the sign of the balance is asked for.
            stream = (inside[i, 3] / (inside[i, 3] - 1.0) * inside[i, 2] / inside[i, 0], inside[i, 3], -1.0)
        slope -= area[i] * leave(i, inside, pressure, stream, flux)
        leaves -= area[i] * flux[i, DENSITY] * flux[i, SPEED]
    return mixed[0], leaves, slope


@row_kernel
def _write(scale: float, inside: FloatArray, area: FloatArray, mixed: tuple[float, ...], flux: FloatArray) -> None:
    """Fluxes in place of what the iteration knew; leaving streams are scaled to what arrives."""
    for i in range(area.shape[0]):
        face, speed, density = flux[i, FACE], flux[i, SPEED], flux[i, DENSITY]
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


@row_kernel
def _first_guess(
    inside: FloatArray, area: FloatArray, cosine: FloatArray, model: int, flux: FloatArray
) -> tuple[float, float, float]:
    """Lowest and highest possible pressure of the merge plane, and a guess from the last states in the pipes.

    The guess is that of linear acoustics, less what mixing and turning make of the streams as they are in the pipes.
    """
    low, high, weight, mean, mass = 1e300, 0.0, 0.0, 0.0, 0.0
    for i in range(area.shape[0]):
        flux[i, SPEED], flux[i, DENSITY] = inside[i, 1], inside[i, 0]
        mass += max(inside[i, 1], 0.0) * inside[i, 0] * area[i]
    for i in range(area.shape[0]):
        rho, u, p = inside[i, 0], inside[i, 1], inside[i, 2]
        stiffness = math.sqrt(inside[i, 3] * p * rho)
        # Bounds of the pressure on a closed wall, see `runs_out`.
        wall = p + stiffness * u
        low, high = min(low, wall), max(high, wall + 0.5 * (inside[i, 3] + 1.0) * rho * u * u)
        if u < 0.0 and model == JOIN_MIXING and mass > 0.0:
            carried = min(_carried(i, inside, area, cosine, flux), 0.9 * stiffness / rho)
            p -= -rho * u * (carried + u) if -u < carried else -0.5 * rho * (u * u - carried * carried)
        elif model == JOIN_STAGNATION:
            p += 0.5 * rho * u * u
        weight += area[i] / stiffness
        mean += area[i] / stiffness * (p + stiffness * u)
    low = max(low, 1e-6 * high)
    return low, high, min(max(mean / weight, low), high)


@row_kernel
def _finish(rise: float, inside: FloatArray, area: FloatArray, flux: FloatArray) -> float:
    """Mass that leaves after a small last rise of the merge pressure has been added to all faces."""
    leaves = 0.0
    for i in range(area.shape[0]):
        arriving = flux[i, SPEED] > 0.0
        change, gamma = flux[i, SHARE] * rise, inside[i, 3]
        denser = change / (gamma * flux[i, FACE])
        if not arriving:
            # At its stagnation enthalpy a faster stream is colder.
            faster = flux[i, EASE] * rise * flux[i, DENSITY] / flux[i, FACE]
            denser = change / flux[i, FACE] - (gamma - 1.0) / gamma * flux[i, SPEED] * faster
        flux[i, SPEED] -= flux[i, EASE] * rise
        flux[i, DENSITY] *= 1.0 + denser
        flux[i, FACE] += change
        if arriving:
            flux[i, SPEED] = max(flux[i, SPEED], 0.0)
        else:
            flux[i, SPEED] = min(flux[i, SPEED], 0.0)
            leaves -= area[i] * flux[i, DENSITY] * flux[i, SPEED]
    return leaves


@row_kernel
def join(inside: FloatArray, area: FloatArray, cosine: FloatArray, model: int, guess: float, flux: FloatArray) -> float:
    """Fluxes through the ends of the pipes of a join.

    Parameters
    ----------
    inside : (n, 7) array of float
        Last state of each pipe: density, speed towards the join, pressure, gamma, energy offset, fractions. [SI]
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
        Written: mass, momentum with pressure, energy, burned gas and fuel vapour towards the join. [SI]

    Returns
    -------
    pressure : float
        Pressure of the merge plane. [Pa]

    Notes
    -----
    All models pass small pulses as linear acoustics has it; they differ in the square of the Mach number. Sums of
    mass, energy and species over the pipes are zero to round-off.

    A pulse of 0.3 bar in one of four primaries whose collector has the area of all: model 0 sends -0.77 of it back and
    +0.23 into each other pipe (the compressed gas is stiffer than linear acoustics has it: -0.75, +0.25); model 1 sends
    -0.81 back, +0.19 into the idle primaries, which do not see the jet, and +0.27 into the collector, which recovers
    three eighths of its head. Model 0 gains stagnation pressure for nothing where a stream contracts; only model 1 is
    sure to lose no entropy.

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
    >>> float(join(still, np.full(3, 1e-3), -np.ones((3, 3)), 0, 0.0, out))
    100000.0
    """
    low, high, pressure = _first_guess(inside, area, cosine, model, flux)
    if low < guess < high:
        pressure = guess
    last_p = last_excess = rise = 0.0
    for attempt in range(60):
        arrives, leaves, slope = _balance(pressure, inside, area, cosine, model, flux)
        excess = arrives - leaves
        if excess > 0.0:
            low = pressure
        else:
            high = pressure
        if attempt > 0 and (excess - last_excess) * (pressure - last_p) < 0.0:
            slope = (excess - last_excess) / (pressure - last_p)
        rise = -excess / slope
        small = _SMALL_LATER if attempt > 0 else _SMALL_FIRST
        if abs(rise) <= small * pressure or high - low <= 1e-14 * high:
            break
        last_p, last_excess = pressure, excess
        pressure += rise
        if not low < pressure < high:
            pressure = 0.5 * (low + high)
    leaves = _finish(rise, inside, area, flux)
    mixed = _mix(area.shape[0], inside, area, flux)
    scale = mixed[0] / leaves if mixed[0] > 0.0 and leaves > 0.0 else 0.0
    _write(scale, inside, area, mixed, flux)
    return pressure + rise
