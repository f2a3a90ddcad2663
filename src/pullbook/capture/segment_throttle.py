"""What a log offers for telling full throttle: throttle, manifold pressure, load and its rest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.channels import Channel

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.capture.segment_ramps import Leg
    from pullbook.quantities.arrays import BoolArray, FloatArray

__all__ = ["Evidence", "gather_evidence", "load_of"]

_CLOSED: Final = 0.15
_LOWEST_AIR: Final = 65e3  # Pa, 3,500 m above the sea
_HIGHEST_AIR: Final = 108e3
_HELD: Final = 0.5  # of the most torque: no engine needs half of it to turn without load
_BINS: Final = 24


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
        Load with the engine unloaded: the tenth percentile outside the stretches; NaN where there is no outside, or
        where it is under load too. [N m or as recorded]
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
    rest = _rest(load, outside & np.isfinite(load), calibrated=Channel.TORQUE in channels)
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


def _rest(load: FloatArray, waiting: BoolArray, *, calibrated: bool) -> float:
    """Load of the unloaded engine; NaN where the log never waits, or waits under load (a hold before the sweep)."""
    if np.count_nonzero(waiting) < 10:
        return float("nan")
    rest = float(np.quantile(load[waiting], 0.1))
    held = calibrated and rest > _HELD * float(np.nanquantile(load, 0.99))
    return float("nan") if held else rest


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


def _loaded_above(load: FloatArray, rest: float) -> float:
    """Load from which an engine is pulling: a fifth of the way from rest to the most, and clear of the noise."""
    known = load[np.isfinite(load)]
    if known.size < 2 or np.isnan(rest):
        return float("nan")
    high = float(np.quantile(known, 0.99))
    noise = 1.05 * float(np.median(np.abs(np.diff(known))))  # 1.4826 over the square root of two
    return rest + max(0.2 * (high - rest), 5.0 * noise)
