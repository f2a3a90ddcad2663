"""Pulls in a log with a running clock: ramps at full throttle, and what the other stretches are."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.segment_found import Kind, Stretch, View
from pullbook.capture.segment_gears import steady_ratio
from pullbook.capture.segment_opening import Opening, is_loaded, is_whole_range, judge_hold, judge_opening
from pullbook.capture.segment_ramps import Leg, find_legs, runs, smoothed, trim_slow_ends
from pullbook.capture.segment_steps import find_holds
from pullbook.capture.segment_throttle import Evidence, gather_evidence
from pullbook.quantities.channels import Channel
from pullbook.records.pull import Direction

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["find_in_time"]

_SMALLEST_SPAN: Final = 0.12  # of the highest speed of the log
_NARROWEST: Final = 0.15  # of the highest speed of the pull
_FEWEST: Final = 6
_FAST: Final = 2500.0  # rpm/s: faster than this, a loaded engine is the exception and has to be shown by its load
_TOO_FAST: Final = 6000.0  # rpm/s: no load worth the name
_FEWEST_HOLDS: Final = 4


def find_in_time(view: View) -> tuple[Stretch, ...]:
    """Stretches of a log with a clock, in its order."""
    if view.time is None:
        return ()
    holds = find_holds(view.speed, view.time)
    base = _base(view)
    half = _half_width(view.time)
    steady = smoothed(base, half)
    legs = tuple(leg for leg in find_legs(steady) if leg.span >= _SMALLEST_SPAN * float(steady.max()))
    evidence = gather_evidence(view.channels, legs)
    steps = _step_test(view, holds, evidence)
    if steps is not None:
        return (steps, *_quiet(view, holds, steps.places))
    found: list[Stretch] = []
    for leg in legs:
        found.extend(_judge(view, trim_slow_ends(leg, steady, view.time), evidence))
    busy = np.concatenate([np.arange(leg.first, leg.last + 1) for leg in legs]) if legs else np.empty(0, np.int64)
    return tuple(sorted((*found, *_quiet(view, holds, busy)), key=lambda stretch: int(stretch.places[0])))


def _on_rollers(view: View) -> bool:
    return Channel.TRACTIVE_FORCE in view.channels and Channel.VEHICLE_SPEED in view.channels


def _base(view: View) -> FloatArray:
    """Speed whose ramps are looked for: of the road on rollers, where gears may be changed, else of the engine."""
    return np.nan_to_num(view.channels[Channel.VEHICLE_SPEED]) if _on_rollers(view) else view.speed


def _half_width(time: FloatArray) -> int:
    """Half width of the smoothing, about a tenth of a second, and at most a fiftieth of the log."""
    step = float(np.median(np.diff(time)))
    return max(0, min(round(0.1 / step), time.size // 50)) if step > 0.0 else 0


def _judge(view: View, leg: Leg, evidence: Evidence) -> list[Stretch]:
    """What a ramp is; several stretches where gears are changed in it."""
    opening, words, doubt = judge_opening(evidence, leg)
    loaded = is_loaded(evidence, leg)
    stretch = _stretch(view, leg, words, (doubt,) if doubt else ())
    free = "" if opening is Opening.CLOSED or _on_rollers(view) else _free_rev(_rate(view, leg), loaded=loaded)
    if free and leg.rising:
        return [_as(stretch, Kind.FREE_REV, f"{free} ({words}): a free-rev, no pull")]
    if opening is not Opening.FULL or loaded is False:
        return [_not_full(stretch, opening, words, loaded=loaded)]
    return _full(view, leg, evidence, stretch)


def _free_rev(rate: float, *, loaded: bool | None) -> str:
    """Why a ramp is a free-rev; empty where it is none."""
    if loaded is False and rate > _FAST:
        return f"speed rises at {rate:,.0f} rpm/s without load"
    return f"{rate:,.0f} rpm/s is faster than an engine rises under load" if rate > _TOO_FAST else ""


def _as(stretch: Stretch, kind: Kind, says: str) -> Stretch:
    return replace(stretch, kind=kind, says=says)


def _stretch(view: View, leg: Leg, words: str, doubts: tuple[str, ...]) -> Stretch:
    direction = Direction.UP if leg.rising else Direction.DOWN
    low, high = float(view.speed[leg.part].min()), float(view.speed[leg.part].max())
    says = f"{low:.0f} to {high:.0f} rpm, {words}"
    places = np.arange(leg.first, leg.last + 1)
    return Stretch(places=places, kind=Kind.PULL, direction=direction, says=says, doubts=doubts)


def _not_full(stretch: Stretch, opening: Opening, words: str, *, loaded: bool | None) -> Stretch:
    """Part throttle where the throttle is open or there is load; else the engine only runs up or down."""
    falling = stretch.direction is Direction.DOWN
    if falling and not loaded:
        return _as(stretch, Kind.COASTING, "speed falls without load: the engine runs down")
    if opening is Opening.CLOSED:
        return _as(stretch, Kind.COASTING if falling else Kind.IDLE, f"{words}: the engine is not pulling")
    if opening is Opening.FULL:
        return _as(stretch, Kind.IDLE, f"{words}, but no load: the engine is not pulling")
    return _as(stretch, Kind.PART_THROTTLE, f"{words}: not a full-throttle pull")


def _rate(view: View, leg: Leg) -> float:
    """Mean rate of engine speed over a leg [rpm/s]."""
    if view.time is None:
        return 0.0
    duration = float(view.time[leg.last] - view.time[leg.first])
    change = abs(float(view.speed[leg.last] - view.speed[leg.first]))
    return change / duration if duration > 0.0 else float("inf")


def _full(view: View, leg: Leg, evidence: Evidence, stretch: Stretch) -> list[Stretch]:
    """A full-throttle ramp, cut to the loaded part, with its gear changes taken out."""
    leg = _cut_to_load(_cut_to_throttle(leg, evidence), evidence)
    too_small = leg.span < 0.8 * _SMALLEST_SPAN * float(_base(view).max())
    if leg.size < _FEWEST or too_small:
        says = f"only {leg.size} records at full throttle under load"
        return [_as(stretch, Kind.TOO_SHORT, says)]
    low, high = float(view.speed[leg.part].min()), float(view.speed[leg.part].max())
    if high - low < _NARROWEST * high:
        return [_as(stretch, Kind.TOO_SHORT, f"only {low:.0f} to {high:.0f} rpm: too narrow for a sweep")]
    doubts = stretch.doubts
    rate = _rate(view, leg)
    if rate > _FAST and not _on_rollers(view):
        doubts = (*doubts, f"the sweep is very fast ({rate:,.0f} rpm/s): inertia takes a large part of the torque")
    pull = replace(_stretch(view, leg, "full throttle", doubts), kind=Kind.PULL)
    return _without_gear_changes(view, leg, pull) if _on_rollers(view) else [pull]


def _cut_to_throttle(leg: Leg, evidence: Evidence) -> Leg:
    """Leg from where the throttle has reached nine tenths of what it reaches, if it opens within the first half."""
    if evidence.throttle is None:
        return leg
    inside = evidence.throttle[leg.part]
    reached = float(np.nanquantile(inside, 0.75))
    open_ = np.flatnonzero(inside >= 0.9 * reached)
    first = int(open_[0]) if open_.size and open_[0] < leg.size // 2 else 0
    return replace(leg, first=leg.first + first)


def _cut_to_load(leg: Leg, evidence: Evidence) -> Leg:
    """Leg without the rise of the load at the start and the lift-off at the end."""
    inside = evidence.load[leg.part]
    known = inside[np.isfinite(inside)]
    if known.size == 0:
        return leg
    floor = 0.0 if np.isnan(evidence.rest) else min(evidence.rest, 0.0)
    enough = floor + 0.5 * (float(np.median(known)) - floor)
    pulling = np.flatnonzero(inside >= enough)
    if pulling.size == 0:
        return leg
    return replace(leg, first=leg.first + int(pulling[0]), last=leg.first + int(pulling[-1]))


def _without_gear_changes(view: View, leg: Leg, pull: Stretch) -> list[Stretch]:
    if view.time is None:
        return [pull]
    part = leg.part
    steady = steady_ratio(view.speed[part], view.channels[Channel.VEHICLE_SPEED][part], view.time[part])
    if steady.all() or steady.sum() < _FEWEST:
        return [pull]
    gears = runs(steady)
    doubt = (
        f"the run goes through {len(gears)} stretches of steady drive ratio; rows between them (gear changes, slip of "
        "clutch or converter) were left out"
        if len(gears) > 1
        else "rows in which the clutch or converter slips were left out"
    )
    kept = replace(pull, places=pull.places[steady], doubts=(*pull.doubts, doubt))
    says = "the drive ratio is changing: a gear change, or slip of clutch or converter"
    changes = [
        replace(pull, places=pull.places[first : last + 1], kind=Kind.GEAR_CHANGE, says=says, doubts=())
        for first, last in runs(~steady)
    ]
    return [kept, *changes]


def _step_test(view: View, holds: tuple[Leg, ...], evidence: Evidence) -> Stretch | None:
    """Steady points at full throttle, where a log holds at least four different speeds so."""
    full = [hold for hold in holds if judge_hold(evidence, hold)[0] is Opening.FULL and is_loaded(evidence, hold)]
    means = [float(view.speed[hold.part].mean()) for hold in full]
    distinct = len({round(mean / (0.02 * float(view.speed.max()))) for mean in means})
    if distinct < _FEWEST_HOLDS or not is_whole_range(evidence, full):
        return None
    doubt = judge_hold(evidence, full[0])[2]
    return Stretch(
        places=np.arange(full[0].first, full[-1].last + 1),
        kind=Kind.PULL,
        direction=Direction.STEPS,
        says=f"{len(full)} steady points from {min(means):.0f} to {max(means):.0f} rpm",
        doubts=(doubt,) if doubt else (),
        holds=tuple((hold.first, hold.last) for hold in full),
    )


def _quiet(view: View, holds: tuple[Leg, ...], busy: IntArray) -> list[Stretch]:
    """Holds outside the ramps: idling, or a plateau."""
    taken = np.zeros(view.speed.size, dtype=bool)
    taken[np.asarray(busy, dtype=np.int64)] = True
    running = view.speed[view.speed > 0.0]
    slowest = float(np.quantile(running, 0.05)) if running.size else 0.0
    found: list[Stretch] = []
    for hold in holds:
        if taken[hold.part].mean() > 0.5:
            continue
        mean = float(view.speed[hold.part].mean())
        kind, says = Kind.PLATEAU, f"speed stays near {mean:.0f} rpm"
        if mean <= 1.3 * slowest or mean < 1200.0:
            kind, says = Kind.IDLE, "the engine stands still" if mean < 50.0 else f"the engine idles at {mean:.0f} rpm"
        places = np.arange(hold.first, hold.last + 1)
        found.append(Stretch(places=places, kind=kind, direction=Direction.STEPS, says=says))
    return found
