"""From the effects that sessions kept to what they say together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import isfinite, nan, sqrt
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.app.session_evidence import modes_of
from pullbook.curves.pooling import leave_one_out, pool_effects
from pullbook.curves.pooling_curve import on_relative_speed, pool_curves, relative_axis
from pullbook.curves.pooling_mean import random_effects
from pullbook.curves.pooling_moderator import moderated
from pullbook.curves.windows import window_weights
from pullbook.quantities.arrays import frozen_floats
from pullbook.records.curve import Interval
from pullbook.records.pool import PoolCurve, PoolLine, PoolWindow

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.pool import PoolRow

__all__ = ["KeptEffect", "kept_effect", "pooled_curves", "pooled_lines", "pooled_windows", "usual_windows"]

_STEP_RPM: Final = 100.0
_SPACING_RPM: Final = 50.0
_PROPERTIES: Final = (
    ("displacement", "L", 1e-3, 0.5), ("peak_power", "kW", 1000.0, 50.0),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KeptEffect:
    """Effect of one session, the way round that was asked for, on the speeds that were measured.

    Attributes
    ----------
    speed_rpm : (g,) array of float
        Rising speeds. [rpm]
    gain, base : (g,) array of float
        Torque gain and what it is a gain on; NaN in a gap. [N m, or %]
    sd : (g,) array of float
        Standard deviation of the gain at each speed. [as `gain`]
    modes : (r, g) array of float
        The covariance of the gain is their transpose times them. [as `gain`]
    band_factor : float
        Half-width of the band over the standard deviation. [1]
    peak_rpm : float
        Speed of the torque peak of the baseline; NaN where it was not reached. [rpm]
    relative : bool
        The signal is not torque.
    """

    speed_rpm: FloatArray
    gain: FloatArray
    base: FloatArray
    sd: FloatArray
    modes: FloatArray
    band_factor: float
    peak_rpm: float
    relative: bool

    def __post_init__(self) -> None:
        for name in ("speed_rpm", "gain", "base", "sd", "modes"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))

    def over(self, low_rpm: float, high_rpm: float, unit: str) -> tuple[float, float] | None:
        """Mean gain over a window and its standard deviation; None where it was not measured throughout. [unit]."""
        within = (self.speed_rpm >= low_rpm) & (self.speed_rpm <= high_rpm)
        weights = _weights(self.speed_rpm.tobytes(), low_rpm, high_rpm)
        if not np.isfinite(weights).all() or not np.isfinite(self.gain[within | (weights > 0.0)]).all():
            return None
        there = weights > 0.0
        weight = weights[there]
        base = float(weight @ self.base[there]) / 100.0 if unit == "%" else 1.0
        sd = sqrt(float(((self.modes[:, there] @ weight) ** 2).sum()))
        return float(weight @ self.gain[there]) / base, sd / abs(base)

    def percent(self) -> tuple[FloatArray, FloatArray]:
        """Gain and its standard deviation at each speed. [%]."""
        return 100.0 * self.gain / self.base, 100.0 * self.sd / np.abs(self.base)


@lru_cache(maxsize=256)
def _weights(speed_rpm: bytes, low_rpm: float, high_rpm: float) -> FloatArray:
    """Weights of a window, worked out once for all sessions with the same speeds."""
    return frozen_floats(window_weights(np.frombuffer(speed_rpm, dtype=np.float64), low_rpm, high_rpm))


def kept_effect(evidence: Mapping[str, Any], place: int, way: int) -> KeptEffect:
    """Effect of a session from what the archive keeps.

    Parameters
    ----------
    evidence : mapping
        As ``pullbook.evidence/1`` has it.
    place : int
        Which of its effects.
    way : int
        1, or -1 to have it the other way round.
    """
    one = evidence["effects"][place]
    gain, base = _floats(one["gain"]), _floats(one["base"])
    return KeptEffect(
        speed_rpm=_floats(evidence["grid_rpm"]), gain=way * gain, base=base if way > 0 else base + gain,
        sd=_floats(one["sd"]), modes=modes_of(one), band_factor=float(one["band_factor"]),
        peak_rpm=nan if evidence["peak_rpm"] is None else float(evidence["peak_rpm"]),
        relative=evidence["torque_kind"] == "relative",
    )  # fmt: skip


def _floats(values: Sequence[float | None]) -> FloatArray:
    return np.array([nan if value is None else value for value in values], dtype=np.float64)


def usual_windows(effects: Sequence[KeptEffect]) -> tuple[tuple[float, float], ...]:
    """Range that at least half of the sessions have at each end, and its thirds, at full hundreds.

    Parameters
    ----------
    effects : sequence of KeptEffect
        The sessions. [rpm]
    """
    low = float(np.median([one.speed_rpm[0] for one in effects]))
    high = float(np.median([one.speed_rpm[-1] for one in effects]))
    ends = [_STEP_RPM * round((low + (high - low) * share / 3.0) / _STEP_RPM) for share in range(4)]
    ends[0], ends[3] = _STEP_RPM * np.ceil(low / _STEP_RPM), _STEP_RPM * np.floor(high / _STEP_RPM)
    thirds = [(float(a), float(b)) for a, b in pairwise(ends) if a < b]
    return ((float(ends[0]), float(ends[3])), *thirds) if len(thirds) > 1 else tuple(thirds)


def pooled_windows(
    effects: Sequence[KeptEffect], windows: Sequence[tuple[float, float]], unit: str
) -> tuple[PoolWindow, ...]:
    """Mean gains over windows, pooled.

    Parameters
    ----------
    effects : sequence of KeptEffect
        The sessions. [N m, rpm]
    windows : sequence of (float, float)
        Ranges of speed. [rpm]
    unit : str
        ``%`` or ``N m``.

    Returns
    -------
    tuple of PoolWindow
        Windows that no session was measured throughout are left out. [unit]
    """
    found: list[PoolWindow] = []
    for low, high in windows:
        told = [(row, seen) for row, one in enumerate(effects) if (seen := one.over(low, high, unit)) is not None]
        if told:
            found.append(_window((low, high), unit, told, carried=unit == "%" and not found))
    return tuple(found)


def _window(
    ends: tuple[float, float], unit: str, told: Sequence[tuple[int, tuple[float, float]]], *, carried: bool
) -> PoolWindow:
    effect, sd = (np.array([seen[place] for _, seen in told]) for place in (0, 1))
    pooled = pool_effects(effect, sd)
    fit = pooled.printed.fit
    left_out = leave_one_out(effect, sd) if carried else ()
    return PoolWindow(
        from_rpm=ends[0], to_rpm=ends[1], unit=unit, rows=tuple(row for row, _ in told),
        effect=tuple(effect.tolist()), sd=tuple(sd.tolist()), weight=tuple(fit.weight.tolist()),
        mean=Interval(value=fit.mean, low=pooled.printed.low, high=pooled.printed.high),
        next_engine=pooled.prediction, approximate=pooled.approximate, between_sd=sqrt(pooled.reml.between),
        i_squared=pooled.i_squared, q_p=pooled.q_p, heterogeneity=pooled.heterogeneity,
        without=tuple(Interval(value=one.fit.mean, low=one.low, high=one.high) for one in left_out),
    )  # fmt: skip


def _own(one: KeptEffect) -> tuple[float, float]:
    """Mean gain over the longest measured stretch of a session, for the weights of curves. [%]."""
    known = np.flatnonzero(np.isfinite(one.gain))
    stretches = np.split(known, np.flatnonzero(np.diff(known) > 1) + 1)
    longest = max(stretches, key=len)
    seen = one.over(float(one.speed_rpm[longest[0]]), float(one.speed_rpm[longest[-1]]), "%")
    return seen if seen is not None else (nan, nan)


def pooled_curves(effects: Sequence[KeptEffect]) -> tuple[PoolCurve, ...]:
    """Gain over speed, on rpm and on shares of the speed of the torque peak.

    Parameters
    ----------
    effects : sequence of KeptEffect
        The sessions. [N m, rpm]

    Returns
    -------
    tuple of PoolCurve
        None below two sessions; on shares only those whose peak was reached. [%]
    """
    found: list[PoolCurve] = []
    everything = list(range(len(effects)))
    if len(everything) > 1:
        low, high = min(one.speed_rpm[0] for one in effects), max(one.speed_rpm[-1] for one in effects)
        x = np.arange(np.ceil(low / _SPACING_RPM), np.floor(high / _SPACING_RPM) + 1.0) * _SPACING_RPM
        found.append(_curve("rpm", x, x, effects, everything))
    peaked = [row for row in everything if isfinite(effects[row].peak_rpm)]
    if len(peaked) > 1:
        speeds, peaks = [effects[row].speed_rpm for row in peaked], [effects[row].peak_rpm for row in peaked]
        share = relative_axis(speeds, peaks)
        found.append(_curve("share", share, share * float(np.median(peaks)), effects, peaked))
    return tuple(found)


def _curve(
    axis: str, x: FloatArray, speed_rpm: FloatArray, effects: Sequence[KeptEffect], rows: Sequence[int]
) -> PoolCurve:
    gains, doubts = [], []
    for row in rows:
        one = effects[row]
        peak = one.peak_rpm if axis == "share" else 1.0
        gain, sd = (on_relative_speed(x, one.speed_rpm, curve, peak) for curve in one.percent())
        gains.append(gain)
        doubts.append(sd)
    own = np.array([_own(effects[row]) for row in rows])
    fit = random_effects(own[:, 0], own[:, 1], "never zero")
    factors = np.array([effects[row].band_factor for row in rows])
    pooled = pool_curves(np.array(gains), np.array(doubts), speed_rpm, fit, factors)
    return PoolCurve(
        axis=axis, x=x, sessions=pooled.sessions.astype(np.float64), mean=pooled.mean, low=pooled.low,
        high=pooled.high, next_low=pooled.next_low, next_high=pooled.next_high, rows=tuple(rows), own=np.array(gains),
    )  # fmt: skip


def pooled_lines(window: PoolWindow, rows: Sequence[PoolRow]) -> tuple[PoolLine, ...]:
    """Whether the effect goes with displacement or power.

    Parameters
    ----------
    window : PoolWindow
        The effect. [%]
    rows : sequence of PoolRow
        The sessions. [m^3, W]

    Returns
    -------
    tuple of PoolLine
        Of each property that at least ten sessions have. [%]
    """
    found: list[PoolLine] = []
    for name, unit, scale, step in _PROPERTIES:
        known = [
            (effect, sd, float(getattr(rows[row], name)) / scale)
            for row, effect, sd in zip(window.rows, window.effect, window.sd, strict=True)
            if isfinite(float(getattr(rows[row], name)))
        ]
        columns = np.array(known).reshape(-1, 3).T
        line = moderated(columns[0], columns[1], columns[2])
        if line is not None:
            slope = Interval(value=step * line.slope, low=step * line.slope_low, high=step * line.slope_high)
            words = name.replace("peak_", "").replace("_", " ")
            found.append(PoolLine(property_=words, unit=unit, step=step, slope=slope, explained=line.explained))
    return tuple(found)
