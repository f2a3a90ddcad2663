"""The tables of an engine file about cylinders, camshafts, valves and ports."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.engine.engine_file_cam import parse_cam
from pullbook.engine.engine_key import said
from pullbook.engine.firing import USUAL_ORDERS, angles_from_throws, check_order, even_angles
from pullbook.engine.network_ends import Side
from pullbook.engine.parts import Breathing
from pullbook.engine.parts_block import Block, FlowTable, Port, Valves
from pullbook.errors import OutOfRangeError

if TYPE_CHECKING:
    from pullbook.engine.parts_block import Cam
    from pullbook.engine.sheet import Sheet

__all__ = ["parse_block", "parse_breathing"]

_EIGHT: Final = 8
# Widest head as a share of the bore by number of valves of that side: alone, or side by side over a chord.
_WIDEST: Final = {1: 0.75, 2: 0.5, 3: 0.42, 4: 0.36}
_HEAD: Final = {Side.INTAKE: {1: 0.46, 2: 0.385, 3: 0.32, 4: 0.28}, Side.EXHAUST: {1: 0.38, 2: 0.33, 3: 0.28, 4: 0.25}}
_FLANGE: Final = {Side.INTAKE: 0.97, Side.EXHAUST: 1.05}  # of the circle of all throats


def parse_block(sheet: Sheet) -> Block:
    """Cylinders and crank of the ``[engine]`` table."""
    order = _order(sheet)
    stroke = sheet.number("stroke")
    rod = sheet.number("rod", default=1.65 * stroke)
    if rod <= 0.55 * stroke:
        raise _outside(sheet, "rod", f"more than {said(0.55 * stroke, 'mm')}", rod)
    return Block(
        name=sheet.text("name"),
        bore=sheet.number("bore"),
        stroke=stroke,
        rod=rod,
        pin_offset=sheet.number("pin_offset"),
        compression_ratio=sheet.number("compression_ratio"),
        firing_order=order,
        firing_angles_deg=_firing_angles(sheet, order),
        banks=_banks(sheet, len(order)),
        piston_area=sheet.number("piston_area"),
        head_area=sheet.number("head_area"),
        highest_speed_rpm=sheet.number("highest_speed"),
    )


def _order(sheet: Sheet) -> tuple[int, ...]:
    declared = sheet.counts("firing_order")
    cylinders = sheet.count("cylinders", default=len(declared) or 4)
    if declared:
        check_order(declared, cylinders, sheet.at("firing_order"))
        return declared
    usual = USUAL_ORDERS.get(cylinders)
    if usual is None:
        raise sheet.refusal("firing_order", f"an engine of {cylinders} cylinders has no usual firing order",
                            remedy="declare firing_order, each cylinder once")  # fmt: skip
    sheet.assume("firing_order", str(list(usual)))
    return usual


def _firing_angles(sheet: Sheet, order: tuple[int, ...]) -> tuple[float, ...]:
    if "firing_angles" in sheet:
        if "crank_throws" in sheet:
            raise sheet.refusal("firing_angles", "firing_angles and crank_throws say the same thing twice",
                                remedy="leave one of them out")  # fmt: skip
        return _declared_angles(sheet, order)
    if "crank_throws" in sheet:
        throws = _per_cylinder(sheet, "crank_throws", len(order))
        declared = "cylinder_angles" in sheet
        axes = _per_cylinder(sheet, "cylinder_angles", len(order)) if declared else (0.0,) * len(order)
        return angles_from_throws(order, throws, axes, sheet.at("crank_throws"))
    even = even_angles(order)
    sheet.assume("firing_angles", " ".join(f"{even[number - 1]:g}" for number in order) + " deg")
    return even


def _declared_angles(sheet: Sheet, order: tuple[int, ...]) -> tuple[float, ...]:
    angles = sheet.rising_row("firing_angles")
    if len(angles) != len(order):
        raise sheet.refusal("firing_angles", f"{len(order)} angles are needed, one for each of the firing order, not "
                            f"{len(angles)}", remedy="write them in the order of firing, the first 0")  # fmt: skip
    if angles[0] != 0.0:
        raise sheet.refusal("firing_angles", "the first angle is not 0", remedy="count from the first that fires")
    return tuple(angles[order.index(number)] for number in range(1, len(order) + 1))


def _per_cylinder(sheet: Sheet, key: str, cylinders: int) -> tuple[float, ...]:
    values = sheet.row(key)
    if len(values) != cylinders:
        raise sheet.refusal(key, f"{cylinders} numbers are needed, one for each cylinder, not {len(values)}",
                            remedy="write them by cylinder number")  # fmt: skip
    return values


def _banks(sheet: Sheet, cylinders: int) -> tuple[str, ...]:
    banks = sheet.texts("banks")
    if not banks:
        usual = ("left", "right") * (_EIGHT // 2) if cylinders == _EIGHT else ("all",) * cylinders
        sheet.assume("banks", ", ".join(usual) if cylinders == _EIGHT else "one bank")
        return usual
    if len(banks) != cylinders:
        raise sheet.refusal("banks", f"{cylinders} banks are needed, one for each cylinder, not {len(banks)}",
                            remedy="write them by cylinder number")  # fmt: skip
    return banks


def parse_breathing(top: Sheet, side: Side, block: Block) -> Breathing:
    """Camshaft, valves and port of one side."""
    valves = _valves(top.child(f"{side}_valves"), side, block)
    cam = parse_cam(top.child(f"{side}_cam"), top.child("camshaft"), side, valves)
    port = _port(top.child(f"{side}_port"), valves, cam, _FLANGE[side])
    return Breathing(side=side, cam=cam, valves=valves, port=port)


def _valves(sheet: Sheet, side: Side, block: Block) -> Valves:
    count = sheet.count("count")
    widest = _WIDEST[count] * block.bore
    head = sheet.number("head", default=_HEAD[side][count] * block.bore)
    if head > widest:
        of = f" of {count} valves side by side in a bore of {said(block.bore, 'mm')}" if count > 1 else ""
        raise _outside(sheet, "head", f"up to {said(widest, 'mm')}{of}" if of else
                       f"up to {said(widest, 'mm')} in a bore of {said(block.bore, 'mm')}", head)  # fmt: skip
    throat = sheet.number("throat", default=0.88 * head)
    if throat >= head:
        raise _outside(sheet, "throat", f"less than the head of {said(head, 'mm')}", throat)
    stem = sheet.number("stem", default=0.18 * head)
    if stem > 0.6 * throat:
        raise _outside(sheet, "stem", f"up to {said(0.6 * throat, 'mm')}", stem)
    return Valves(count=count, head=head, throat=throat, stem=stem, seat_angle_deg=sheet.number("seat_angle"))


def _port(sheet: Sheet, valves: Valves, cam: Cam, flange: float) -> Port:
    circle = math.sqrt(valves.count) * valves.throat
    flow = None
    if "flow" in sheet:
        flow = _flow(sheet.child("flow"), valves, cam)
    else:
        sheet.assume("flow", "usual discharge coefficients")
    return Port(
        length=sheet.number("length"),
        flange_diameter=sheet.number("diameter", default=flange * circle),
        valve_diameter=sheet.number("valve_diameter", default=circle),
        bend_loss=sheet.number("bend_loss"),
        flow=flow,
    )


def _flow(sheet: Sheet, valves: Valves, cam: Cam) -> FlowTable:
    lifts = sheet.rising_row("lift")
    if not lifts:
        raise sheet.refusal("lift", "this key is missing", remedy='write for example lift = "0 2 4 6 8 10 mm"')
    into, out_of = sheet.row("into"), sheet.row("out_of")
    for key, flows in (("into", into), ("out_of", out_of)):
        if flows and len(flows) != len(lifts):
            raise sheet.refusal(key, f"{len(lifts)} flows are needed, one for each lift, not {len(flows)}",
                                remedy="write one for each lift")  # fmt: skip
    if not into and not out_of:
        raise sheet.refusal("into", "the table has no flows", remedy="write into, out_of or both")
    if lifts[-1] < 0.5 * cam.valve_lift:
        raise _outside(sheet, "lift", f"a table up to half of the valve's lift, {said(cam.valve_lift, 'mm')}, or more",
                       lifts[-1])  # fmt: skip
    tested = sheet.count("valves", default=valves.count)
    if tested > valves.count:
        raise sheet.refusal("valves", f"the side has only {valves.count}", remedy=f"write 1 to {valves.count}")
    return FlowTable(
        depression=sheet.number("depression"),
        lifts=lifts,
        into=into,
        out_of=out_of,
        valves=tested,
        temperature=sheet.number("temperature"),
        pressure=sheet.number("pressure"),
    )


def _outside(sheet: Sheet, key: str, possible: str, value: float) -> OutOfRangeError:
    """Error about a length that another part does not allow."""
    return OutOfRangeError(f"only {possible} is possible", where=sheet.at(key), value=said(value, "mm"),
                           remedy="check the number and its unit")  # fmt: skip
