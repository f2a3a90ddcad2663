"""Tables that are already curves: points or bins of speed, without time or with seconds between the rows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.segment_found import Kind, Stretch, View
from pullbook.capture.segment_opening import Opening, judge_opening
from pullbook.capture.segment_ramps import Leg, find_legs
from pullbook.capture.segment_throttle import gather_evidence
from pullbook.records.pull import Direction

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["find_in_points", "is_table_of_points"]

_SECONDS_BETWEEN_POINTS: Final = 1.5
_FEWEST: Final = 5
_WHOLE: Final = 0.4  # of the range of speed that a stretch has to cover to be a curve of its own


def is_table_of_points(view: View) -> bool:
    """Whether each row is a point of a curve rather than a sample of a running clock."""
    if view.time is None:
        return True
    return float(np.median(np.diff(view.time))) >= _SECONDS_BETWEEN_POINTS


def find_in_points(view: View) -> tuple[Stretch, ...]:
    """Curves in a table of points: rising, falling, several on top of each other, or in no order."""
    speed = view.speed
    legs = tuple(leg for leg in find_legs(speed) if leg.size > 2)
    whole = tuple(leg for leg in legs if leg.size >= _FEWEST and leg.span >= _WHOLE * float(np.ptp(speed)))
    if len(legs) > max(3, speed.size // 8) or not whole:
        return _in_no_order(view)
    if len(whole) == 1:
        only = whole[0]
        whole = (Leg(first=0, last=speed.size - 1, rising=only.rising, span=only.span),) if len(legs) == 1 else whole
    steps = view.time is not None
    return tuple(_judge(view, leg, whole, steps=steps) for leg in whole)


def _in_no_order(view: View) -> tuple[Stretch, ...]:
    size = view.speed.size
    if size < _FEWEST:
        says = f"only {size} rows have an engine speed"
        return (Stretch(places=np.arange(size), kind=Kind.TOO_SHORT, direction=Direction.STEPS, says=says),)
    leg = Leg(first=0, last=size - 1, rising=True, span=float(np.ptp(view.speed)))
    doubt = "the points are in no order of speed: they were taken for steady points of one curve"
    return (_judge(view, leg, (leg,), steps=True, doubt=doubt),)


def _judge(view: View, leg: Leg, legs: tuple[Leg, ...], *, steps: bool, doubt: str = "") -> Stretch:
    """Pull or part throttle; negative torque at the ends is cut off."""
    evidence = gather_evidence(view.channels, legs)
    opening, words, why = judge_opening(evidence, leg)
    told = evidence.throttle is not None or evidence.manifold is not None
    if not told and len(legs) == 1:
        opening, why = (
            Opening.FULL,
            "nothing in the file tells how far the throttle was open: it was taken for full throttle",
        )
    direction = Direction.STEPS if steps else Direction.UP if leg.rising else Direction.DOWN
    doubts = tuple(text for text in (doubt, why) if text)
    places = _with_load(view.load, leg)
    if opening is not Opening.FULL:
        says = f"{words}: no full-throttle curve"
        return Stretch(places=places, kind=Kind.PART_THROTTLE, direction=direction, says=says, doubts=doubts)
    low, high = float(view.speed[leg.part].min()), float(view.speed[leg.part].max())
    says = f"{places.size} points from {low:.0f} to {high:.0f} rpm"
    return Stretch(places=places, kind=Kind.PULL, direction=direction, says=says, doubts=doubts)


def _with_load(load: FloatArray | None, leg: Leg) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Places of a leg up to the last positive load: lift-off at the end is no point of the curve."""
    places = np.arange(leg.first, leg.last + 1)
    if load is None:
        return places
    pulling = np.flatnonzero(~(load[places] <= 0.0))
    return places[pulling[0] : pulling[-1] + 1] if pulling.size else places
