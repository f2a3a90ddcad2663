"""Proportions between parts that are out of the usual range, where each number alone may look right.

Ranges are those of the trade's practice for four-stroke spark-ignition engines without a supercharger, from memory,
save where a source is named.

References
----------
.. [1] C. F. Taylor, "The Internal Combustion Engine in Theory and Practice", volume 1, 1966, section 6 (inlet Mach
   index; breathing falls off above about 0.6).
.. [2] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, sections 2.2, 6.3.2 (bore and stroke, mean piston
   speed, valves and their discharge coefficients; from memory).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.engine.figures import mean_piston_speed
from pullbook.engine.handbook import inlet_mach_index
from pullbook.engine.network_ends import Side
from pullbook.engine.parts import Unusual

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.engine.parts import Breathing, EngineSpec
    from pullbook.engine.parts_pipes import Header

__all__ = ["PROPORTIONS", "unusual_proportions"]

_SOUND: Final = 343.0  # m/s, air at 20 degC
_FLOW_COEFFICIENT: Final = 0.35  # mean over the open period, by head area
_AIR: Final = 287.05  # J/kg/K

PROPORTIONS: Final[dict[str, tuple[float, float, str, str]]] = {
    "stroke by bore": (0.6, 1.35, "", "Stroke divided by bore"),
    "rod by stroke": (1.4, 2.2, "", "Length of the rod divided by the stroke"),
    "mean piston speed": (9.0, 26.5, "m/s", "Mean piston speed at engine.highest_speed"),
    "inlet Mach index": (0.25, 0.6, "", "Piston speed against what the inlet valves let through at highest_speed"),
    "intake valves by bore": (0.17, 0.37, "", "Area of the intake valves' heads divided by that of the bore"),
    "exhaust valve by intake valve": (0.7, 0.95, "", "Diameter of exhaust valves divided by that of intake valves"),
    "lobe separation": (100.0, 118.0, "deg", "Angle between the lobes' centres, in camshaft degrees"),
    "overlap": (-20.0, 110.0, "deg", "Both valves open, at the lowest lift of the cam card"),
    "throat by head": (0.8, 0.92, "", "Throat divided by the valve's head"),
    "lift by head": (0.2, 0.42, "", "Valve lift divided by the valve's head"),
    "port by throat": (0.7, 1.4, "", "Area of the port's flange divided by that of all throats"),
    "discharge coefficient": (0.2, 0.85, "", "Flow of the bench divided by what the curtain or the throats could pass"),
    "throttle by displacement": (0.5, 2.2, "mm2/cm3", "Area of the throttles divided by the displacement"),
    "plenum by displacement": (0.4, 3.5, "", "Plenum divided by displacement"),
    "runner by port": (0.85, 1.3, "", "Diameter of the runner divided by that of the port"),
    "primary by port": (0.9, 1.35, "", "Diameter of the primary divided by that of the port"),
    "collector by primary": (1.15, 2.3, "", "Diameter of the collector divided by that of the primary"),
    "secondary by primary": (1.05, 1.5, "", "Diameter of the secondary divided by that of the primary"),
    "shortest by longest primary": (0.8, 1.0, "", "Shortest primary divided by the longest"),
}
"""Low end, high end, unit and meaning of each proportion. [unit of the entry]"""


def unusual_proportions(spec: EngineSpec) -> tuple[Unusual, ...]:
    """Proportions of an engine that are out of the usual range.

    Parameters
    ----------
    spec : EngineSpec
        The engine.

    Returns
    -------
    tuple of Unusual
        Those that are; `PROPORTIONS` has all.
    """
    found: list[Unusual] = []
    values = [*_of_block(spec), *_of_side(spec.intake_side), *_of_side(spec.exhaust_side)]
    if Side.INTAKE not in spec.network.sides:
        values += _of_intake(spec)
    if Side.EXHAUST not in spec.network.sides:
        for number, header in enumerate(spec.headers, start=1):
            values += _of_header(f"header[{number}]", header, spec)
    for place, name, value in values:
        low, high, unit, says = PROPORTIONS[name]
        if not low * (1.0 - 1e-9) - 1e-12 <= value <= high * (1.0 + 1e-9):
            found.append(Unusual(key=f"{place}: {name}" if place else name, value=f"{value:.3g} {unit}".strip(),
                                 usual=f"{low:g} to {high:g} {unit}".strip(), says=says))  # fmt: skip
    return tuple(found)


Value = tuple[str, str, float]  # place, name of the proportion, number in its unit


def _of_block(spec: EngineSpec) -> Iterator[Value]:
    block, intake, exhaust = spec.block, spec.intake_side, spec.exhaust_side
    yield "engine", "stroke by bore", block.stroke / block.bore
    yield "engine", "rod by stroke", block.rod / block.stroke
    piston = mean_piston_speed(block.stroke, block.highest_speed_rpm)
    yield "engine", "mean piston speed", piston
    heads = (intake.valves.count, intake.valves.head)
    index = inlet_mach_index(block.bore, heads[1], piston, _FLOW_COEFFICIENT, _SOUND, valves=heads[0])
    yield "intake_valves", "inlet Mach index", index
    yield "intake_valves", "intake valves by bore", heads[0] * heads[1] ** 2 / block.bore**2
    if heads[0] == exhaust.valves.count:
        yield "exhaust_valves", "exhaust valve by intake valve", exhaust.valves.head / intake.valves.head
    yield "camshaft", "lobe separation", (intake.cam.centreline_deg + exhaust.cam.centreline_deg) / 2.0
    if intake.cam.durations and exhaust.cam.durations:
        lasts = intake.cam.durations[0].lasts_deg + exhaust.cam.durations[0].lasts_deg
        yield "camshaft", "overlap", lasts / 2.0 - intake.cam.centreline_deg - exhaust.cam.centreline_deg


def _of_side(side: Breathing) -> Iterator[Value]:
    valves, port = side.valves, side.port
    yield f"{side.side}_valves", "throat by head", valves.throat / valves.head
    yield f"{side.side}_cam", "lift by head", side.cam.valve_lift / valves.head
    yield f"{side.side}_port", "port by throat", port.flange_diameter**2 / (valves.count * valves.throat**2)
    if port.flow is not None:
        flow = port.flow
        ideal = math.sqrt(2.0 * flow.depression * _AIR * flow.temperature / flow.pressure)
        for key, flows in (("into", flow.into), ("out_of", flow.out_of)):
            for lift, passed in zip(flow.lifts, flows, strict=False):
                area = flow.valves * min(math.pi * valves.head * lift, math.pi / 4.0 * valves.throat**2)
                if lift > 0.0:
                    place = f"{side.side}_port.flow.{key} at {lift * 1e3:.4g} mm"
                    yield place, "discharge coefficient", passed / (area * ideal)


def _of_intake(spec: EngineSpec) -> Iterator[Value]:
    intake, displacement = spec.intake, spec.block.displacement
    area = intake.throttle.count * math.pi / 4.0 * intake.throttle.body.diameter**2
    if intake.layout == "plenum":
        yield "throttle", "throttle by displacement", area / displacement
        yield "plenum", "plenum by displacement", intake.plenum / displacement
    yield "runners", "runner by port", intake.runners.tubes[0].end_diameter / spec.intake_side.port.flange_diameter


def _of_header(place: str, header: Header, spec: EngineSpec) -> Iterator[Value]:
    first = header.primaries[0][0].diameter
    last = header.primaries[0][-1].end_diameter
    yield place, "primary by port", first / spec.exhaust_side.port.flange_diameter
    lengths = [sum(tube.length for tube in primary) for primary in header.primaries]
    yield place, "shortest by longest primary", min(lengths) / max(lengths)
    if header.layout not in {"individual", "log"}:
        yield place, "collector by primary", header.outlet[0].diameter / last
    if header.secondaries is not None:
        yield place, "secondary by primary", header.secondaries.diameter / last
