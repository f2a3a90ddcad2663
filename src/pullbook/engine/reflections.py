"""First arrivals of reflections: fronts followed from the valves through the computed flow, to and fro.

A front sets out from the valves of a port (`pullbook.engine.reflection_fronts`), runs with u + c outward, is passed on
and sent back at every place of the network (`pullbook.engine.reflection_places`), and runs with u - c inward until it
comes to valves: those that it left, or those of another cylinder. It is sent back once at most; what valves send back
is not followed. Of all ways from one port by one place to another port the first counts.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field, replace
from itertools import count
from typing import TYPE_CHECKING, Final

from pullbook.engine.network_ends import END, START, ValveEnd
from pullbook.engine.reflection_fronts import fronts_of
from pullbook.engine.reflection_places import Layout, Way, layout_of, scatter
from pullbook.engine.reflection_ways import Arrival, Leg, Stop, Turn
from pullbook.engine.waves import follow, pipe_waves
from pullbook.records.reflections import FAINTEST, PlaceKind

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.engine.cycle import Settled
    from pullbook.engine.network import Network
    from pullbook.engine.reflection_fronts import Front
    from pullbook.engine.waves import PipeWaves

__all__ = ["LONGEST_DEG", "follow_fronts", "trace_front"]

LONGEST_DEG: Final = 1440.0  # on the way; a front that is older is given up
_STOPPED: Final = "the gas runs against it at the speed of sound"
_OLD: Final = "it has been on its way for more than two cycles"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ray:
    """Front on its way, about to leave a place."""

    pipe: int
    place: int
    forward: bool
    angle_deg: float
    coefficient: float
    way: float = 0.0
    damped: bool = False
    turn: Turn | None = None
    joins: tuple[Turn, ...] = ()
    legs: tuple[Leg, ...] = field(default=())

    @property
    def mark(self) -> tuple[object, ...]:
        """Of all fronts with the same mark the first counts."""
        turned = None if self.turn is None else (self.turn.pipe, self.turn.place)
        return self.pipe, self.place, self.forward, turned


def follow_fronts(settled: Settled) -> tuple[tuple[Arrival, ...], tuple[Stop, ...]]:
    """Follow the fronts of all ports of an engine.

    Parameters
    ----------
    settled : Settled
        A run with all cells written down.

    Returns
    -------
    arrivals : tuple of Arrival
        In the order of the ports that they left, and of time.
    stops : tuple of Stop
        Fronts that were stopped.
    """
    network, speed_rpm = settled.assembled.network, settled.operating.speed_rpm
    known: dict[int, PipeWaves] = {}

    def waves_of(pipe: int) -> PipeWaves:
        if pipe not in known:
            known[pipe] = pipe_waves(settled, pipe)
        return known[pipe]

    arrivals: list[Arrival] = []
    stops: list[Stop] = []
    for front in fronts_of(network, waves_of, speed_rpm):
        found, stopped = trace_front(network, waves_of, speed_rpm, front)
        arrivals += found
        stops += stopped
    return tuple(arrivals), tuple(stops)


def trace_front(
    network: Network, waves_of: Callable[[int], PipeWaves], speed_rpm: float, front: Front
) -> tuple[tuple[Arrival, ...], tuple[Stop, ...]]:
    """Follow one front to all valves that it reaches.

    Parameters
    ----------
    network : Network
        The network.
    waves_of : callable
        Waves in a pipe, by its index.
    speed_rpm : float
        Engine speed. [rpm]
    front : Front
        Where and when it sets out.

    Returns
    -------
    arrivals : tuple of Arrival
        In the order of time; the first of each place and port.
    stops : tuple of Stop
        Where it was stopped.
    """
    layouts = {pipe: layout_of(network, pipe) for pipe in range(len(network.pipes))}
    first = _Ray(
        pipe=front.pipe, place=0 if front.starts else len(layouts[front.pipe]) - 1, forward=front.starts,
        angle_deg=front.angle_deg, coefficient=1.0,
    )  # fmt: skip
    order = count()
    waiting = [(first.angle_deg, next(order), first)]
    seen: set[tuple[object, ...]] = set()
    arrivals: dict[tuple[object, ...], Arrival] = {}
    stops: list[Stop] = []
    while waiting:
        _, _, ray = heapq.heappop(waiting)
        if ray.mark in seen:
            continue
        seen.add(ray.mark)
        there, stopped = _run(layouts[ray.pipe], waves_of(ray.pipe), speed_rpm, ray)
        if stopped or there.angle_deg - front.angle_deg > LONGEST_DEG:
            stops.append(_stop(front, there, _STOPPED if stopped else _OLD))
            continue
        arrival = _arrival(network, front, there, len(layouts[there.pipe]) - 1)
        if arrival is not None:
            key = (arrival.cylinder, arrival.valve_set, arrival.turned, arrival.turn.pipe, arrival.turn.place)
            arrivals.setdefault(key, arrival)
        ways = scatter(network, layouts, (there.pipe, there.place, there.forward))
        for ray_on in _go_on(layouts, there, ways):
            heapq.heappush(waiting, (ray_on.angle_deg, next(order), ray_on))
    return tuple(arrivals.values()), tuple(stops)


def _run(places: Layout, waves: PipeWaves, speed_rpm: float, ray: _Ray) -> tuple[_Ray, bool]:
    """The same ray at the next place of its pipe, or where it stopped."""
    following = ray.place + (1 if ray.forward else -1)
    here, there = places[ray.place], places[following]
    capacity = places[min(ray.place, following)].capacity
    track = follow(waves, ray.angle_deg, speed_rpm, (here.at, there.at), capacity)
    gone = abs(float(track.distance[-1]) - here.at) if track.stopped else abs(there.length - here.length)
    leg = Leg(pipe=ray.pipe, track=track, outward=ray.turn is None)
    moved = replace(
        ray, place=following, angle_deg=float(track.angle_deg[-1]), way=ray.way + gone, legs=(*ray.legs, leg),
        damped=ray.damped or capacity > 1.0,
    )  # fmt: skip
    return moved, track.stopped


def _go_on(layouts: dict[int, Layout], ray: _Ray, ways: Sequence[Way]) -> list[_Ray]:
    """Rays that leave a place, one for each way that is strong enough."""
    found: list[_Ray] = []
    for way in ways:
        coefficient = ray.coefficient * way.factor
        if abs(coefficient) < FAINTEST or (way.back and ray.turn is not None):
            continue
        here = Turn(pipe=ray.pipe, place=ray.place, distance=ray.way, factor=way.factor, angle_deg=ray.angle_deg)
        passed = not way.back and layouts[ray.pipe][ray.place].kind is PlaceKind.JOIN
        found.append(
            replace(ray, pipe=way.pipe, place=way.place, forward=way.forward, coefficient=coefficient,
                    turn=here if way.back else ray.turn, joins=(*ray.joins, here) if passed else ray.joins)
        )  # fmt: skip
    return found


def _arrival(network: Network, front: Front, ray: _Ray, last: int) -> Arrival | None:
    """Arrival at valves, if the ray has come to some."""
    to = network.end_of(ray.pipe, END if ray.forward else START)
    if ray.place != (last if ray.forward else 0) or not isinstance(to, ValveEnd):
        return None
    # Without a turn it came to another cylinder; of the joins on the way the middle one leads from outward to inward.
    turn = ray.turn or (ray.joins[len(ray.joins) // 2] if ray.joins else None)
    if turn is None:
        return None
    return Arrival(
        front=front, cylinder=to.cylinder, valve_set=to.valve_set, turn=turn, turned=ray.turn is not None,
        angle_deg=ray.angle_deg, way=ray.way, coefficient=ray.coefficient, damped=ray.damped,
        legs=ray.legs,
    )  # fmt: skip


def _stop(front: Front, ray: _Ray, reason: str) -> Stop:
    return Stop(
        front=front, turn=ray.turn, pipe=ray.pipe, angle_deg=ray.angle_deg, way=ray.way, coefficient=ray.coefficient,
        reason=reason,
    )  # fmt: skip
