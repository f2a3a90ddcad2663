"""How far the throttle was open in a stretch of a log: from throttle, manifold pressure, or load."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.channels import Channel

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.capture.segment_ramps import Leg
    from pullbook.quantities.arrays import BoolArray, FloatArray

__all__ = ["Evidence", "Opening", "gather_evidence", "is_loaded", "judge_opening", "load_of"]

_FULL: Final = 0.68  # a position sensor that nobody has calibrated reads 70 to 100 % with the plate wide open
_SURE: Final = 0.95
_CLOSED: Final = 0.15
_MANIFOLD_FULL: Final = 0.85
_LOAD_FULL: Final = 0.70
_POWER_FULL: Final = 0.80  # of the most power that the file shows, where load alone has to tell full throttle
_REACH_FULL: Final = 0.75  # of the highest engine speed of the file, for the same
_LOWEST_AIR: Final = 65e3  # Pa, 3,500 m above the sea
_HIGHEST_AIR: Final = 108e3
_AJAR: Final = 0.05
_BINS: Final = 24


class Opening(StrEnum):
    """State of the throttle during a stretch."""

    FULL = "full"
    PART = "part throttle"
    CLOSED = "closed throttle"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What the whole log offers for telling full throttle.

    Attributes
    ----------
    speed : (n,) array of float
        Engine speed. [rpm]
    load : (n,) array of float
        Torque or load signal; NaN where there is none. [N m or as recorded]
    rest : float
        Load with the engine unloaded: the tenth percentile outside the stretches; NaN where there is no outside.
        [N m or as recorded]
    envelope : (n,) array of float
        Load that the log reaches at the speed of each record. [N m or as recorded]
    throttle : (n,) array of float or None
        Throttle opening, None where there is no usable channel. [1]
    manifold : (n,) array of float or None
        Manifold pressure over the pressure of the air around. [1]
    loaded_above : float
        Load from which an engine is pulling; NaN where `rest` is. [N m or as recorded]
    lowest_throttle : float
        Least that the throttle channel reads; NaN where there is none. [1]
    power_share : (n,) array of float
        Load times speed over the most of it that the log shows (99.5th percentile). [1]
    """

    speed: FloatArray
    load: FloatArray
    rest: float
    envelope: FloatArray
    throttle: FloatArray | None
    manifold: FloatArray | None
    loaded_above: float
    lowest_throttle: float
    power_share: FloatArray


def load_of(channels: Mapping[Channel, FloatArray]) -> FloatArray | None:
    """Torque, else the load signal, else None."""
    return channels.get(Channel.TORQUE, channels.get(Channel.LOAD_SIGNAL))


def gather_evidence(channels: Mapping[Channel, FloatArray], legs: tuple[Leg, ...]) -> Evidence:
    """Evidence of a whole log; `channels` may hold NaN, and speed has to be there."""
    speed = channels[Channel.SPEED]
    found = load_of(channels)
    load = np.full(speed.size, np.nan) if found is None else found
    outside = np.ones(speed.size, dtype=bool)
    for leg in legs:
        outside[leg.part] = False
    waiting = load[outside & np.isfinite(load)]
    rest = float(np.quantile(waiting, 0.1)) if waiting.size >= 10 else float("nan")
    throttle = _usable_throttle(channels.get(Channel.THROTTLE))
    return Evidence(
        speed=speed,
        load=load,
        rest=rest,
        envelope=_envelope(speed, load),
        throttle=throttle,
        manifold=_manifold(channels),
        loaded_above=_loaded_above(load, rest),
        lowest_throttle=float("nan") if throttle is None else float(np.nanmin(throttle)),
        power_share=_power_share(speed, load),
    )


def _power_share(speed: FloatArray, load: FloatArray) -> FloatArray:
    power = speed * load
    known = power[np.isfinite(power)]
    most = float(np.quantile(known, 0.995)) if known.size else float("nan")
    share: FloatArray = power / most if most > 0.0 else np.full(power.size, np.nan)
    return share


