"""The tables of an engine file about headers, silencers and what follows."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.engine.engine_file_intake import lengths_of, parse_tube
from pullbook.engine.parts_pipes import Exhaust, Header, Merge, Silencer, Tube

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.engine.parts_block import Block, Port
    from pullbook.engine.sheet import Sheet

__all__ = ["parse_exhaust", "parse_headers", "parse_silencer"]

_INDIVIDUAL: Final = "individual"
_LOG: Final = "log"
_MOST_MERGED: Final = 6
_COLLECTOR: Final = 0.7  # of the circle with the area of all pipes that merge
_SECONDARY: Final = 0.85
_BETWEEN: Final = 0.1  # m; pipe between two silencers


def parse_headers(top: Sheet, block: Block, port: Port) -> tuple[Header, ...]:
    """Headers of the ``[[header]]`` tables, or one for each bank."""
    sheets = top.children("header")
    model = top.child("exhaust").word("join_model")
    banks = tuple(dict.fromkeys(block.banks))
    if not sheets:
        top.assume("header", "one for each bank" if len(banks) > 1 else "one")
        empty = top.child("header")
        return tuple(_header(empty, _of_bank(block, bank), block, port, model) for bank in banks)
    cylinders = [_cylinders(sheet, block, len(sheets), number) for number, sheet in enumerate(sheets)]
    count = Counter(number for group in cylinders for number in group)
    for sheet, group in zip(sheets, cylinders, strict=True):
        for number in group:
            if number > block.cylinders:
                raise sheet.refusal("cylinders", f"the engine has no cylinder {number}",
                                    remedy=f"write numbers from 1 to {block.cylinders}")  # fmt: skip
            if count[number] > 1:
                what = f"the exhaust of cylinder {number} is joined to {count[number]} headers"
                raise sheet.refusal("cylinders", what,
                                    remedy="each cylinder belongs to one header")  # fmt: skip
    missing = sorted(set(range(1, block.cylinders + 1)) - set(count))
    if missing:
        raise sheets[-1].refusal("cylinders", f"the exhaust of cylinder {missing[0]} is joined to no header",
                                 remedy="each cylinder belongs to one header")  # fmt: skip
    return tuple(_header(sheet, group, block, port, model) for sheet, group in zip(sheets, cylinders, strict=True))


def _of_bank(block: Block, bank: str) -> tuple[int, ...]:
    return tuple(number for number, name in enumerate(block.banks, start=1) if name == bank)


def _cylinders(sheet: Sheet, block: Block, headers: int, place: int) -> tuple[int, ...]:
    declared = sheet.counts("cylinders")
    if declared:
        return declared
    banks = tuple(dict.fromkeys(block.banks))
    if headers == 1:
        usual = tuple(range(1, block.cylinders + 1))
    elif headers == len(banks):
        usual = _of_bank(block, banks[place])
    else:
        raise sheet.refusal("cylinders", f"which cylinders belong to this one of {headers} headers is not said",
                            remedy="write for example cylinders = [1, 3, 5, 7]")  # fmt: skip
    sheet.assume("cylinders", str(list(usual)))
    return usual


def _header(sheet: Sheet, cylinders: tuple[int, ...], block: Block, port: Port, model: str) -> Header:
    layout = sheet.word("layout", default=_usual_layout(len(cylinders)))
    groups = _groups(sheet, layout, cylinders, block)
    ordered = tuple(number for group in groups for number in group)
    primaries = _primaries(sheet.child("primary"), ordered, port)
    end = primaries[0][-1].end_diameter
    if layout == _INDIVIDUAL:
        _refuse(sheet, layout, ("secondary", "merge", "collector", "extension"))
        outlet = (parse_tube(sheet.child("megaphone"), end),) if "megaphone" in sheet else ()
        return _made(layout, groups, primaries, outlet)
    if layout == _LOG:
        _refuse(sheet, layout, ("secondary", "merge", "megaphone"))
        collector = parse_tube(sheet.child("collector"), 1.3 * end)
        spacing = sheet.number("spacing", default=1.15 * block.bore)
        piece = Tube(length=spacing, diameter=collector.diameter, end_diameter=collector.diameter)
        return _made(layout, groups, primaries, (collector, *_extension(sheet, collector)), log=piece)
    _refuse(sheet, layout, ("megaphone", "spacing"))
    return _merged(sheet, layout, groups, primaries, model)


def _merged(
    sheet: Sheet, layout: str, groups: tuple[tuple[int, ...], ...], primaries: tuple[tuple[Tube, ...], ...], model: str
) -> Header:
    """Header with one merge, or with two in a row."""
    end = primaries[0][-1].end_diameter
    merge = sheet.child("merge")
    if len(groups) == 1:
        _refuse(sheet, layout, ("secondary",))
        collector = parse_tube(sheet.child("collector"), _COLLECTOR * end * math.sqrt(len(groups[0])))
        first = _merge(merge, end, collector.diameter, model)
        return _made(layout, groups, primaries, (collector, *_extension(sheet, collector)), first=first)
    secondary = parse_tube(sheet.child("secondary"), _SECONDARY * end * math.sqrt(len(groups[0])))
    collector = parse_tube(sheet.child("collector"), _COLLECTOR * secondary.end_diameter * math.sqrt(len(groups)))
    last = _merge(merge, secondary.end_diameter, collector.diameter, model)
    # The first merges are as slender as the last one, and lead into the secondaries.
    first = Merge(length=last.length * end / secondary.end_diameter, outlet=secondary.diameter,
                  angle_deg=last.angle_deg, model=last.model)  # fmt: skip
    outlet = (collector, *_extension(sheet, collector))
    made = _made(layout, groups, primaries, outlet, first=first)
    return Header(layout=made.layout, groups=made.groups, primaries=made.primaries, secondaries=secondary,
                  first_merge=first, last_merge=last, log=None, outlet=outlet)  # fmt: skip


def _made(
    layout: str,
    groups: tuple[tuple[int, ...], ...],
    primaries: tuple[tuple[Tube, ...], ...],
    outlet: tuple[Tube, ...],
    *,
    first: Merge | None = None,
    log: Tube | None = None,
) -> Header:
    return Header(layout=layout, groups=groups, primaries=primaries, secondaries=None, first_merge=first,
                  last_merge=None, log=log, outlet=outlet)  # fmt: skip


def _usual_layout(count: int) -> str:
    if count == 1:
        return _INDIVIDUAL
    return f"{count}-1" if count <= _MOST_MERGED else _LOG


def _groups(sheet: Sheet, layout: str, cylinders: tuple[int, ...], block: Block) -> tuple[tuple[int, ...], ...]:
    """Cylinders by first merge."""
    if layout == _INDIVIDUAL:
        return tuple((number,) for number in cylinders)
    counts = [] if layout == _LOG else [int(part) for part in layout.split("-")]
    if counts and counts[0] != len(cylinders):
        raise sheet.refusal("layout", f"this layout is for {counts[0]} cylinders, but the header has {len(cylinders)}",
                            remedy="choose another layout, or declare its cylinders")  # fmt: skip
    if len(counts) <= 2:
        _refuse(sheet, layout, ("groups",))
        return (cylinders,)
    declared = sheet.groups("groups")
    if not declared:
        by_firing = [number for number in block.firing_order if number in cylinders]
        declared = tuple(tuple(by_firing[start :: counts[1]]) for start in range(counts[1]))
        sheet.assume("groups", str([list(group) for group in declared]))
    flat = sorted(number for group in declared for number in group)
    if len(declared) != counts[1] or flat != sorted(cylinders) or len({len(group) for group in declared}) != 1:
        size = len(cylinders) // counts[1]
        raise sheet.refusal("groups", f"{counts[1]} groups of {size} are needed, each of the cylinders once",
                            remedy=f"the cylinders are {', '.join(map(str, cylinders))}")  # fmt: skip
    return declared


def _refuse(sheet: Sheet, layout: str, keys: Sequence[str]) -> None:
    for key in keys:
        if key in sheet:
            raise sheet.refusal(key, f"a layout '{layout}' has none", remedy="leave it out, or choose another layout")


def _primaries(sheet: Sheet, cylinders: tuple[int, ...], port: Port) -> tuple[tuple[Tube, ...], ...]:
    lengths = lengths_of(sheet, len(cylinders), f"for the cylinders {', '.join(map(str, cylinders))}")
    diameter = sheet.number("diameter", default=1.05 * port.flange_diameter)
    loss = sheet.number("bend_loss")
    at, after = sheet.number_or_none("step_at"), sheet.number_or_none("step_diameter")
    if (at is None) != (after is None):
        key = "step_at" if at is None else "step_diameter"
        raise sheet.refusal(key, "step_at and step_diameter belong together", remedy="declare both, or neither")
    if at is None or after is None:
        return tuple((_straight(length, diameter, loss),) for length in lengths)
    if at >= min(lengths):
        raise sheet.refusal("step_at", f"the step lies beyond the shortest pipe of {min(lengths) * 1e3:g} mm",
                            remedy=f"declare less than {min(lengths) * 1e3:g} mm")  # fmt: skip
    return tuple(
        (_straight(at, diameter, loss * at / length), _straight(length - at, after, loss * (1.0 - at / length)))
        for length in lengths
    )


def _straight(length: float, diameter: float, loss: float) -> Tube:
    return Tube(length=length, diameter=diameter, end_diameter=diameter, bend_loss=loss)


def _merge(sheet: Sheet, pipe: float, after: float, model: str) -> Merge:
    return Merge(
        length=sheet.number("length", default=2.0 * pipe),
        outlet=sheet.number("outlet", default=after),
        angle_deg=sheet.number("angle"),
        model=sheet.word("model", model),
    )


def _extension(sheet: Sheet, collector: Tube) -> tuple[Tube, ...]:
    return (parse_tube(sheet.child("extension"), collector.end_diameter),) if "extension" in sheet else ()


def parse_exhaust(top: Sheet, headers: Sequence[Header]) -> Exhaust:
    """What follows the headers."""
    sheet = top.child("exhaust")
    join_model = sheet.word("join_model")
    outlets = sum(len(header.groups) if header.layout == _INDIVIDUAL else 1 for header in headers)
    joined = _joined(sheet, outlets)
    last = headers[0].outlet[-1] if headers[0].outlet else headers[0].primaries[0][-1]
    diameter = last.end_diameter
    front, diameter = _optional(sheet, "front", diameter)
    crossover, _ = _optional(sheet, "crossover", diameter)
    if joined == "h" and crossover is None:
        crossover = parse_tube(sheet.child("crossover"), diameter)
    middle, diameter = _optional(sheet, "middle", diameter)
    silencers: list[Silencer] = []
    sheets = sheet.children("silencer")
    for one in sheets:
        silencers.append(_with_pipe(one, parse_silencer(one, diameter), last=one is sheets[-1]))
        diameter = silencers[-1].tube.diameter
    if not silencers:
        sheet.assume("silencer", "none: open exhaust")
    tailpipe, _ = _optional(sheet, "tailpipe", diameter)
    return Exhaust(joined=joined, front=front, crossover=crossover if joined == "h" else None, middle=middle,
                   silencers=tuple(silencers), tailpipe=tailpipe, tip=sheet.word("tip"),
                   join_model=join_model)  # fmt: skip


def _joined(sheet: Sheet, outlets: int) -> str:
    joined = sheet.word("joined")
    if joined != "separate" and outlets < 2:
        raise sheet.refusal("joined", "one system has nothing to join", remedy='write joined = "separate"')
    if joined in {"x", "h"} and outlets != 2:
        raise sheet.refusal("joined", f"a crossing joins two systems, but there are {outlets}",
                            remedy='write joined = "y" or "separate"')  # fmt: skip
    if joined != "separate" and not any(key in sheet for key in ("middle", "silencer", "tailpipe")):
        raise sheet.refusal("joined", "nothing follows the place where the systems meet",
                            remedy="declare middle, a silencer or a tailpipe")  # fmt: skip
    if joined != "h" and "crossover" in sheet:
        raise sheet.refusal("crossover", "only an h has a cross pipe", remedy='write joined = "h", or leave it out')
    return joined


def _optional(sheet: Sheet, key: str, diameter: float) -> tuple[Tube | None, float]:
    """Tube of a table that may be absent, and the diameter behind it."""
    if key not in sheet:
        return None, diameter
    tube = parse_tube(sheet.child(key), diameter)
    return tube, tube.end_diameter


def _with_pipe(sheet: Sheet, silencer: Silencer, *, last: bool) -> Silencer:
    """Silencer with the pipe behind it."""
    after = sheet.number_or_none("after") if last else sheet.number("after", default=_BETWEEN)
    return replace(silencer, after=_straight(after, silencer.tube.diameter, 0.0)) if after else silencer


def parse_silencer(sheet: Sheet, before: float | None) -> Silencer:
    """Silencer without what follows it; `before` is the diameter of the pipe before it, where that is known."""
    kind = sheet.word("kind")
    diameter = sheet.number("diameter", default=before)
    shell = sheet.number("shell", default=2.4 * diameter)
    widest = shell if kind != "reversed" else shell / math.sqrt(2.0)
    if diameter >= widest:
        raise sheet.refusal("shell", f"the tube of {diameter * 1e3:g} mm does not fit into the shell",
                            remedy=f"declare more than {diameter * 1e3 * shell / widest:.0f} mm")  # fmt: skip
    straight = kind == "straight-through"
    if not straight:
        for key in ("porosity", "packed", "resistivity"):
            if key in sheet:
                raise sheet.refusal(key, f"a silencer of the kind '{kind}' has none", remedy="leave it out")
    length = sheet.number("length")
    packed = straight and sheet.flag("packed")
    return Silencer(
        kind=kind,
        tube=_straight(length, diameter, 0.0),
        shell=shell,
        porosity=sheet.number("porosity") if straight else 0.0,
        packed=packed,
        resistivity=sheet.number("resistivity") if packed else 0.0,
        after=None,
    )
