"""Exhaust shorthand as a network: ports, primaries, merges, crossings, silencers, tailpipe."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.engine.layout_silencers import lay_silencer
from pullbook.engine.layout_walls import mouth, wall_of
from pullbook.engine.network_ends import JoinEnd, Side, ValveEnd
from pullbook.engine.parts_pipes import Tube

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.engine.network_pipes import Wall
    from pullbook.engine.parts import EngineSpec
    from pullbook.engine.parts_pipes import Header, Merge
    from pullbook.engine.plumbing import Plumbing, Run

__all__ = ["exhaust_port_run", "lay_exhaust"]

_SIDE: Final = Side.EXHAUST
_EXHAUST_SET: Final = 1
_AWAY: Final = 180.0
_CROSSING: Final = 15.0
_SIDEWAYS: Final = 90.0


def exhaust_port_run(spec: EngineSpec, plumbing: Plumbing, number: int, name: str) -> Run:
    """Begin a run at the exhaust valves of a cylinder and lay the port."""
    port = spec.exhaust_side.port
    run = plumbing.run(name, _SIDE, ValveEnd(cylinder=number - 1, valve_set=_EXHAUST_SET))
    tube = Tube(length=port.length, diameter=port.valve_diameter, end_diameter=port.flange_diameter,
                bend_loss=port.bend_loss)  # fmt: skip
    return plumbing.lay(run, "exhaust port", tube, wall_of(spec.walls, _SIDE, "exhaust_port"))


def lay_exhaust(spec: EngineSpec, plumbing: Plumbing) -> None:
    """Lay headers and exhaust of an engine."""
    systems: list[Run] = []
    for number, header in enumerate(spec.headers, start=1):
        ending = f" {number}" if len(spec.headers) > 1 else ""
        systems += _lay_header(spec, plumbing, header, ending)
    systems = [_lay_optional(spec, plumbing, run, "front pipe", spec.exhaust.front) for run in systems]
    systems = _cross(spec, plumbing, systems)
    for run in systems:
        last = _lay_optional(spec, plumbing, run, "middle pipe", spec.exhaust.middle)
        for number, silencer in enumerate(spec.exhaust.silencers, start=1):
            last = lay_silencer(spec, plumbing, last, silencer, f"silencer {number}, {run.name}")
            last = _lay_optional(spec, plumbing, last, "middle pipe", silencer.after)
        if spec.exhaust.tailpipe is not None:
            last = plumbing.lay(last, "tailpipe", spec.exhaust.tailpipe, wall_of(spec.walls, _SIDE, "tailpipe"))
        plumbing.end(last, mouth(spec.exhaust.tip, last.diameter))


def _lay_optional(spec: EngineSpec, plumbing: Plumbing, run: Run, group: str, tube: Tube | None) -> Run:
    return run if tube is None else plumbing.lay(run, group, tube, wall_of(spec.walls, _SIDE, "pipe"))


def _lay_header(spec: EngineSpec, plumbing: Plumbing, header: Header, ending: str) -> list[Run]:
    """Header up to its outlets, which are left open."""
    primary_wall = wall_of(spec.walls, _SIDE, "primary")
    primaries: list[Run] = []
    for number, tubes in zip(header.cylinders, header.primaries, strict=True):
        run = exhaust_port_run(spec, plumbing, number, f"primary {number}")
        for tube in tubes:
            run = plumbing.lay(run, "primary", tube, primary_wall)
        primaries.append(run)
    collector_wall = wall_of(spec.walls, _SIDE, "collector")
    if header.layout == "individual":
        return [_lay_outlet(plumbing, run, "megaphone", header.outlet, collector_wall) for run in primaries]
    if header.layout == "log" and header.log is not None:
        log = _lay_log(plumbing, primaries, header.log, primary_wall, (spec.exhaust.join_model, ending))
        last = plumbing.lay(log, "collector", header.outlet[0], collector_wall)
        return [_lay_outlet(plumbing, last, "extension", header.outlet[1:], collector_wall)]
    last = _merge_all(spec, plumbing, header, primaries, ending)
    last = plumbing.lay(last, "collector", header.outlet[0], collector_wall)
    return [_lay_outlet(plumbing, last, "extension", header.outlet[1:], collector_wall)]


def _lay_outlet(plumbing: Plumbing, run: Run, group: str, tubes: Sequence[Tube], wall: Wall) -> Run:
    for tube in tubes:
        run = plumbing.lay(run, group, tube, wall)
    return run


def _merge_all(spec: EngineSpec, plumbing: Plumbing, header: Header, primaries: list[Run], ending: str) -> Run:
    """Merge the primaries, and the secondaries where there are any; the run behind the last merge."""
    wall = wall_of(spec.walls, _SIDE, "secondary")
    first = header.first_merge
    if first is None:
        raise ValueError(header.layout)  # the parser makes no such header
    if header.secondaries is None or header.last_merge is None:
        return _merge(plumbing, primaries, first, f"collector{ending}", wall)
    secondaries: list[Run] = []
    place = 0
    for number, group in enumerate(header.groups, start=1):
        members = primaries[place : place + len(group)]
        place += len(group)
        letter = "abcdefgh"[number - 1]
        run = _merge(plumbing, members, first, f"secondary{ending} {letter}", wall)
        secondaries.append(plumbing.lay(run, "secondary", header.secondaries, wall))
    return _merge(plumbing, secondaries, header.last_merge, f"collector{ending}", wall)


def _merge(plumbing: Plumbing, members: Sequence[Run], merge: Merge, name: str, wall: Wall) -> Run:
    """Join runs into a cone that begins with the area of all of them."""
    join = plumbing.join(f"merge into {name}", merge.model)
    whole = math.sqrt(sum(member.diameter**2 for member in members))
    for member in members:
        plumbing.end(member, JoinEnd(join=join, angle_deg=merge.angle_deg))
    run = plumbing.run(name, _SIDE, JoinEnd(join=join, angle_deg=_AWAY))
    cone = Tube(length=merge.length, diameter=whole, end_diameter=merge.outlet)
    return plumbing.lay(run, "merge", cone, wall)


def _lay_log(plumbing: Plumbing, primaries: Sequence[Run], piece: Tube, wall: Wall, words: tuple[str, str]) -> Run:
    """Log along the cylinders: each primary enters it from the side. `words` are the model and the end of the name."""
    model, ending = words
    run: Run | None = None
    for number, member in enumerate(primaries, start=1):
        join = plumbing.join(f"log{ending} {number}", model)
        plumbing.end(member, JoinEnd(join=join, angle_deg=_SIDEWAYS))
        if run is not None:
            plumbing.end(run, JoinEnd(join=join, angle_deg=0.0))
        name = f"log{ending} {number}" if number < len(primaries) else f"collector{ending}"
        run = plumbing.run(name, _SIDE, JoinEnd(join=join, angle_deg=_AWAY))
        if number < len(primaries):
            run = plumbing.lay(run, "log", piece, wall)
    if run is None:
        raise ValueError(ending)  # the parser makes no header without cylinders
    return run


def _cross(spec: EngineSpec, plumbing: Plumbing, systems: list[Run]) -> list[Run]:
    """Let the systems meet; the runs behind."""
    joined = spec.exhaust.joined
    if joined == "separate":
        return systems
    wall = wall_of(spec.walls, _SIDE, "pipe")
    middle, model = spec.exhaust.middle, spec.exhaust.join_model
    if joined == "y":
        join = plumbing.join("y", model)
        for run in systems:
            plumbing.end(run, JoinEnd(join=join, angle_deg=_CROSSING))
        return [plumbing.run("exhaust", _SIDE, JoinEnd(join=join, angle_deg=_AWAY))]
    if joined == "x":
        join = plumbing.join("x", model)
        for run in systems:
            plumbing.end(run, JoinEnd(join=join, angle_deg=_CROSSING))
        away = JoinEnd(join=join, angle_deg=_AWAY - _CROSSING)
        return [plumbing.run(f"exhaust {number}", _SIDE, away) for number in (1, 2)]
    joins = [plumbing.join(f"h {number}", model) for number in (1, 2)]
    for run, join in zip(systems, joins, strict=True):
        plumbing.end(run, JoinEnd(join=join, angle_deg=0.0))
    cross = spec.exhaust.crossover or middle
    if cross is None:
        raise ValueError(joined)  # the parser gives every h a cross pipe
    pipe = plumbing.run("cross pipe", _SIDE, JoinEnd(join=joins[0], angle_deg=_SIDEWAYS))
    pipe = plumbing.lay(pipe, "cross pipe", cross, wall)
    plumbing.end(pipe, JoinEnd(join=joins[1], angle_deg=_SIDEWAYS))
    return [
        plumbing.run(f"exhaust {number}", _SIDE, JoinEnd(join=join, angle_deg=_AWAY))
        for number, join in enumerate(joins, start=1)
    ]
