"""Fronts that were followed -> what arrives at each port of an engine."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from pullbook.engine.network_ends import JoinEnd, Side
from pullbook.engine.reflection_places import layout_of
from pullbook.engine.reflections import follow_fronts
from pullbook.engine.waves import CYCLE_DEG
from pullbook.records.reflections import PlaceKind, PortReflections, StoppedFront, ValvesState, Wave, WaveArrival

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.engine.cycle import Settled
    from pullbook.engine.network import Network
    from pullbook.engine.network_cylinders import Cylinder
    from pullbook.engine.reflection_ways import Arrival, Stop, Turn

__all__ = ["port_reflections", "recorded"]


def port_reflections(settled: Settled) -> tuple[PortReflections, ...]:
    """What arrives at each port, from where, and when.

    Parameters
    ----------
    settled : Settled
        A run with all cells written down.

    Returns
    -------
    tuple of PortReflections
        By cylinder, intake first; ports that send out no front, which the others do not know of, included.
    """
    network = settled.assembled.network
    arrivals, stops = follow_fronts(settled)
    return tuple(
        _port(network, (c, k), arrivals, stops)
        for c, cylinder in enumerate(network.cylinders)
        for k in range(len(cylinder.valve_sets))
    )


def _port(
    network: Network, port: tuple[int, int], arrivals: Sequence[Arrival], stops: Sequence[Stop]
) -> PortReflections:
    cylinder = network.cylinders[port[0]]
    valves = cylinder.valve_sets[port[1]]
    left = [one.front for one in arrivals] + [one.front for one in stops]
    fronts = [front.angle_deg for front in left if (front.cylinder, front.valve_set) == port]
    found = [recorded(network, one) for one in arrivals if (one.cylinder, one.valve_set) == port]
    stopped = [_stopped(network, one) for one in stops if (one.front.cylinder, one.front.valve_set) == port]
    return PortReflections(
        cylinder=cylinder.number,
        side=valves.side.value,
        wave=Wave.PRESSURE if valves.side is Side.EXHAUST else Wave.SUCTION,
        opens_deg=valves.opens_deg,
        closes_deg=valves.closes_deg,
        front_deg=(fronts[0] - cylinder.firing_angle_deg) % CYCLE_DEG if fronts else float("nan"),
        arrivals=tuple(sorted(found, key=lambda one: (-abs(one.coefficient), one.travel_deg))),
        stopped=tuple(sorted(stopped, key=lambda one: -abs(one.coefficient))),
    )


def recorded(network: Network, arrival: Arrival) -> WaveArrival:
    """An arrival as it is reported.

    Parameters
    ----------
    network : Network
        The network.
    arrival : Arrival
        What was followed.

    Returns
    -------
    WaveArrival
        With names, and with angles of the receiving cylinder.
    """
    receiver = network.cylinders[arrival.cylinder]
    turn = arrival.turn
    place = layout_of(network, turn.pipe)[turn.place]
    own = (arrival.angle_deg - receiver.firing_angle_deg) % CYCLE_DEG
    negative = (arrival.coefficient < 0.0) is (arrival.front.wave is Wave.PRESSURE)
    return WaveArrival(
        from_cylinder=network.cylinders[arrival.front.cylinder].number,
        place=place.name,
        pipe=network.pipes[turn.pipe].name,
        kind=place.kind or PlaceKind.JOIN,
        turned=arrival.turned,
        path=_path(network, arrival, place.name),
        distance=turn.distance,
        way=arrival.way,
        travel_deg=arrival.angle_deg - arrival.front.angle_deg,
        own_angle_deg=own,
        after_opening_deg=(own - receiver.valve_sets[arrival.valve_set].opens_deg) % CYCLE_DEG,
        valves=_state(receiver, arrival.valve_set, own),
        reflection=turn.factor,
        coefficient=arrival.coefficient,
        damped=arrival.damped,
        wave=Wave.SUCTION if negative else Wave.PRESSURE,
    )


def _path(network: Network, arrival: Arrival, place: str) -> tuple[str, ...]:
    """Pipes, the joins between them, and where it turned."""
    legs = arrival.legs
    found = [network.pipes[legs[0].pipe].name]
    for before, leg in pairwise(legs):
        if before.outward and not leg.outward:
            found.append(place)
        elif before.pipe != leg.pipe:
            found.append(_between(network, before.pipe, leg.pipe))
        else:
            continue
        found.append(network.pipes[leg.pipe].name)
    return tuple(found)


def _between(network: Network, first: int, second: int) -> str:
    """Join that two pipes share."""
    there = {one.to.join for one in network.attachments if one.pipe == first and isinstance(one.to, JoinEnd)}
    shared = next(
        one for one in network.attachments
        if one.pipe == second and isinstance(one.to, JoinEnd) and one.to.join in there
    )  # fmt: skip
    places = layout_of(network, second)
    return places[0 if shared.end == "start" else -1].name


def _state(cylinder: Cylinder, valve_set: int, own: float) -> ValvesState:
    open_now = [(own - one.opens_deg) % CYCLE_DEG < one.closes_deg - one.opens_deg for one in cylinder.valve_sets]
    if not open_now[valve_set]:
        return ValvesState.CLOSED
    return ValvesState.OVERLAP if all(open_now) and len(open_now) > 1 else ValvesState.OPEN


def _place_name(network: Network, turn: Turn | None) -> str:
    return "" if turn is None else layout_of(network, turn.pipe)[turn.place].name


def _stopped(network: Network, stop: Stop) -> StoppedFront:
    firing = network.cylinders[stop.front.cylinder].firing_angle_deg
    return StoppedFront(
        pipe=network.pipes[stop.pipe].name,
        place=_place_name(network, stop.turn),
        distance=stop.way,
        own_angle_deg=(stop.angle_deg - firing) % CYCLE_DEG,
        coefficient=stop.coefficient,
        reason=stop.reason,
    )
