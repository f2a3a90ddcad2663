"""How far the throttle was open in a stretch of a log, and whether the engine was under load."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.segment_ramps import Leg
    from pullbook.capture.segment_throttle import Evidence
    from pullbook.quantities.arrays import FloatArray

__all__ = ["Opening", "is_loaded", "is_whole_range", "judge_hold", "judge_opening"]

_FULL: Final = 0.68  # a position sensor that nobody has calibrated reads 70 to 100 % with the plate wide open
_SURE: Final = 0.95
_MANIFOLD_FULL: Final = 0.85
_LOAD_FULL: Final = 0.70
_POWER_FULL: Final = 0.80  # of the most power that the file shows, where load alone has to tell full throttle
_REACH_FULL: Final = 0.75  # of the highest engine speed of the file, for the same
_AJAR: Final = 0.05


class Opening(StrEnum):
    """State of the throttle during a stretch."""

    FULL = "full"
    PART = "part throttle"
    CLOSED = "closed throttle"


def judge_opening(evidence: Evidence, leg: Leg) -> tuple[Opening, str, str]:
    """State of the throttle in a leg, how it was told, and the doubt.

    Returns
    -------
    Opening
        Full, part or closed.
    str
        Words for the sentence: "throttle at 31 %".
    str
        Doubt to state with the pull; empty where there is none.
    """
    if evidence.throttle is not None:
        return _by_throttle(evidence.throttle[leg.part], evidence.lowest_throttle)
    if evidence.manifold is not None:
        return _by_manifold(evidence.manifold[leg.part])
    return _by_load(evidence, leg)


def _by_throttle(inside: FloatArray, lowest: float) -> tuple[Opening, str, str]:
    inside = inside[np.isfinite(inside)]
    if inside.size == 0:
        return Opening.PART, "throttle not recorded", ""
    reached = float(np.quantile(inside, 0.75))
    words = f"throttle at {100 * reached:.0f} %"
    if reached < _FULL:
        closed = reached - lowest < _AJAR and reached < 0.4
        return (Opening.CLOSED if closed else Opening.PART), words, ""
    doubts: list[str] = []
    if reached < _SURE:
        doubts.append(
            f"the throttle reads {100 * reached:.0f} % and was taken for fully open: "
            "the sensor may not be calibrated, or the throttle was not quite open"
        )
    jump = _failed_over(inside, reached)
    if jump:
        doubts.append(jump)
    return Opening.FULL, words, "; ".join(doubts)


def _failed_over(inside: FloatArray, reached: float) -> str:
    """Doubt about a sensor that drops at once to one fixed value in the middle of a pull."""
    low = inside[inside < 0.8 * reached]
    if low.size < 0.1 * inside.size:
        return ""
    value = float(np.median(low))
    fixed = float(np.mean(np.abs(low - value) < 1e-3))
    if fixed < 0.8:
        return f"the throttle reads below {80 * reached:.0f} % in {100 * low.size / inside.size:.0f} % of the pull"
    return f"the throttle reading drops to a fixed {100 * value:.0f} % during the pull: the sensor has probably failed"


def _by_manifold(inside: FloatArray) -> tuple[Opening, str, str]:
    reached = float(np.nanmedian(inside))
    words = f"manifold pressure at {100 * reached:.0f} % of the air outside"
    if reached < _MANIFOLD_FULL:
        return (Opening.CLOSED if reached < 0.5 else Opening.PART), words, ""
    return Opening.FULL, words, f"there is no throttle channel: full throttle was taken from {words}"


def judge_hold(evidence: Evidence, hold: Leg) -> tuple[Opening, str, str]:
    """State of the throttle in a hold of one speed, as `judge_opening` has it for a leg.

    Notes
    -----
    Where load alone tells, one speed can reach neither the power nor the speed of the whole file: that is asked of
    the series of holds, not of each.
    """
    if evidence.throttle is not None or evidence.manifold is not None:
        return judge_opening(evidence, hold)
    return _by_share(evidence, hold)


def is_whole_range(evidence: Evidence, holds: Sequence[Leg]) -> bool:
    """Whether a series of holds comes to the power and speed that tell full throttle, where load alone tells it."""
    if evidence.throttle is not None or evidence.manifold is not None:
        return True
    power = max((float(np.nanmedian(evidence.power_share[hold.part])) for hold in holds), default=0.0)
    speed = max((float(np.nanmedian(evidence.speed[hold.part])) for hold in holds), default=0.0)
    return power >= _POWER_FULL and speed >= _REACH_FULL * float(np.nanmax(evidence.speed))


def _by_load(evidence: Evidence, leg: Leg) -> tuple[Opening, str, str]:
    opening, words, doubt = _by_share(evidence, leg)
    if opening is not Opening.FULL:
        return opening, words, ""
    power = _power_at_the_fast_end(evidence, leg)
    if power < _POWER_FULL:
        return Opening.PART, f"power at {100 * power:.0f} % of the most that the file shows", ""
    reach = float(np.nanmax(evidence.speed[leg.part]) / np.nanmax(evidence.speed))
    if reach < _REACH_FULL:
        return Opening.PART, f"speed only up to {100 * reach:.0f} % of the most that the file shows", ""
    return opening, words, doubt


def _by_share(evidence: Evidence, leg: Leg) -> tuple[Opening, str, str]:
    """State of the throttle by the load against the most that the file shows at the same speed."""
    load, envelope = evidence.load[leg.part], evidence.envelope[leg.part]
    good = np.isfinite(load) & np.isfinite(envelope) & (envelope > 0.0)
    if not good.any():
        return Opening.CLOSED, "no load", ""
    share = float(np.median(load[good] / envelope[good]))
    words = f"load at {100 * max(share, 0.0):.0f} % of the most that the file shows at the same speed"
    if share < _LOAD_FULL:
        return (Opening.CLOSED if share < 0.1 else Opening.PART), words, ""
    doubt = "neither throttle nor manifold pressure tells: that the throttle was fully open was taken from the load"
    return Opening.FULL, words, doubt


def _power_at_the_fast_end(evidence: Evidence, leg: Leg) -> float:
    """Share of the most power that the file shows, that the later half of a rise (or earlier of a fall) comes to.

    The ninth decile, not the median: an engine whose torque rises to the end has made four fifths of its power only
    near the end of the pull.
    """
    middle = (leg.first + leg.last) // 2
    half = slice(middle, leg.last + 1) if leg.rising else slice(leg.first, middle + 1)
    return float(np.nanquantile(evidence.power_share[half], 0.9))


def is_loaded(evidence: Evidence, leg: Leg) -> bool | None:
    """Whether the load in a leg is clearly above rest; None where nothing tells."""
    inside = evidence.load[leg.part]
    inside = inside[np.isfinite(inside)]
    if inside.size == 0:
        return None
    typical = float(np.median(inside))
    if np.isnan(evidence.rest):
        return True if typical > 0.0 else None
    return typical > evidence.loaded_above
