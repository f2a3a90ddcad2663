"""Flux through every end of every pipe in one step."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import inner_network_kernel
from pullbook.gas.end_waves import runs_out
from pullbook.gas.ends import anechoic_end, closed_end, open_end
from pullbook.gas.engine_arrays import (
    AIR_IN,
    ANECHOIC,
    CAME_IN,
    CONTENT,
    ENERGY_IN,
    EVAPORATED,
    FUEL_IN,
    GAINED_ENERGY,
    GAINED_MASS,
    LAST_STEP,
    LAST_TEMPERATURE,
    OPEN,
    OPENING,
    SEEN,
    VALVE,
    VOLUME,
    WENT_OUT,
)
from pullbook.gas.joins import join
from pullbook.gas.mixture import thermal
from pullbook.gas.orifice import RECOVERY_MOMENTUM, RECOVERY_NONE, orifice

if TYPE_CHECKING:
    from pullbook.gas.end_waves import Flux, Reservoir
    from pullbook.gas.engine_arrays import EngineArrays
    from pullbook.quantities.arrays import FloatArray

__all__ = ["end_fluxes", "gather_ends", "put_fluxes", "see_volumes"]

_LAX: Final = 0.25  # half the share of its pressure that a volume may follow its pipes in a step without any lean


@inner_network_kernel
def gather_ends(engine: EngineArrays) -> None:
    """Copy the state that each pipe brings to its ends; speeds outward."""
    pipes, inside = engine.pipes, engine.ends.inside
    faces, primitive = pipes.faces, pipes.primitive
    for k in range(pipes.ends.shape[0]):
        left, right = pipes.ends[k, 0], pipes.ends[k, 1]
        a, b = 2 * k, 2 * k + 1
        inside[a, 0], inside[a, 1], inside[a, 2] = faces[5, left], -faces[6, left], faces[7, left]
        inside[a, 3], inside[a, 4] = primitive[3, left], primitive[4, left]
        inside[a, 5], inside[a, 6] = faces[8, left], faces[9, left]
        inside[b, 0], inside[b, 1], inside[b, 2] = faces[0, right], faces[1, right], faces[2, right]
        inside[b, 3], inside[b, 4] = primitive[3, right - 1], primitive[4, right - 1]
        inside[b, 5], inside[b, 6] = faces[3, right], faces[4, right]


@inner_network_kernel
def put_fluxes(engine: EngineArrays, dt: float) -> None:
    """Hand the fluxes of the ends to the pipes, and sum them."""
    pipes, ends = engine.pipes, engine.ends
    for k in range(pipes.ends.shape[0]):
        for side in range(2):
            face, sign = pipes.ends[k, side], 2.0 * side - 1.0
            for row in range(5):
                flux = ends.flux[2 * k + side, row]
                pipes.flux[row, face] = flux if row == 1 else sign * flux
                ends.total[2 * k + side, row] += dt * flux


@inner_network_kernel
def see_volumes(engine: EngineArrays, dt: float) -> None:
    """What the ends at the volumes see half a step ahead, moved by what the ends brought in the last step.

    With the state at the start of the step the flow would lag by half a step behind the pressure that it makes, which
    feeds the swing of a small volume against its pipes. Where the volume follows its pipes within a step, the last
    pressure seen is leant upon, which is the implicit midpoint rule for a steady wave: stable at any step.
    """
    state, settings, table = engine.volumes.state, engine.volumes.settings, engine.pipes.gas
    for v in range(state.shape[1]):
        if settings[OPENING, v] <= 0.0:
            continue
        mass, content = state[0, v], settings[CONTENT, v]
        yb, yf = state[2, v] / mass, state[3, v] / mass
        specific = state[1, v] / mass
        temperature, constant, gamma = thermal(table, specific, yb, yf, settings[LAST_TEMPERATURE, v])
        settings[LAST_TEMPERATURE, v] = temperature
        pressure = mass * constant * temperature / content
        seen, warmed = pressure, temperature
        heat_capacity = constant / (gamma - 1.0)
        offset = specific - heat_capacity * temperature
        if settings[LAST_STEP, v] > 0.0:
            share = 0.5 * dt / settings[LAST_STEP, v]
            more = share * settings[GAINED_MASS, v]
            rise = (gamma - 1.0) * (share * settings[GAINED_ENERGY, v] - offset * more) / content
            # A pipe of area A takes or brings a volume dp A/(rho c): dp/dt = -(c A/V) dp.
            follows = 0.5 * dt * settings[OPENING, v] * math.sqrt(gamma * constant * temperature) / content
            lean = max(follows - _LAX, 0.0)
            seen = (pressure + rise + lean * settings[SEEN, v]) / (1.0 + lean)
            seen = min(max(seen, 0.5 * pressure), 2.0 * pressure)
            # What the lean holds back is held back at constant entropy.
            more += (seen - pressure - rise) * content / (gamma * constant * temperature)
            warmed = seen * content / (max(mass + more, 0.5 * mass) * constant)
        settings[SEEN, v], settings[SEEN + 1, v], settings[SEEN + 2, v], settings[SEEN + 3, v] = (
            seen, warmed, constant, gamma,
        )  # fmt: skip
        settings[SEEN + 4, v] = offset + (heat_capacity + constant) * warmed
        settings[SEEN + 5, v], settings[SEEN + 6, v] = yb, yf
        settings[GAINED_MASS, v] = settings[GAINED_ENERGY, v] = 0.0
        settings[LAST_STEP, v] = dt


@inner_network_kernel
def _volume_reservoir(engine: EngineArrays, v: int) -> Reservoir:
    """State of a volume as the ends see it: pressure, temperature, gas constant, gamma, enthalpy, fractions."""
    settings = engine.volumes.settings
    return (
        settings[SEEN, v], settings[SEEN + 1, v], settings[SEEN + 2, v], settings[SEEN + 3, v], settings[SEEN + 4, v],
        settings[SEEN + 5, v], settings[SEEN + 6, v],
    )  # fmt: skip


@inner_network_kernel
def _row(rows: FloatArray, i: int) -> Reservoir:
    return rows[i, 0], rows[i, 1], rows[i, 2], rows[i, 3], rows[i, 4], rows[i, 5], rows[i, 6]


@inner_network_kernel
def _keep(rows: FloatArray, i: int, flux: Flux) -> None:
    rows[i, 0], rows[i, 1], rows[i, 2], rows[i, 3], rows[i, 4] = flux


@inner_network_kernel
def _at_room(engine: EngineArrays, e: int) -> Flux:
    """Flux of an end that no other part of the engine shares."""
    ends = engine.ends
    inside, area = _row(ends.inside, e), ends.area[e]
    if ends.kind[e] == OPEN:
        return open_end(inside, area, _row(ends.outside, ends.side[e]), ends.loss[e, 0], ends.loss[e, 1])
    if ends.kind[e] == ANECHOIC:
        return anechoic_end(inside, area, _row(ends.outside, ends.side[e]))
    return closed_end(inside, area)


@inner_network_kernel
def _at_volume(engine: EngineArrays, e: int) -> Flux:
    """Flux between a pipe and a volume; the volume receives it."""
    ends = engine.ends
    v = ends.other[e]
    inside, there = _row(ends.inside, e), _volume_reservoir(engine, v)
    leaving = runs_out(inside, there[0])
    effective = ends.loss[e, 1] if leaving else ends.loss[e, 0]
    return orifice(inside, ends.area[e], there, effective, RECOVERY_MOMENTUM)


@inner_network_kernel
def _at_valve(engine: EngineArrays, e: int, dt: float) -> Flux:
    """Flux between a pipe and a cylinder; the cylinder receives it, less the heat that fuel takes to evaporate."""
    ends, valves, cylinders = engine.ends, engine.valves, engine.cylinders
    w = ends.other[e]
    c = int(valves.cylinder[w])
    inside = _row(ends.inside, e)
    there = _row(cylinders.reservoir, c)
    leaving = runs_out(inside, there[0])
    effective = valves.now[w, 0] if leaving else valves.now[w, 1]
    flux = orifice(inside, ends.area[e], there, effective, RECOVERY_NONE)
    mass, energy, burned, fuel = dt * flux[0], dt * flux[2], dt * flux[3], dt * flux[4]
    evaporation = fuel * valves.latent * valves.intake[w]
    cylinders.gained[0, c] += mass
    cylinders.gained[1, c] += energy - evaporation
    cylinders.gained[2, c] += burned
    cylinders.gained[3, c] += fuel
    cylinders.totals[EVAPORATED, c] += evaporation
    totals = valves.totals
    totals[CAME_IN, w] += max(mass, 0.0)
    totals[WENT_OUT, w] += max(-mass, 0.0)
    totals[AIR_IN, w] += mass - burned - fuel
    totals[ENERGY_IN, w] += energy
    totals[FUEL_IN, w] += fuel
    return flux


@inner_network_kernel
def _at_join(engine: EngineArrays, j: int) -> None:
    """Fluxes of all ends that meet at a join."""
    joins, ends = engine.joins, engine.ends
    first, after = joins.first[j], joins.first[j + 1]
    for m in range(first, after):
        for row in range(7):
            joins.inside[m, row] = ends.inside[joins.member[m], row]
        joins.area[m] = ends.area[joins.member[m]]
    n = after - first
    cosine = joins.cosine[joins.square[j] : joins.square[j + 1]].reshape(n, n)
    joins.warm[j] = join(
        joins.inside[first:after], joins.area[first:after], cosine, joins.model[j], joins.warm[j],
        joins.flux[first:after],
    )  # fmt: skip
    for m in range(first, after):
        for row in range(5):
            ends.flux[joins.member[m], row] = joins.flux[m, row]


@inner_network_kernel
def _to_volumes(engine: EngineArrays, dt: float) -> None:
    """Volumes receive what the ends bring; after all fluxes are known, so that their order does not matter."""
    ends, volumes = engine.ends, engine.volumes
    for e in range(ends.kind.shape[0]):
        if ends.kind[e] == VOLUME:
            v = ends.other[e]
            volumes.state[0, v] += dt * ends.flux[e, 0]
            volumes.state[1, v] += dt * ends.flux[e, 2]
            volumes.state[2, v] += dt * ends.flux[e, 3]
            volumes.state[3, v] += dt * ends.flux[e, 4]
            volumes.settings[GAINED_MASS, v] += dt * ends.flux[e, 0]
            volumes.settings[GAINED_ENERGY, v] += dt * ends.flux[e, 2]


@inner_network_kernel
def end_fluxes(engine: EngineArrays, dt: float) -> None:
    """Flux through every end; volumes and the books of the cylinders receive theirs."""
    ends = engine.ends
    for e in range(ends.kind.shape[0]):
        kind = ends.kind[e]
        if kind <= ANECHOIC:  # the wall, the open end, the silent end; a set would be made anew each time
            _keep(ends.flux, e, _at_room(engine, e))
        elif kind == VOLUME:
            _keep(ends.flux, e, _at_volume(engine, e))
        elif kind == VALVE:
            _keep(ends.flux, e, _at_valve(engine, e, dt))
    for j in range(engine.joins.model.shape[0]):
        _at_join(engine, j)
    _to_volumes(engine, dt)
