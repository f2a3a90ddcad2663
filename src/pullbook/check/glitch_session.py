"""Glitches told from features of the engine: what one pull shows and no other pull does at the same speed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.check.asked import Asked
from pullbook.check.bumps import BIN_RPM, WIDTHS_RPM, map_bumps
from pullbook.check.glitch import FLOOR_PERCENT, LEAST_PERCENT, Glitch, carrier_of, glitch_words
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem
from pullbook.records.check import Level
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import BoolArray, FloatArray
    from pullbook.records.check import Check
    from pullbook.records.context import PullContext

__all__ = ["check_glitches", "settle_glitches"]

_LEAST_OWN_RATIO: Final = 4.4  # over its noise; by the same simulation as `pullbook.check.glitch.LEAST_RATIO`
_LEAST_KIN_RATIO: Final = 3.0  # the same against the pulls of the same build, which may be one or two
_THEIR_SHARE: Final = 0.5  # of a departure that others may show, or it is theirs
_LEAST_ALONE: Final = 3.0  # per cent, where no other pull of the build can tell a glitch from what the part does
_MEDIAN_COST: Final = float(np.sqrt(np.pi / 2.0))  # standard error of a median over that of a mean
_NEVER: Final = -1


def check_glitches(
    contexts: Sequence[PullContext],
    *,
    rpm_range: tuple[float, float] | None = None,
    system: UnitSystem = UnitSystem.METRIC,
) -> tuple[Check, ...]:
    """Pulls with a bump that no other pull shows at the same speed.

    Each bump is compared with the median of all other pulls: what the engine does, they all do. What the other pulls
    of the same build do too is never a glitch, because a part may have done it; nor is what another channel does too.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls in run order; those not used take no part.
    rpm_range : tuple of (float, float) or None
        Range that is analysed. [rpm]
    system : UnitSystem
        Units of the sentences.

    Returns
    -------
    tuple of Check
        One answer for each such pull: unfit, or to be looked at where it is the only pull of its build.
    """
    used = [context for context in contexts if context.used and _is_one_sweep(context)]
    grids = [_Grid.of(context) for context in used]
    answers: list[Check] = []
    for number, context in enumerate(used):
        others = [grid for place, grid in enumerate(grids) if place != number]
        kin = [grids[i] for i, other in enumerate(used) if i != number and other.build == context.build]
        glitch = grids[number].own_bump(others, kin, rpm_range) if others else None
        asked = Asked(pull=context.pull, rpm_range=rpm_range, system=system)
        if glitch is not None and carrier_of(asked, glitch) is None:
            says = f"{glitch_words(glitch, asked)}, and no other pull does so there."
            remedy = "look at the load-cell cable and connector, and repeat the pull"
            level = Level.UNFIT
            if not kin:
                # Other builds are other engines.
                says = (
                    says.removesuffix(".") + f"; with one pull of {context.build} nobody can tell whether its parts do."
                )
                remedy, level = f"make another pull of {context.build}", Level.LOOK
            answers.append(asked.answer("glitch", level, says, remedy=remedy, rpm=glitch.rpm))
    return tuple(answers)


def settle_glitches(checks: Sequence[Check], contexts: Sequence[PullContext]) -> tuple[Check, ...]:
    """Answers about single pulls, where a bump that the other pulls of the build show too is no longer to be looked at.

    Parameters
    ----------
    checks : sequence of Check
        Answers of `pullbook.check.pull_checks.check_pull` for all pulls.
    contexts : sequence of PullContext
        Pulls in run order; those not used are not asked.

    Returns
    -------
    tuple of Check
        The same answers in the same order; a shared bump is ok, and says that it is shared.
    """
    grids: dict[str, _Grid] = {}
    for context in contexts:
        if context.pull.name not in grids and _is_one_sweep(context):
            grids[context.pull.name] = _Grid.of(context)
    builds = {context.pull.name: context for context in reversed(contexts)}
    kin_of = {
        name: [
            grids[other.pull.name]
            for other in contexts
            if other.used and other.build == context.build and other.pull.name in grids and other.pull.name != name
        ]
        for name, context in builds.items()
    }
    return tuple(
        _shared(check, builds[check.pull], grids[check.pull], kin_of[check.pull])
        if check.check == "glitch" and check.level is Level.LOOK and kin_of.get(check.pull) and check.pull in grids
        else check
        for check in checks
    )


def _shared(check: Check, context: PullContext, own: _Grid, kin: Sequence[_Grid]) -> Check:
    """The answer, or that the other pulls of the build show at least half of the same bump."""
    low, high = check.rpm_low, check.rpm_high
    if low is None or high is None or high - low not in WIDTHS_RPM:
        return check  # a single wild sample is nobody else's
    row, at = WIDTHS_RPM.index(high - low), round(0.5 * (low + high) / BIN_RPM)
    percent = float(own.on(at, 1)[0][row, 0])
    sign = float(np.sign(percent))
    theirs = sign * _median_of(kin, at - 1, 3)[0][row]  # a bin to either side: sweeps do not sample the same speeds
    if not np.any(theirs >= _THEIR_SHARE * abs(percent)):
        return check
    bump = Glitch(centre_rpm=0.5 * (low + high), width_rpm=high - low, percent=percent, ratio=np.nan)
    words = glitch_words(bump, Asked(pull=context.pull))
    says = f"{words}, and so it does in the other pulls of {context.build}: the parts do that."
    return replace(check, level=Level.OK, says=says, says_us="", remedy="")


def _is_one_sweep(context: PullContext) -> bool:
    asked = Asked(pull=context.pull)
    return asked.one_way and not asked.steps


class _Grid:
    """Bumps of one pull in per cent, one row for each width, on speeds that all pulls share."""

    def __init__(self, percent: FloatArray, noise: FloatArray, first: int) -> None:
        self.percent = percent
        self.noise = noise
        self.first = first

    @classmethod
    def of(cls, context: PullContext) -> _Grid:
        """Bumps of the torque as recorded."""
        relative = context.pull.torque_kind is TorqueKind.RELATIVE
        torque = context.pull.channels[Channel.LOAD_SIGNAL if relative else Channel.TORQUE]
        maps = map_bumps(context.pull.channels[Channel.SPEED], torque)
        places = [np.round(found.centre_rpm / BIN_RPM).astype(np.int64) for found in maps]
        if not maps:
            return cls(np.empty((len(WIDTHS_RPM), 0)), np.empty((len(WIDTHS_RPM), 0)), _NEVER)
        first, last = min(int(place[0]) for place in places), max(int(place[-1]) for place in places)
        percent = np.full((len(WIDTHS_RPM), last - first + 1), np.nan)
        noise = percent.copy()
        scale = 0.2 * float(np.nanmax(np.abs(torque)))
        for found, place in zip(maps, places, strict=True):
            row, level = WIDTHS_RPM.index(found.width_rpm), np.maximum(np.abs(found.level), scale)
            percent[row, place - first] = 100.0 * found.size / level
            noise[row, place - first] = np.maximum(100.0 * found.noise / level, FLOOR_PERCENT)
        return cls(percent, noise, first)

    def on(self, first: int, count: int) -> tuple[FloatArray, FloatArray]:
        """Bumps and noise on `count` places from `first` on; NaN where this pull has none."""
        at = np.arange(first, first + count) - self.first
        there = (at >= 0) & (at < self.percent.shape[1])
        percent, noise = np.full((len(WIDTHS_RPM), count), np.nan), np.full((len(WIDTHS_RPM), count), np.nan)
        percent[:, there], noise[:, there] = self.percent[:, at[there]], self.noise[:, at[there]]
        return percent, noise

    def own_bump(
        self, others: Sequence[_Grid], kin: Sequence[_Grid], rpm_range: tuple[float, float] | None
    ) -> Glitch | None:
        """Strongest bump that is this pull's own, if it is beyond chance and large enough to matter."""
        count = self.percent.shape[1]
        if not count:
            return None
        seen, doubt = _median_of(others, self.first, count)
        excess = self.percent - seen
        ratio = np.abs(excess) / np.hypot(self.noise, doubt)
        own = np.abs(excess) >= (LEAST_PERCENT if kin else _LEAST_ALONE)
        own &= self.percent * np.sign(excess) >= (1.0 - _THEIR_SHARE) * np.abs(excess)
        own &= self._departs(seen, excess)
        if kin:
            # Where other builds bend the other way, much of the departure from all pulls may be what this build does.
            of_kin, doubt_of_kin = _median_of(kin, self.first, count)
            own &= self._departs(of_kin, excess)
            own &= np.abs(self.percent - of_kin) >= _LEAST_KIN_RATIO * np.hypot(self.noise, doubt_of_kin)
        centre = BIN_RPM * np.arange(self.first, self.first + count)
        low, high = rpm_range or (-np.inf, np.inf)
        ratio = np.where(own & (centre >= low) & (centre <= high) & np.isfinite(ratio), ratio, 0.0)
        row, at = np.unravel_index(int(np.argmax(ratio)), ratio.shape)
        if ratio[row, at] < _LEAST_OWN_RATIO:
            return None
        return Glitch(
            centre_rpm=float(centre[at]), width_rpm=WIDTHS_RPM[int(row)], percent=float(excess[row, at]),
            ratio=float(ratio[row, at]),
        )  # fmt: skip

    def _departs(self, theirs: FloatArray, excess: FloatArray) -> BoolArray:
        """Where others show less than half of a departure, and at least half of it is this pull's alone."""
        half, sign = _THEIR_SHARE * np.abs(excess), np.sign(excess)
        return np.asarray((theirs * sign < half) & ((self.percent - theirs) * sign >= half))


def _median_of(grids: Sequence[_Grid], first: int, count: int) -> tuple[FloatArray, FloatArray]:
    """Median bump of some pulls and its noise; NaN where none of them has any."""
    pairs = [grid.on(first, count) for grid in grids]
    sizes, noises = np.stack([size for size, _ in pairs]), np.stack([noise for _, noise in pairs])
    known = np.isfinite(sizes) & np.isfinite(noises)
    number = known.sum(axis=0)
    ranked = np.sort(np.where(known, sizes, np.inf), axis=0)
    middle = [np.take_along_axis(ranked, np.maximum(at, 0)[None], axis=0)[0] for at in ((number - 1) // 2, number // 2)]
    median = 0.5 * (middle[0] + np.where(number > 0, middle[1], 0.0))
    variance = np.sum(np.where(known, noises, 0.0) ** 2, axis=0) / np.maximum(number, 1)
    cost = np.where(number > 2, _MEDIAN_COST, 1.0) / np.sqrt(np.maximum(number, 1))
    return np.where(number > 0, median, np.nan), cost * np.sqrt(variance)
