"""The tables of an engine file about the intake: air box, throttle, plenum, runners."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.engine.parts_pipes import AirBox, Intake, Runners, Throttle, Tube

if TYPE_CHECKING:
    from pullbook.engine.parts_block import Block, Port
    from pullbook.engine.sheet import Sheet

__all__ = ["lengths_of", "parse_intake", "parse_tube"]

_THROTTLE_AREA: Final = 1.0  # m2 for each m3 of displacement, 1 mm2 for each cm3


def parse_tube(sheet: Sheet, diameter: float) -> Tube:
    """Tube of a table with length, diameter, end_diameter and bend_loss.

    Parameters
    ----------
    sheet : Sheet
        The table.
    diameter : float
        Diameter where the table names none. [m]
    """
    first = sheet.number("diameter", default=diameter)
    return Tube(
        length=sheet.number("length"),
        diameter=first,
        end_diameter=sheet.number("end_diameter", default=first),
        bend_loss=sheet.number("bend_loss"),
    )


def lengths_of(sheet: Sheet, count: int, of_what: str) -> tuple[float, ...]:
    """Length of each of some pipes, from ``lengths`` or from ``length``. [m].

    Parameters
    ----------
    sheet : Sheet
        The table.
    count : int
        How many pipes.
    of_what : str
        What stands in which order, for the message.
    """
    if "lengths" not in sheet:
        return (sheet.number("length"),) * count
    if "length" in sheet:
        raise sheet.refusal("length", "length and lengths say the same thing twice", remedy="leave one of them out")
    lengths = sheet.row("lengths")
    if len(lengths) != count:
        raise sheet.refusal("lengths", f"{count} lengths are needed, {of_what}, not {len(lengths)}",
                            remedy=f"write {count} of them")  # fmt: skip
    return lengths


def parse_intake(top: Sheet, block: Block, port: Port) -> Intake:
    """Intake of the whole engine."""
    layout = top.child("intake").word("layout")
    runners, widest = _runners(top.child("runners"), block, port)
    throttle = _throttle(top.child("throttle"), layout, block, widest)
    air_box = None
    if "air_box" in top:
        air_box = _air_box(top.child("air_box"), block, throttle)
    else:
        top.assume("air_box", "none: the engine breathes from the open")
    plenum = 0.0
    if layout == "plenum":
        plenum = top.child("plenum").number("volume", default=1.5 * block.displacement)
    elif "plenum" in top:
        raise top.refusal("plenum", "individual runners have no plenum", remedy='leave it out, or layout = "plenum"')
    return Intake(layout=layout, air_box=air_box, throttle=throttle, plenum=plenum, runners=runners)


def _runners(sheet: Sheet, block: Block, port: Port) -> tuple[Runners, float]:
    lengths = lengths_of(sheet, block.cylinders, "one for each cylinder")
    flange = sheet.number("diameter", default=port.flange_diameter)
    mouth = sheet.number("mouth_diameter", default=flange)
    loss = sheet.number("bend_loss")
    tubes = tuple(Tube(length=length, diameter=mouth, end_diameter=flange, bend_loss=loss) for length in lengths)
    return Runners(tubes=tubes, bellmouth=sheet.flag("bellmouth")), mouth


def _throttle(sheet: Sheet, layout: str, block: Block, runner: float) -> Throttle:
    count = sheet.count("count") if layout == "plenum" else block.cylinders
    if layout != "plenum" and "count" in sheet:
        raise sheet.refusal("count", "each individual runner has one throttle", remedy="leave count out")
    usual = runner
    if layout == "plenum":
        usual = math.sqrt(_THROTTLE_AREA * block.displacement / count * 4.0 / math.pi)
    diameter = sheet.number("diameter", default=usual)
    body = Tube(length=sheet.number("length"), diameter=diameter, end_diameter=diameter)
    return Throttle(count=count, body=body, opening=sheet.number("opening"), discharge=sheet.number("discharge"))


def _air_box(sheet: Sheet, block: Block, throttle: Throttle) -> AirBox:
    diameter = sheet.number("inlet_diameter", default=throttle.body.diameter * math.sqrt(throttle.count))
    return AirBox(
        volume=sheet.number("volume", default=4.0 * block.displacement),
        inlet=Tube(length=sheet.number("inlet_length"), diameter=diameter, end_diameter=diameter),
        bellmouth=sheet.flag("bellmouth"),
    )