def _usable_throttle(throttle: FloatArray | None) -> FloatArray | None:
    """Throttle channel, unless it is blank or stuck at a value below full."""
    if throttle is None or not np.isfinite(throttle).any():
        return None
    stuck = float(np.nanmax(throttle) - np.nanmin(throttle)) < 0.01 and float(np.nanmax(throttle)) < _CLOSED
    return None if stuck else throttle


def _manifold(channels: Mapping[Channel, FloatArray]) -> FloatArray | None:
    """Manifold pressure over ambient; None where it cannot tell the throttle.

    Ambient is measured, or the most that the log reads. A supercharged engine passes ambient at part throttle too,
    and a gauge that reads zero at rest has no ambient in it: neither can be used.
    """
    pressure = channels.get(Channel.MANIFOLD_PRESSURE)
    if pressure is None or not np.isfinite(pressure).any():
        return None
    air = channels.get(Channel.AIR_PRESSURE)
    most = float(np.nanquantile(pressure, 0.995))
    ambient = most if air is None or not np.isfinite(air).any() else float(np.nanmedian(air))
    if not _LOWEST_AIR <= ambient <= _HIGHEST_AIR or most > 1.2 * ambient:
        return None
    ratio: FloatArray = pressure / ambient
    return ratio


def _envelope(speed: FloatArray, load: FloatArray) -> FloatArray:
    """Highest ordinary load (95th percentile) at the speed of each record, in bins of speed."""
    good: BoolArray = np.isfinite(speed) & np.isfinite(load)
    result = np.full(speed.size, np.nan)
    if not good.any():
        return result
    low, high = float(speed[good].min()), float(speed[good].max())
    width = (high - low) / _BINS or 1.0
    which = np.minimum(((speed[good] - low) / width).astype(np.int64), _BINS - 1)
    order = np.argsort(which, kind="stable")
    counts = np.bincount(which, minlength=_BINS)
    tops = np.array([np.quantile(part, 0.95) if part.size else np.nan
                     for part in np.split(load[good][order], np.cumsum(counts)[:-1])])  # fmt: skip
    result[good] = tops[which]
    return result


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


def _by_load(evidence: Evidence, leg: Leg) -> tuple[Opening, str, str]:
    load, envelope = evidence.load[leg.part], evidence.envelope[leg.part]
    good = np.isfinite(load) & np.isfinite(envelope) & (envelope > 0.0)
    if not good.any():
        return Opening.CLOSED, "no load", ""
    share = float(np.median(load[good] / envelope[good]))
    words = f"load at {100 * max(share, 0.0):.0f} % of the most that the file shows at the same speed"
    power = _power_at_the_fast_end(evidence, leg)
    if share < _LOAD_FULL:
        return (Opening.CLOSED if share < 0.1 else Opening.PART), words, ""
    if power < _POWER_FULL:
        return Opening.PART, f"power at {100 * power:.0f} % of the most that the file shows", ""
    reach = float(np.nanmax(evidence.speed[leg.part]) / np.nanmax(evidence.speed))
    if reach < _REACH_FULL:
        return Opening.PART, f"speed only up to {100 * reach:.0f} % of the most that the file shows", ""
    doubt = "neither throttle nor manifold pressure tells: that the throttle was fully open was taken from the load"
    return Opening.FULL, words, doubt


def _power_at_the_fast_end(evidence: Evidence, leg: Leg) -> float:
    """Share of the most power that the file shows, over the later half of a rise or the earlier half of a fall."""
    middle = (leg.first + leg.last) // 2
    half = slice(middle, leg.last + 1) if leg.rising else slice(leg.first, middle + 1)
    return float(np.nanmedian(evidence.power_share[half]))


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


def _loaded_above(load: FloatArray, rest: float) -> float:
    """Load from which an engine is pulling: a fifth of the way from rest to the most, and clear of the noise."""
    known = load[np.isfinite(load)]
    if known.size < 2 or np.isnan(rest):
        return float("nan")
    high = float(np.quantile(known, 0.99))
    noise = 1.05 * float(np.median(np.abs(np.diff(known))))  # 1.4826 over the square root of two
    return rest + max(0.2 * (high - rest), 5.0 * noise)
