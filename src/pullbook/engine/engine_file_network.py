"""The ``[network]`` table of an engine file: pipes, volumes, joins and silencers that are declared freely."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.engine.engine_file_exhaust import parse_silencer
from pullbook.engine.network_ends import Side
from pullbook.engine.parts_network import FreeJoin, FreeNetwork, FreePipe, FreeSilencer, FreeVolume

if TYPE_CHECKING:
    from pullbook.engine.parts_running import Walls
    from pullbook.engine.sheet import Sheet

__all__ = ["parse_network"]


def parse_network(sheet: Sheet, walls: Walls) -> FreeNetwork:
    """Network that is declared freely; empty where the table is absent."""
    joins = sheet.children("join")
    usual = sheet.word("join_model") if joins else None
    found = FreeNetwork(
        pipes=tuple(_pipe(one, walls) for one in sheet.children("pipe")),
        volumes=tuple(_volume(one, walls) for one in sheet.children("volume")),
        joins=tuple(
            FreeJoin(name=one.text("name"), model=one.word("model", usual), members=one.texts("pipes"), place=one.at())
            for one in joins
        ),
        silencers=tuple(
            FreeSilencer(name=one.text("name"), silencer=parse_silencer(one, None), place=one.at())
            for one in sheet.children("silencer")
        ),
    )
    for key, names in (
        ("pipe", [one.name for one in found.pipes]),
        ("volume", [one.name for one in found.volumes]),
        ("join", [one.name for one in found.joins]),
        ("silencer", [one.name for one in found.silencers]),
    ):
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise sheet.refusal(f"{key}.name", f"the name '{twice}' is given twice", remedy="each name may stand once")
    return found


def _wall(sheet: Sheet, side: Side, group: str, walls: Walls) -> float:
    by_group = walls.intake if side is Side.INTAKE else walls.exhaust
    return sheet.number("wall", default=by_group.get(group, by_group["runner" if side is Side.INTAKE else "pipe"]))


def _pipe(sheet: Sheet, walls: Walls) -> FreePipe:
    side, group = Side(sheet.word("side")), sheet.text("group")
    start, end = sheet.text("from"), sheet.text("to")
    first, last = sheet.number_or_none("from_angle"), sheet.number_or_none("to_angle")
    return FreePipe(
        name=sheet.text("name"),
        side=side,
        group=group,
        shape=_shape(sheet),
        bend_loss=sheet.number("bend_loss"),
        wall=_wall(sheet, side, group, walls),
        starts_at=start,
        ends_at=end,
        starts_at_angle_deg=180.0 if first is None else first,
        ends_at_angle_deg=10.0 if last is None else last,
        place=sheet.at(),
    )


def _shape(sheet: Sheet) -> tuple[tuple[float, float], ...]:
    if "at" not in sheet and "diameters" not in sheet:
        length, first = sheet.number("length"), sheet.number("diameter")
        return (0.0, first), (length, sheet.number("end_diameter", default=first))
    for key in ("length", "diameter", "end_diameter"):
        if key in sheet:
            raise sheet.refusal(key, f"at and diameters say {key} already", remedy="leave one of the two out")
    at, diameters = sheet.rising_row("at"), sheet.row("diameters")
    if len(at) != len(diameters) or len(at) < 2 or at[0] != 0.0:
        raise sheet.refusal("at", f"two places or more are needed, the first 0, with as many diameters, not {len(at)} "
                            f"and {len(diameters)}", remedy='write for example at = "0 300 mm"')  # fmt: skip
    return tuple(zip(at, diameters, strict=True))


def _volume(sheet: Sheet, walls: Walls) -> FreeVolume:
    side = Side(sheet.word("side"))
    return FreeVolume(
        name=sheet.text("name"),
        side=side,
        volume=sheet.number("volume"),
        wall=_wall(sheet, side, "plenum" if side is Side.INTAKE else "silencer", walls),
        packed=sheet.flag("packed"),
    )
