"""Glitches: short departures of torque that the engine cannot have made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.check.asked import name_of
from pullbook.check.bumps import map_bumps, sample_noise
from pullbook.quantities.channels import Channel
from pullbook.records.check import Level

if TYPE_CHECKING:
    from pullbook.check.asked import Asked
    from pullbook.check.bumps import BumpMap
    from pullbook.quantities.arrays import BoolArray
    from pullbook.records.check import Check

__all__ = [
    "FLOOR_PERCENT",
    "LEAST_PERCENT",
    "LEAST_RATIO",
    "Glitch",
    "carrier_of",
    "check_glitch",
    "glitch_words",
    "strongest_bump",
]

# Chosen by simulation with the noise model of the statistics (offset 0.4, smooth 0.3 over 400 rpm, white 0.5 % of
# torque, 60 to 200 samples, each session's own parameters): false alarms in well under 1 % of pulls.
LEAST_RATIO: Final = 4.7  # bump over its noise
LEAST_PERCENT: Final = 1.5  # smaller ones do not matter to a comparison
FLOOR_PERCENT: Final = 0.3  # no bench repeats itself better over a short stretch
_IMPOSSIBLE_PERCENT: Final = 8.0  # within 100 rpm no engine does that
_IMPOSSIBLE_WIDTH: Final = 100.0
_SPIKE_RATIO: Final = 8.0
_SPIKE_PERCENT: Final = 6.0
_SPIKE_SPAN: Final = 9  # samples
_CARRIERS: Final = (
    Channel.MANIFOLD_PRESSURE, Channel.FUEL_FLOW, Channel.AIR_FLOW, Channel.THROTTLE, Channel.MIXTURE, Channel.SPARK,
)  # fmt: skip
_REMEDY: Final = "look at the load-cell cable and connector, and repeat the pull"


@dataclass(frozen=True, slots=True, kw_only=True)
class Glitch:
    """The strongest bump of a curve.

    Attributes
    ----------
    centre_rpm, width_rpm : float
        Where, and how wide. [rpm]
    percent : float
        Size, as a share of the curve there. [%]
    ratio : float
        Size over its noise. [1]
    """

    centre_rpm: float
    width_rpm: float
    percent: float
    ratio: float

    @property
    def rpm(self) -> tuple[float, float]:
        """Ends of the stretch. [rpm]."""
        return self.centre_rpm - self.width_rpm / 2.0, self.centre_rpm + self.width_rpm / 2.0


def strongest_bump(
    maps: tuple[BumpMap, ...], *, scale: float, rpm_range: tuple[float, float] | None = None
) -> Glitch | None:
    """Bump that stands out most of its noise, whatever its size.

    Parameters
    ----------
    maps : tuple of BumpMap
        Bumps of several widths.
    scale : float
        Largest torque of the curve: a share of less than a fifth of it is not formed. [as the curve]
    rpm_range : tuple of (float, float) or None
        Range that counts. [rpm]
    """
    best: Glitch | None = None
    low, high = rpm_range or (-np.inf, np.inf)
    for found in maps:
        level = np.maximum(np.abs(found.level), 0.2 * scale)
        noise = np.maximum(found.noise, FLOOR_PERCENT / 100.0 * level)
        inside = (found.centre_rpm >= low) & (found.centre_rpm <= high) & np.isfinite(found.size)
        if not inside.any():
            continue
        ratio = np.where(inside, np.abs(found.size) / noise, -1.0)
        at = int(np.argmax(ratio))
        if best is None or ratio[at] > best.ratio:
            best = Glitch(
                centre_rpm=float(found.centre_rpm[at]), width_rpm=found.width_rpm, ratio=float(ratio[at]),
                percent=float(100.0 * found.size[at] / level[at]),
            )  # fmt: skip
    return best


def check_glitch(asked: Asked) -> list[Check]:
    """Whether torque jumps where nothing else does.

    What one pull shows alone is judged here; whether other pulls show the same at the same speed is judged by
    `pullbook.check.glitch_session`. Only what no engine can do is unfit without asking them.
    """
    if asked.steps:
        return []
    spikes = _spikes(asked)
    maps = map_bumps(asked.speed_rpm, asked.torque)
    scale = float(np.nanmax(np.abs(asked.torque), initial=0.0))
    bump = strongest_bump(maps, scale=scale, rpm_range=asked.rpm_range)
    if bump is None or bump.ratio < LEAST_RATIO or abs(bump.percent) < LEAST_PERCENT:
        if spikes is not None:
            return [spikes]
        says = f"The {name_of(asked.torque_channel)} curve has no bump shorter than 200 rpm."
        return [asked.answer("glitch", Level.OK, says)] if maps else []
    carrier = carrier_of(asked, bump)
    if carrier is not None:
        says = f"{glitch_words(bump, asked)}, and the {name_of(carrier)} moves with it: the engine did that."
        return [
            asked.answer(
                "glitch", Level.LOOK, says, rpm=bump.rpm, remedy="find out what the engine did and repeat the pull"
            )
        ]
    impossible = abs(bump.percent) >= _IMPOSSIBLE_PERCENT and bump.width_rpm <= _IMPOSSIBLE_WIDTH
    says = f"{glitch_words(bump, asked)}, and no other channel moves with it."
    if not asked.one_way:
        says = f"{glitch_words(bump, asked)}; the speed turns back in this pull, perhaps for a change of gear."
        remedy = "make the pull in one gear"
        return [asked.answer("glitch", Level.LOOK, says, remedy=remedy, rpm=bump.rpm)]
    return [asked.answer("glitch", Level.UNFIT if impossible else Level.LOOK, says, remedy=_REMEDY, rpm=bump.rpm)]


def glitch_words(bump: Glitch, asked: Asked) -> str:
    """Bump as the beginning of a sentence."""
    verb = "jumps up" if bump.percent > 0.0 else "drops"
    low, high = bump.rpm
    between = f"between {low:,.0f} and {high:,.0f} rpm"
    return f"The {name_of(asked.torque_channel)} {verb} by {abs(bump.percent):.1f} % {between}"


def _spikes(asked: Asked) -> Check | None:
    """Single samples far from their neighbours; they hardly bend a curve of many samples, but tell of a bad contact."""
    both = asked.inside & np.isfinite(asked.torque)
    order = np.argsort(asked.speed_rpm[both], kind="stable")
    speed, torque = asked.speed_rpm[both][order], asked.torque[both][order]
    if torque.size < 3 * _SPIKE_SPAN:
        return None
    half = _SPIKE_SPAN // 2
    windows = np.lib.stride_tricks.sliding_window_view(torque, _SPIKE_SPAN)
    off = torque[half:-half] - np.median(windows, axis=1)
    level = np.maximum(np.abs(torque[half:-half] - off), 0.2 * np.abs(torque).max())
    noise = sample_noise(speed, torque)[half:-half]
    spiky = np.abs(off) > np.maximum(_SPIKE_RATIO * noise, _SPIKE_PERCENT / 100.0 * level)
    if not spiky.any():
        return None
    at = int(np.argmax(np.where(spiky, np.abs(off) / level, 0.0)))
    count, place = int(np.count_nonzero(spiky)), float(speed[half:-half][at])
    samples = "One sample jumps" if count == 1 else f"{count} samples jump"
    says = f"{samples} out of the torque curve, by {100.0 * abs(off[at]) / level[at]:.0f} % at {place:,.0f} rpm."
    return asked.answer("glitch", Level.LOOK, says, remedy=_REMEDY, rpm=(place, place))


def carrier_of(asked: Asked, bump: Glitch) -> Channel | None:
    """Channel that shows a bump at the same place, of at least half the share."""
    for channel in _CARRIERS:
        recorded = asked.pull.channels.get(channel)
        if recorded is None or np.count_nonzero(np.isfinite(recorded)) < 3:
            continue
        for found in map_bumps(asked.speed_rpm, recorded):
            near = np.abs(found.centre_rpm - bump.centre_rpm) <= bump.width_rpm / 2.0
            if found.width_rpm == bump.width_rpm and _moves(found, near, 0.5 * abs(bump.percent)):
                return channel
    return None


def _moves(found: BumpMap, near: BoolArray, least_percent: float) -> bool:
    with np.errstate(divide="ignore", invalid="ignore"):
        percent = 100.0 * np.abs(found.size / found.level)
        ratio = np.abs(found.size) / found.noise
    return bool(np.any(near & (percent >= least_percent) & (ratio >= LEAST_RATIO)))
