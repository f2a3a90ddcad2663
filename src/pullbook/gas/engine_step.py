"""One time step of the whole engine: pipes, silencers, ends, joins, volumes, cylinders.

Every flux is computed once, from states half a step ahead on both sides, and handed to both sides, so that mass and
energy close to the last digit whatever the solvers' tolerances are.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.gas.burn import burn_share
from pullbook.gas.compiled import inner_network_kernel
from pullbook.gas.crank import cylinder_volume
from pullbook.gas.cylinder import EXCHANGE, EXPANSION, SEALED, cylinder_gas, move_cylinder, note_closing
from pullbook.gas.cylinder_settings import LAST_POWER
from pullbook.gas.engine_arrays import (
    BURN_DURATION,
    BURN_EFFICIENCY,
    BURN_FORM,
    BURN_START,
    CLOSED_WORK,
    CONDUCTANCE,
    DURATION,
    END_VOLUME,
    EXHAUST_OPENS,
    FIRING,
    FOLLOWS,
    GAINED_ENERGY,
    INTAKE_CLOSES,
    LAST_TEMPERATURE,
    OPEN_WORK,
    RELEASED,
    START_BURNED,
    START_MASS,
    START_PRESSURE,
    START_TEMPERATURE,
    START_VOLUME,
    TRAPPED_BURNED,
    TRAPPED_FUEL,
    TRAPPED_MASS,
    WALL,
    WALL_HEAT,
)
from pullbook.gas.engine_ends import end_fluxes, gather_ends, put_fluxes, see_volumes
from pullbook.gas.lift import periodic_mean
from pullbook.gas.mixture import cv_of
from pullbook.gas.pipes import inner_fluxes, predict, update
from pullbook.gas.silencer import breathe

if TYPE_CHECKING:
    from pullbook.gas.engine_arrays import EngineArrays

__all__ = ["BAD_CYLINDER", "BAD_PIPE", "BAD_VOLUME", "calm_step", "engine_step", "own_angle", "set_volumes"]

# What went wrong in a step; 0 is nothing.
BAD_PIPE: Final = 1
BAD_CYLINDER: Final = 2
BAD_VOLUME: Final = 3

_CYCLE: Final = 4.0 * math.pi
_TURN: Final = 2.0 * math.pi
# Longest step, of the time in which a cylinder takes the pressure of its pipes; at 0.5 single cycles begin to differ.
_CALM: Final = 0.2


@inner_network_kernel
def own_angle(engine: EngineArrays, c: int, angle: float) -> float:
    """Own angle of a cylinder, from 0 at its top dead centre of firing up to two turns; `angle` likewise. [rad]."""
    own = angle - engine.cylinders.timing[FIRING, c]
    # A remainder costs as much as the rest of this.
    own = own + _CYCLE if own < 0.0 else own
    return float(own - _CYCLE if own >= _CYCLE else own)


@inner_network_kernel
def set_volumes(engine: EngineArrays, angle: float) -> None:
    """Volumes of the cylinders before the first step of a cycle; each step hands its last ones to the next."""
    cylinders = engine.cylinders
    for c in range(cylinders.state.shape[1]):
        cylinders.start[c, END_VOLUME] = cylinder_volume(own_angle(engine, c, angle), cylinders.crank[c])
        cylinders.start[c, FOLLOWS] = 0.0


@inner_network_kernel
def calm_step(engine: EngineArrays) -> float:
    """Longest step in which no cylinder, small at the turn of the gases, runs past the pressure of its pipes. [s]."""
    start = engine.cylinders.start
    fastest = 0.0
    for c in range(start.shape[0]):
        fastest = max(fastest, start[c, FOLLOWS])
    return float(_CALM / max(fastest, 1e-9))


@inner_network_kernel
def _since_burn(engine: EngineArrays, c: int, own: float) -> float:
    """Angle after the start of burning, counted from half a cycle before it. [rad]."""
    since = float(own - engine.cylinders.timing[BURN_START, c])
    return since - _CYCLE if since >= _TURN else since


@inner_network_kernel
def _see_cylinders(engine: EngineArrays, angle: float, turn: float, dt: float) -> None:
    """What the valves see half a step ahead: moved by the piston, by the walls, and by the valves as in the last step.

    Without the last, the flow of a whole step would answer the pressure at its start, an error of first order.
    """
    cylinders, table = engine.cylinders, engine.pipes.gas
    state, seen, gained, start = cylinders.state, cylinders.reservoir, cylinders.gained, cylinders.start
    for c in range(state.shape[1]):
        own = own_angle(engine, c, angle)
        volume = start[c, END_VOLUME]
        after = cylinder_volume(own + turn, cylinders.crank[c])
        # As the cylinder itself has it half-way.
        growth = 0.5 * (after - volume)
        pressure, temperature, constant, gamma = cylinder_gas(
            state, c, volume, cylinders.settings, table, cylinders.dissociation
        )
        share = 0.5 * dt / start[c, DURATION]
        start[c, START_PRESSURE], start[c, START_VOLUME], start[c, DURATION] = pressure, volume, dt
        mass = state[0, c]
        start[c, END_VOLUME] = after
        start[c, START_TEMPERATURE], start[c, START_MASS], start[c, START_BURNED] = (
            temperature,
            mass,
            state[2, c] / mass,
        )
        heat_capacity = constant / (gamma - 1.0)
        offset = state[1, c] / mass - heat_capacity * temperature
        more = share * gained[0, c]
        heat = share * (gained[1, c] - offset * gained[0, c]) - 0.5 * dt * cylinders.settings[LAST_POWER, c]
        risen = pressure + ((gamma - 1.0) * heat - gamma * pressure * growth) / volume
        warmed = risen * (volume + growth) / ((mass + more) * constant)
        seen[c, 0], seen[c, 1], seen[c, 2], seen[c, 3] = risen, warmed, constant, gamma
        seen[c, 4] = offset + (heat_capacity + constant) * warmed
        seen[c, 5], seen[c, 6] = state[2, c] / mass, state[3, c] / mass
        for row in range(4):
            gained[row, c] = 0.0


@inner_network_kernel
def _open_valves(engine: EngineArrays, angle: float, turn: float) -> None:
    """Mean effective areas over the step, and how fast the cylinders follow the pipes through them."""
    valves, start, seen = engine.valves, engine.cylinders.start, engine.cylinders.reservoir
    for c in range(start.shape[0]):
        start[c, FOLLOWS] = 0.0
    for w in range(valves.cylinder.shape[0]):
        own = own_angle(engine, valves.cylinder[w], angle)
        if own + turn <= valves.window[w, 0] or own >= valves.window[w, 1]:
            valves.now[w, 0] = valves.now[w, 1] = 0.0
            continue
        valves.now[w, 0] = periodic_mean(valves.area_in[w], own, own + turn)
        valves.now[w, 1] = periodic_mean(valves.area_out[w], own, own + turn)
        start[valves.cylinder[w], FOLLOWS] += max(valves.now[w, 0], valves.now[w, 1])
    for c in range(start.shape[0]):
        # A pipe of this area takes or brings a volume dp A/(rho c): dp/dt = -(c A/V) dp.
        start[c, FOLLOWS] *= math.sqrt(seen[c, 3] * seen[c, 2] * seen[c, 1]) / start[c, START_VOLUME]


@inner_network_kernel
def _burning(engine: EngineArrays, c: int, own: float, turn: float) -> float:
    """Share of the burnable fuel that burns in a step."""
    timing = engine.cylinders.timing
    duration = timing[BURN_DURATION, c]
    since = _since_burn(engine, c, own)
    if duration <= 0.0 or since + turn <= 0.0 or since >= duration:
        return 0.0
    return burn_share(
        max(since, 0.0) / duration, min((since + turn) / duration, 1.0), timing[BURN_EFFICIENCY, c],
        timing[BURN_FORM, c],
    )  # fmt: skip


@inner_network_kernel
def _phase(engine: EngineArrays, c: int, own: float) -> int:
    """Phase of the cylinder for the heat to its walls."""
    timing = engine.cylinders.timing
    if timing[EXHAUST_OPENS, c] < own < timing[INTAKE_CLOSES, c]:
        return EXCHANGE
    return EXPANSION if _since_burn(engine, c, own) >= 0.0 else SEALED


@inner_network_kernel
def _move_cylinder(engine: EngineArrays, c: int, own: float, turn: float, dt: float) -> bool:
    """Move one cylinder; whether it still has mass, pressure and temperature."""
    cylinders, table = engine.cylinders, engine.pipes.gas
    state, settings, totals = cylinders.state, cylinders.settings, cylinders.totals
    before = cylinders.start[c, START_VOLUME]
    after = cylinders.start[c, END_VOLUME]
    gained = cylinders.gained[0, c], cylinders.gained[1, c], cylinders.gained[2, c], cylinders.gained[3, c]
    step = before, after, dt, _burning(engine, c, own, turn), _phase(engine, c, own)
    work, heat, released, _, temperature = move_cylinder(
        state, c, step, gained, cylinders.start[c, START_PRESSURE], settings, table, cylinders.dissociation
    )
    middle = own + 0.5 * turn
    firing = not 0.5 * _TURN <= middle <= 1.5 * _TURN
    totals[CLOSED_WORK if firing else OPEN_WORK, c] += work
    totals[WALL_HEAT, c] += heat
    totals[RELEASED, c] += released
    closing = cylinders.timing[INTAKE_CLOSES, c]
    if own < closing <= own + turn:
        note_closing(state, c, after, settings, table, cylinders.dissociation)
        totals[TRAPPED_MASS, c], totals[TRAPPED_BURNED, c], totals[TRAPPED_FUEL, c] = (
            state[0, c], state[2, c], state[3, c],
        )  # fmt: skip
    return 50.0 < temperature < 6000.0 and state[0, c] > 0.0


@inner_network_kernel
def _move_volumes(engine: EngineArrays, dt: float) -> bool:
    """Heat from the walls of the volumes; whether they still have mass and energy."""
    volumes, table = engine.volumes, engine.pipes.gas
    sound = True
    for v in range(volumes.state.shape[1]):
        state, settings = volumes.state, volumes.settings
        mass = state[0, v]
        temperature = settings[LAST_TEMPERATURE, v]
        capacity = mass * cv_of(table, temperature, state[2, v] / mass, state[3, v] / mass)
        # Implicit, so that a wall that conducts without limit holds the gas at its temperature.
        rate = dt * settings[CONDUCTANCE, v] / capacity
        gain = capacity * (settings[WALL, v] - temperature) * rate / (1.0 + rate)
        state[1, v] += gain
        settings[GAINED_ENERGY, v] += gain
        volumes.heat[v] += gain
        sound = sound and mass > 0.0 and 50.0 < temperature < 6000.0
    return sound


@inner_network_kernel
def engine_step(engine: EngineArrays, angle: float, dt: float, crank_speed: float) -> tuple[int, int, int]:
    """Move everything by one step.

    Parameters
    ----------
    engine : EngineArrays
        The engine. [SI]
    angle : float
        Crank angle at the start of the step, from 0 to two turns; `set_volumes` has been called with the first. [rad]
    dt : float
        Time step, not more than the pipes allow. [s]
    crank_speed : float
        Speed of the crank. [rad/s]

    Returns
    -------
    wrong, where, floors : tuple of int
        0, or which kind of thing went wrong; its index; number of times that a density or pressure was floored. [1]
    """
    pipes = engine.pipes
    turn = crank_speed * dt
    floors = predict(pipes, dt)
    if engine.chambers.slot.shape[0] > 0:
        breathe(pipes, engine.chambers, dt)
    inner_fluxes(pipes)
    gather_ends(engine)
    see_volumes(engine, dt)
    _see_cylinders(engine, angle, turn, dt)
    _open_valves(engine, angle, turn)
    end_fluxes(engine, dt)
    put_fluxes(engine, dt)
    bad, more = update(pipes, dt)
    floors += more
    if bad >= 0:
        return BAD_PIPE, bad, floors
    for c in range(engine.cylinders.state.shape[1]):
        if not _move_cylinder(engine, c, own_angle(engine, c, angle), turn, dt):
            return BAD_CYLINDER, c, floors
    if not _move_volumes(engine, dt):
        return BAD_VOLUME, 0, floors
    return 0, 0, floors
