"""The ``[camshaft]``, ``[intake_cam]`` and ``[exhaust_cam]`` tables of an engine file."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from pullbook.engine.engine_key import said
from pullbook.engine.network_ends import Side
from pullbook.engine.parts_block import Cam, Duration, LiftTable
from pullbook.errors import OutOfRangeError

if TYPE_CHECKING:
    from pullbook.engine.parts_block import Valves
    from pullbook.engine.sheet import Sheet

__all__ = ["parse_cam"]

_MOST_DURATIONS: Final = 4
_FEWEST_POINTS: Final = 5
_SHORTEST_DEG: Final = 20.0
_LONGEST_DEG: Final = 460.0
_USUAL: Final = ((0.018, 268.0), (0.15, 224.0), (0.6, 137.5))  # share of the lobe's lift, crank degrees


def parse_cam(sheet: Sheet, shaft: Sheet, side: Side, valves: Valves) -> Cam:
    """Lobe of one side, and when it opens the valve."""
    ratio, lash = sheet.number("rocker_ratio"), sheet.number("lash")
    measured = _measured(sheet)
    lobe = _lobe_lift(sheet, measured, valves, ratio, lash)
    most = 0.6 * valves.head
    lift = max(measured.lifts) if measured and measured.at == "valve" else lobe * ratio - lash
    if not 0.0 < lift <= most:
        raise OutOfRangeError(f"only 0 to {said(most, 'mm')} is possible with this valve", where=sheet.at("valve_lift"),
                              value=said(lift, "mm"), remedy="check lift, rocker ratio and lash")  # fmt: skip
    if lash >= 0.5 * lobe * ratio:
        raise OutOfRangeError(f"only less than {said(0.5 * lobe * ratio, 'mm')}, half of the lift, is possible",
                              where=sheet.at("lash"), value=said(lash, "mm"), remedy="check lash and lift")  # fmt: skip
    events = _events(sheet, side)
    durations = () if measured else _durations(sheet, lobe, events)
    return Cam(
        side=side,
        durations=durations,
        durations_at="lobe" if measured else sheet.word("durations_at", default="valve" if events else None),
        lobe_lift=lobe,
        rocker_ratio=ratio,
        lash=lash,
        centreline_deg=_centreline(sheet, shaft, side, events),
        measured=measured,
    )


def _lobe_lift(sheet: Sheet, measured: LiftTable | None, valves: Valves, ratio: float, lash: float) -> float:
    if measured is not None:
        most = max(measured.lifts)
        return most if measured.at == "lobe" else (most + lash) / ratio
    lobe = sheet.number_or_none("lobe_lift")
    if lobe is None:
        return (sheet.number("valve_lift", default=0.3 * valves.head) + lash) / ratio
    if "valve_lift" in sheet:
        raise sheet.refusal("valve_lift", "valve_lift and lobe_lift say the same thing twice",
                            remedy="leave one of them out")  # fmt: skip
    return lobe


def _measured(sheet: Sheet) -> LiftTable | None:
    if "angles" not in sheet and "lifts" not in sheet:
        return None
    for key in ("durations", "opens", "closes", "lobe_lift", "valve_lift"):
        if key in sheet:
            raise sheet.refusal(key, f"a measured lift curve has no {key}", remedy="leave one of the two out")
    angles, lifts = sheet.row("angles"), sheet.row("lifts")
    if len(angles) != len(lifts) or len(angles) < _FEWEST_POINTS:
        raise sheet.refusal("lifts", f"{_FEWEST_POINTS} pairs of angle and lift or more are needed, not {len(angles)} "
                            f"angles and {len(lifts)} lifts", remedy="write as many lifts as angles")  # fmt: skip
    if any(after <= before for before, after in pairwise(angles)):
        what = "the cam opens after it closes: the angles do not rise"
        raise sheet.refusal("angles", what, remedy="sort them, opening first")
    if max(lifts) <= 0.0 or max(lifts[0], lifts[-1]) > 0.05 * max(lifts):
        raise sheet.refusal("lifts", "the lift is not zero at both ends and positive between",
                            remedy="measure from the base circle to the base circle")  # fmt: skip
    return LiftTable(angles_deg=angles, lifts=lifts, at=sheet.word("lifts_at"))


def _events(sheet: Sheet, side: Side) -> tuple[float, float, float] | None:
    """Duration, centreline and lift of opening and closing, where these are declared."""
    opens, closes = sheet.number_or_none("opens"), sheet.number_or_none("closes")
    if opens is None and closes is None:
        return None
    if opens is None or closes is None:
        key = "opens" if opens is None else "closes"
        raise sheet.refusal(key, "opens and closes belong together", remedy="declare both, or neither")
    for key in ("centreline", "durations"):
        if key in sheet:
            raise sheet.refusal(key, f"opens and closes say {key} already", remedy="leave one of the two out")
    duration = 180.0 + opens + closes
    if not _SHORTEST_DEG <= duration <= _LONGEST_DEG:
        what = "the cam opens after it closes" if duration <= 0.0 else f"the valve is open for {duration:g} deg"
        raise OutOfRangeError(
            f"{what}; only {_SHORTEST_DEG:g} to {_LONGEST_DEG:g} deg from opening to closing is possible",
            where=sheet.at("closes"), value=f"{closes:g} deg", remedy="check opens and closes and their signs",
        )  # fmt: skip
    # Handbook arithmetic of the cam card: the lobe's centre is half-way between the events.
    centre = duration / 2.0 - (opens if side is Side.INTAKE else closes)
    return duration, centre, sheet.number("events_at")


def _durations(sheet: Sheet, lobe: float, events: tuple[float, float, float] | None) -> tuple[Duration, ...]:
    if events is not None:
        return (Duration(lift=events[2], lasts_deg=events[0]),)
    found = tuple(Duration(lift=one.number("at"), lasts_deg=one.number("lasts")) for one in sheet.children("durations"))
    if not found:
        usual = [Duration(lift=share * lobe, lasts_deg=lasts) for share, lasts in _USUAL]
        sheet.assume("durations", ", ".join(f"{one.lasts_deg:g} deg at {said(one.lift, 'mm')}" for one in usual))
        return tuple(usual)
    if len(found) > _MOST_DURATIONS:
        raise sheet.refusal("durations", f"{len(found)} durations are more than {_MOST_DURATIONS}",
                            remedy="keep four of them, or declare a measured lift curve")  # fmt: skip
    ordered = tuple(sorted(found, key=lambda one: one.lift))
    for below, above in pairwise(ordered):
        if above.lift <= below.lift or above.lasts_deg >= below.lasts_deg:
            what = (f"the cam would open after it closes: at {said(above.lift, 'mm')} it is open for no less than at "
                    f"{said(below.lift, 'mm')}")  # fmt: skip
            value = f"{above.lasts_deg:g} deg, {below.lasts_deg:g} deg"
            raise OutOfRangeError(what, where=sheet.at("durations"), value=value,
                                  remedy=f"declare less than {below.lasts_deg:g} deg at the higher lift")  # fmt: skip
    return ordered


def _centreline(sheet: Sheet, shaft: Sheet, side: Side, events: tuple[float, float, float] | None) -> float:
    """Centre of the lobe with the advance in it: earlier for both, so less after and more before top dead centre."""
    advance = sheet.number("advance")
    if events is not None:
        centre = events[1]
    elif "centreline" in sheet:
        centre = sheet.number("centreline")
    else:
        separation = shaft.number("lobe_separation")
        intake = shaft.number("intake_centreline", default=separation)
        centre = intake if side is Side.INTAKE else 2.0 * separation - intake
    return centre - advance if side is Side.INTAKE else centre + advance
