"""One cycle of the whole engine, with what is written down at equal steps of crank angle."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import inner_network_kernel, network_kernel
from pullbook.gas.engine_arrays import START_BURNED, START_MASS, START_PRESSURE, START_TEMPERATURE, VALVE_ROWS
from pullbook.gas.engine_step import calm_step, engine_step, set_volumes
from pullbook.gas.pipes import largest_step

if TYPE_CHECKING:
    from typing import TypeAlias

    from pullbook.gas.engine_arrays import EngineArrays, Trace

    CycleEnd: TypeAlias = tuple[int, int, int, int, int, float]

__all__ = ["NO_TIME", "clear_totals", "gas_content", "run_cycle"]

NO_TIME: Final = 4  # the time step is not a number, or too many steps
_CYCLE: Final = 4.0 * math.pi
_MOST_STEPS: Final = 2_000_000


@network_kernel
def clear_totals(engine: EngineArrays) -> None:
    """Begin the sums of a new cycle."""
    engine.ends.total[:] = 0.0
    engine.volumes.heat[:] = 0.0
    engine.pipes.wall_heat[:] = 0.0
    engine.chambers.heat[:] = 0.0
    engine.cylinders.totals[:5] = 0.0
    engine.valves.totals[:VALVE_ROWS] = 0.0


@network_kernel
def gas_content(engine: EngineArrays) -> tuple[float, float]:
    """Mass and energy of all gas in the engine. [kg, J]."""
    pipes = engine.pipes
    volume = pipes.geometry[0]
    mass = engine.cylinders.state[0].sum() + engine.volumes.state[0].sum()
    energy = engine.cylinders.state[1].sum() + engine.volumes.state[1].sum()
    mass += engine.chambers.state[0].sum()
    energy += engine.chambers.state[1].sum()
    for i in range(volume.shape[0]):
        mass += pipes.state[0, i] * volume[i]
        energy += pipes.state[2, i] * volume[i]
    return mass, energy


@inner_network_kernel
def _write_pipes(engine: EngineArrays, trace: Trace, sample: int) -> None:
    """Write down the state of the pipes before a step."""
    pipes = engine.pipes
    for k in range(pipes.ends.shape[0]):
        for side in range(2):
            slot = pipes.ends[k, side] - side
            e = 2 * k + side
            trace.end[e, 0, sample] = pipes.primitive[2, slot]
            trace.end[e, 1, sample] = pipes.primitive[1, slot] * (2.0 * side - 1.0)
            trace.end[e, 2, sample] = pipes.temperature[slot]
    for i in range(trace.cells.shape[1]):
        trace.cells[0, i, sample], trace.cells[1, i, sample] = pipes.primitive[2, i], pipes.primitive[1, i]
        trace.cells[2, i, sample], trace.cells[3, i, sample] = pipes.temperature[i], pipes.primitive[5, i]


@inner_network_kernel
def _write_cylinders(engine: EngineArrays, trace: Trace, sample: int) -> None:
    """Write down the state of the cylinders at the start of a step, which is known once it is done."""
    start = engine.cylinders.start
    for c in range(trace.cylinder.shape[0]):
        trace.cylinder[c, 0, sample], trace.cylinder[c, 1, sample] = (
            start[c, START_PRESSURE],
            start[c, START_TEMPERATURE],
        )
        trace.cylinder[c, 2, sample], trace.cylinder[c, 3, sample] = start[c, START_MASS], start[c, START_BURNED]


@network_kernel
def run_cycle(engine: EngineArrays, crank_speed: float, courant: float, trace: Trace) -> CycleEnd:
    """Run one cycle of 720 degrees, whose last step ends exactly there.

    Steps are not bent to meet samples: the state is written down, with its angle, before the first step at or beyond
    each sample's angle.

    Parameters
    ----------
    engine : EngineArrays
        The engine; prepared. [SI]
    crank_speed : float
        Speed of the crank. [rad/s]
    courant : float
        Share of the largest time step that is used. [1]
    trace : Trace
        Room for the samples, at most as many as its last axis has; none where nothing is to be written down. [SI]

    Returns
    -------
    wrong, where, floors, steps, samples, angle : tuple
        0, or the kind of thing that went wrong (see `engine_step`; 4 if there is no time step); its index; floors
        used; steps made; samples written; crank angle reached. [1, 1, 1, 1, 1, rad]
    """
    width = _CYCLE / trace.angle.shape[0]
    floors = 0
    steps = 0
    written = 0
    due = 0.0
    angle = 0.0
    set_volumes(engine, angle)
    while angle < _CYCLE:
        writes = angle >= due and written < trace.angle.shape[0]
        if writes:
            trace.angle[written] = angle
            _write_pipes(engine, trace, written)
            due = (math.floor(angle / width) + 1.0) * width
        turn = min(courant * largest_step(engine.pipes), calm_step(engine)) * crank_speed
        if not turn > 0.0 or steps > _MOST_STEPS:
            return NO_TIME, 0, floors, steps, written, angle
        left = _CYCLE - angle
        # The last two steps share what is left, so that none is a sliver.
        last = turn >= left
        if last:
            turn = left
        elif turn > 0.5 * left:
            turn = 0.5 * left
        wrong, where, more = engine_step(engine, angle, turn / crank_speed, crank_speed)
        if writes:
            _write_cylinders(engine, trace, written)
            written += 1
        floors += more
        steps += 1
        if wrong:
            return wrong, where, floors, steps, written, angle
        angle = _CYCLE if last else angle + turn
    return 0, 0, floors, steps, written, angle
