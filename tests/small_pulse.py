"""A small pulse put into a running engine: the engine with it less the engine without it shows where it goes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from engines import network_of, run

from pullbook.engine.assemble import assemble
from pullbook.engine.network_ends import ValveEnd
from pullbook.engine.reflection_fronts import fronts_of
from pullbook.engine.reflections import trace_front
from pullbook.engine.waves import PipeWaves, follow, pipe_waves
from pullbook.gas.compiled import network_kernel
from pullbook.gas.engine_step import engine_step
from pullbook.gas.pipes import largest_step, prepare

if TYPE_CHECKING:
    from pullbook.engine.cycle import Settled
    from pullbook.engine.reflection_ways import Arrival
    from pullbook.gas.engine_arrays import EngineArrays
    from pullbook.quantities.arrays import FloatArray

__all__ = ["Echoes", "echoes_of"]

SPEED = 3000.0  # rpm
CRANK = SPEED * math.pi / 30.0  # rad/s
CELL = 0.005  # m; those of the exhaust are 1.6 times as long
HEIGHT, WIDTH = 300.0, 0.10  # Pa, m
PLACE = 0.15  # m from the valves, behind the near-sonic port


@network_kernel
def _step(engine: EngineArrays, angle: float, dt: float, crank_speed: float) -> tuple[int, int, int]:
    """One step, with a door to Python."""
    return engine_step(engine, angle, dt, crank_speed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Echoes:
    """What comes to the valves of every port after a small pulse.

    Attributes
    ----------
    arrivals : tuple of Arrival
        What is predicted for a front that was with the pulse.
    angle_deg : (n,) array of float
        Crank angles, rising beyond 720. [deg]
    coming : dict of (cylinder, valve set) to (n,) array of float
        Part of the pressure that runs towards the valves, by the height of the pulse. [1]
    """

    arrivals: tuple[Arrival, ...]
    angle_deg: FloatArray
    coming: dict[tuple[int, int], FloatArray]

    def top(self, port: tuple[int, int], around_deg: float, within_deg: float = 5.0) -> tuple[float, float]:
        """Angle and height of the largest echo at a port near an angle. [deg, 1]"""
        near = np.abs(self.angle_deg - around_deg) < within_deg
        level = self.coming[port][near]
        top = int(np.argmax(np.abs(level)))
        assert 0 < top < level.size - 1, f"no echo has its top within {within_deg:g} degrees of {around_deg:.1f}"
        return float(self.angle_deg[near][top]), float(level[top])


def _put(goal: Any, source: Any) -> None:
    """Copy arrays in place; copies made otherwise would not begin where vectors of the processor do."""
    for first, second in zip(goal, source, strict=True):
        if isinstance(first, tuple):
            _put(first, second)
        elif isinstance(first, np.ndarray):
            first[...] = second


def _twin(settled: Settled) -> EngineArrays:
    arrays = assemble(settled.assembled.network, settled.operating, settled.assembled.cell_size).arrays
    _put(arrays, settled.assembled.arrays)
    return arrays


def _add_pulse(engine: EngineArrays, pipe: int, middle: float, sign: float) -> None:
    """Simple wave of small height that runs along a pipe (sign 1) or against it."""
    pipes = engine.pipes
    cells = slice(int(pipes.start[pipe]) + 1, int(pipes.start[pipe + 1]) - 1)
    step = 1.0 / pipes.geometry[2, cells]
    x = (np.arange(step.size) + 0.5) * step
    rise = HEIGHT * np.cos(np.pi * np.clip((x - middle) / WIDTH, -0.5, 0.5)) ** 2
    density, velocity, pressure, gamma, offset = pipes.primitive[:5, cells].copy()
    sound = np.sqrt(gamma * pressure / density)
    new_density, new_velocity = density + rise / sound**2, velocity + sign * rise / (density * sound)
    new_pressure = pressure + rise
    share = pipes.state[3:5, cells] / pipes.state[0, cells]
    pipes.temperature[cells] *= new_pressure / pressure * density / new_density
    pipes.state[0, cells], pipes.state[1, cells] = new_density, new_density * new_velocity
    pipes.state[2, cells] = new_pressure / (gamma - 1.0) + new_density * offset + 0.5 * new_density * new_velocity**2
    pipes.state[3:5, cells] = share * new_density
    prepare(pipes)


def _advance(engines: tuple[EngineArrays, ...], angle: float, goal: float) -> float:
    """One step of the same length of all engines, up to a crank angle at most. [rad]"""
    turn = min(goal - angle, 0.9 * CRANK * min(largest_step(engine.pipes) for engine in engines))
    for engine in engines:
        wrong, _, _ = _step(engine, angle, turn / CRANK, CRANK)
        assert wrong == 0
    return angle + turn


def echoes_of(name: str, cylinder: int, valve_set: int, lasts_deg: float = 180.0) -> Echoes:
    """Follow a small pulse that sets out from a port of a shipped engine with the front of that port."""
    network = network_of(name)
    _, settled = run(name, SPEED, CELL, waves=True)
    known: dict[int, PipeWaves] = {}

    def waves_of(pipe: int) -> PipeWaves:
        return known.setdefault(pipe, pipe_waves(settled, pipe))

    front = next(
        one for one in fronts_of(network, waves_of, SPEED) if (one.cylinder, one.valve_set) == (cylinder, valve_set)
    )
    arrivals, _ = trace_front(network, waves_of, SPEED, front)
    length = 2.0 * float(waves_of(front.pipe).distance[0]) + float(np.ptp(waves_of(front.pipe).distance))
    way = (0.0, PLACE) if front.starts else (length, length - PLACE)
    passes = float(follow(waves_of(front.pipe), front.angle_deg, SPEED, way).angle_deg[-1])
    plain, pulsed = _twin(settled), _twin(settled)
    angle, goal = 0.0, math.radians(passes % 720.0)
    while angle < goal - 1e-12:
        angle = _advance((plain,), angle, goal)
    _put(pulsed, plain)
    _add_pulse(pulsed, front.pipe, way[1], 1.0 if front.starts else -1.0)
    ports = {
        (one.to.cylinder, one.to.valve_set): (one.pipe, one.end == "start")
        for one in network.attachments
        if isinstance(one.to, ValveEnd)
    }
    angles: list[float] = []
    rows: list[list[float]] = []
    goal += math.radians(lasts_deg)
    while angle < goal - 1e-12:
        angle = _advance((plain, pulsed), angle, goal)
        angles.append(math.degrees(angle) + passes - passes % 720.0)
        rows.append([_coming(plain, pulsed, pipe, starts=starts) for pipe, starts in ports.values()])
    coming = dict(zip(ports, np.array(rows).T / HEIGHT, strict=True))
    return Echoes(arrivals=arrivals, angle_deg=np.array(angles), coming=coming)


def _coming(plain: EngineArrays, pulsed: EngineArrays, pipe: int, *, starts: bool) -> float:
    """Part of the difference that runs towards the valves: half of p - rho c u, u away from them. [Pa]"""
    slot = int(plain.pipes.start[pipe]) + 1 if starts else int(plain.pipes.start[pipe + 1]) - 2
    density, velocity, pressure, gamma = plain.pipes.primitive[:4, slot]
    other = pulsed.pipes.primitive[:4, slot]
    impedance = math.sqrt(gamma * pressure * density) * (1.0 if starts else -1.0)
    return 0.5 * float(other[2] - pressure - impedance * (other[1] - velocity))
