"""Small networks with valves, and gas in steady motion in them: for fronts that are followed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from engines import network_of

from pullbook.engine.network import Network
from pullbook.engine.network_ends import Attachment, Side, ValveEnd
from pullbook.engine.network_pipes import Join, Pipe, Section, Wall
from pullbook.engine.reflection_fronts import Front
from pullbook.engine.reflection_places import layout_of
from pullbook.engine.reflections import trace_front
from pullbook.engine.waves import PipeWaves
from pullbook.records.reflections import Wave

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.engine.network_cylinders import Cylinder
    from pullbook.engine.network_ends import End
    from pullbook.engine.network_pipes import Perforate, Volume
    from pullbook.engine.reflection_ways import Arrival, Stop

__all__ = ["EXHAUST_VALVE", "SOUND", "SPEED", "follow_from", "network", "pipe", "still"]

SPEED = 3000.0  # rpm: 18000 degrees a second
SOUND = 500.0  # m/s
EXHAUST_OPENS, EXHAUST_CLOSES, INTAKE_OPENS = 114.0, 394.0, 322.0
WALL = Wall(temperature=300.0)
EXHAUST_VALVE = ValveEnd(cylinder=0, valve_set=1)


def pipe(name: str, *sections: tuple[str, float, float, float], side: Side = Side.EXHAUST) -> Pipe:
    """Pipe of sections: group, length, first and last diameter. [m]"""
    return Pipe(
        name=name, side=side,
        sections=tuple(
            Section(group=group, length=length, diameter_start=first, diameter_end=last, wall=WALL)
            for group, length, first, last in sections
        ),
    )  # fmt: skip


def _cylinders(count: int) -> tuple[Cylinder, ...]:
    one = network_of("single").cylinders[0]
    intake, exhaust = one.valve_sets
    valves = (
        replace(intake, opens_deg=INTAKE_OPENS, closes_deg=610.0),
        replace(exhaust, opens_deg=EXHAUST_OPENS, closes_deg=EXHAUST_CLOSES),
    )
    return tuple(
        replace(one, number=c + 1, firing_angle_deg=720.0 * c / count, valve_sets=valves) for c in range(count)
    )


def network(
    pipes: Sequence[tuple[Pipe, End, End]],
    joins: Sequence[str] = (),
    volumes: Sequence[Volume] = (),
    perforates: Sequence[Perforate] = (),
) -> Network:
    """Network of pipes with what their starts and ends are fixed to; as many cylinders as there are valves."""
    attachments = [
        Attachment(pipe=number, end=name, to=to)
        for number, (_, first, last) in enumerate(pipes)
        for name, to in (("start", first), ("end", last))
    ]
    valves = [one.to.cylinder for one in attachments if isinstance(one.to, ValveEnd)]
    return Network(
        pipes=tuple(one for one, _, _ in pipes), attachments=tuple(attachments), volumes=tuple(volumes),
        joins=tuple(Join(name=name) for name in joins), perforates=tuple(perforates),
        cylinders=_cylinders(max(valves) + 1),
    )  # fmt: skip


def still(net: Network, velocity: tuple[float, ...] | float = 0.0) -> Callable[[int], PipeWaves]:
    """Gas of one speed of sound in all pipes, in steady motion along each of them."""

    def waves_of(number: int) -> PipeWaves:
        length, cells = layout_of(net, number)[-1].at, 40
        angles = np.linspace(0.0, 719.0, 720)
        field = np.ones((cells, angles.size))
        speed = velocity[number] if isinstance(velocity, tuple) else velocity
        return PipeWaves(
            name=net.pipes[number].name, angle_deg=angles, distance=(np.arange(cells) + 0.5) * length / cells,
            pressure=1e5 * field, velocity=speed * field, temperature=300.0 * field, burned=0.0 * field,
            density=0.5 * field, sound_speed=SOUND * field,
        )  # fmt: skip

    return waves_of


def follow_from(
    net: Network, waves_of: Callable[[int], PipeWaves], angle_deg: float = 100.0, *, starts: bool = True, at: int = 0
) -> tuple[tuple[Arrival, ...], tuple[Stop, ...]]:
    """Follow a front of pressure from the valves of the first cylinder, which are at one pipe."""
    front = Front(cylinder=0, valve_set=1, pipe=at, starts=starts, wave=Wave.PRESSURE, angle_deg=angle_deg)
    return trace_front(net, waves_of, SPEED, front)
