"""Range, stuck, clipped and dropped: whether a channel is alive, and its samples are there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.check.asked import name_of
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.showing import show, show_range
from pullbook.records.check import Level

if TYPE_CHECKING:
    from pullbook.check.asked import Asked
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.check import Check

__all__ = ["check_clipped", "check_dropped", "check_range", "check_stuck"]

# Channels that move in a full-throttle sweep of any engine; a flat spark map or a warm room is no fault.
_MOVING: Final = (
    Channel.POWER, Channel.MIXTURE, Channel.FUEL_FLOW, Channel.AIR_FLOW, Channel.EXHAUST_TEMPERATURE,
    Channel.TRACTIVE_FORCE,
)  # fmt: skip
_CLIPPING: Final = (
    Channel.TORQUE, Channel.LOAD_SIGNAL, Channel.POWER, Channel.TRACTIVE_FORCE, Channel.FUEL_FLOW, Channel.AIR_FLOW,
    Channel.EXHAUST_TEMPERATURE,
)  # fmt: skip
_FEW: Final = 15  # samples; below that a run of equal values says nothing
_FROZEN_SHARE: Final = 0.2  # of the speed range: no torque curve is flat to the last digit for that long
_CLIPPED_RUN: Final = 5
# In coarse steps the top of a parabola is up to 2 / (sqrt(2) - 1) = 4.8 times as long as the step below it.
_TOP_OF_A_PARABOLA: Final = 6
_DROPPED_LOOK, _DROPPED_UNFIT = 0.01, 0.10
_GAP_RPM: Final = 300.0  # about the width of the narrowest feature that the curves can show
_GAP_STEPS: Final = 5.0


def check_range(asked: Asked) -> list[Check]:
    """Whether all values are physically possible."""
    answers: list[Check] = []
    for channel in asked.pull.channels:
        values, kind = asked.values(channel), CHANNELS[channel]
        outside = int(np.count_nonzero((values < kind.low) | (values > kind.high)))
        if outside:
            worst = float(values.min() if kind.low - values.min() > values.max() - kind.high else values.max())
            possible = show_range(kind.low, kind.high, channel, asked.system)
            answers.append(
                asked.answer(
                    "range", Level.LOOK,
                    f"The {name_of(channel)} channel reaches {show(worst, channel, asked.system)} "
                    f"({outside} of {values.size} samples are outside {possible}).",
                    remedy="check its unit in [columns] and its sensor",
                )
            )  # fmt: skip
    if not answers:
        count = len(asked.pull.channels)
        says = "The channel is" if count == 1 else f"All {count} channels are"
        answers.append(asked.answer("range", Level.OK, f"{says} within what is physically possible."))
    return answers


def check_stuck(asked: Asked) -> list[Check]:
    """Whether the channels move that ought to."""
    if asked.steps:
        return []
    answers = _frozen_torque(asked)
    for channel in _MOVING:
        values = asked.values(channel)
        if values.size >= _FEW and np.ptp(values) == 0.0:
            shown = show(float(values[0]), channel, asked.system)
            answers.append(
                asked.answer("stuck", Level.LOOK, f"The {name_of(channel)} channel stands at {shown} all the time.",
                             remedy="check its sensor and its wiring")
            )  # fmt: skip
    return answers or [asked.answer("stuck", Level.OK, "Every channel moves that ought to.")]


def _frozen_torque(asked: Asked) -> list[Check]:
    """Longest stretch of torque that does not move by the last digit while the speed does."""
    both = asked.inside & np.isfinite(asked.torque)
    torque, speed = asked.torque[both], asked.speed_rpm[both]
    if torque.size < _FEW:
        return []
    first, last = _longest_run(torque)
    whole = float(np.ptp(speed))
    moved = float(np.ptp(speed[first : last + 1]))
    if last - first + 1 < _FEW or whole <= 0.0 or moved < _FROZEN_SHARE * whole:
        return []
    where = (float(speed[first : last + 1].min()), float(speed[first : last + 1].max()))
    level = Level.UNFIT if moved > 0.5 * whole else Level.LOOK
    stands = show(float(torque[first]), asked.torque_channel, asked.system)
    return [
        asked.answer(
            "stuck", level,
            f"The {name_of(asked.torque_channel)} channel stands at {stands} "
            f"from {where[0]:,.0f} to {where[1]:,.0f} rpm.",
            remedy="check the load cell and the logger, and repeat the pull", rpm=where,
        )
    ]  # fmt: skip


def _longest_run(values: FloatArray) -> tuple[int, int]:
    """First and last index of the longest run of equal values."""
    starts = np.flatnonzero(np.concatenate(([True], np.diff(values) != 0.0)))
    ends = np.concatenate((starts[1:], [values.size])) - 1
    longest = int(np.argmax(ends - starts))
    return int(starts[longest]), int(ends[longest])


def check_clipped(asked: Asked) -> list[Check]:
    """Whether a channel runs into its upper stop."""
    answers: list[Check] = []
    for channel in _CLIPPING:
        recorded = asked.pull.channels.get(channel)
        if recorded is None:
            continue
        both = asked.inside & np.isfinite(recorded)
        values, speed = recorded[both], asked.speed_rpm[both]
        run = _flat_top(values)
        if run is None:
            continue
        where = (float(speed[run[0] : run[1] + 1].min()), float(speed[run[0] : run[1] + 1].max()))
        answers.append(
            asked.answer(
                "clipped", Level.LOOK,
                f"The {name_of(channel)} channel is cut off at {show(float(values.max()), channel, asked.system)} "
                f"from {where[0]:,.0f} to {where[1]:,.0f} rpm.",
                remedy="raise the range of the channel and repeat the pull", rpm=where,
            )
        )  # fmt: skip
    return answers or [asked.answer("clipped", Level.OK, "No channel is cut off at its upper end.")]


def _flat_top(values: FloatArray) -> tuple[int, int] | None:
    """Run of samples at the very maximum that is long, and much longer than any run at another value."""
    if values.size < 4 * _CLIPPED_RUN or np.ptp(values) == 0.0:
        return None
    starts = np.flatnonzero(np.concatenate(([True], np.diff(values) != 0.0)))
    lengths = np.diff(np.concatenate((starts, [values.size])))
    top = values[starts] == values.max()
    longest = int(np.argmax(np.where(top, lengths, 0)))
    elsewhere = int(lengths[~top].max(initial=1))
    if lengths[longest] < max(_CLIPPED_RUN, _TOP_OF_A_PARABOLA * elsewhere):
        return None
    return int(starts[longest]), int(starts[longest] + lengths[longest] - 1)


def check_dropped(asked: Asked) -> list[Check]:
    """Whether samples of speed or torque are missing."""
    both = np.isfinite(asked.speed_rpm) & np.isfinite(asked.torque)
    lost_in_time = _missing_in_time(asked)
    total = both.size + lost_in_time
    missing = int(np.count_nonzero(~both)) + lost_in_time
    share = missing / total if total else 0.0
    remedy = "check the logger and its cable, and repeat the pull"
    answers: list[Check] = []
    if share > _DROPPED_LOOK:
        level = Level.UNFIT if share > _DROPPED_UNFIT else Level.LOOK
        says = f"{missing} of {total} samples of speed or torque are missing ({100 * share:.1f} %)."
        answers.append(asked.answer("dropped", level, says, remedy=remedy))
    gap = _widest_gap(asked)
    if gap is not None:
        says = f"There are no samples between {gap[0]:,.0f} and {gap[1]:,.0f} rpm."
        answers.append(asked.answer("dropped", Level.LOOK, says, remedy=remedy, rpm=gap))
    says = f"None of {total} samples is missing." if not missing else f"{missing} of {total} samples are missing."
    return answers or [asked.answer("dropped", Level.OK, says)]


def _missing_in_time(asked: Asked) -> int:
    """Samples that would fit into the gaps of the time stamps; rows that were set aside on purpose are no gap."""
    if asked.time is None or asked.steps:
        return 0
    known = np.isfinite(asked.time)
    steps = np.diff(asked.time[known])
    usual = float(np.median(steps)) if steps.size else 0.0
    if usual <= 0.0:
        return 0
    lost = steps / usual - np.diff(asked.pull.rows[known])
    return int(np.sum(np.round(lost[lost > _GAP_STEPS - 1.0])))


def _widest_gap(asked: Asked) -> tuple[float, float] | None:
    """Hole in the speeds that is wide against the usual step and against what a curve can bridge."""
    speed = np.unique(asked.speed_rpm[asked.inside & np.isfinite(asked.torque)])
    if speed.size < 3 or asked.steps:
        return None
    steps = np.diff(speed)
    widest = int(np.argmax(steps))
    if steps[widest] < max(_GAP_RPM, _GAP_STEPS * float(np.median(steps))):
        return None
    return float(speed[widest]), float(speed[widest + 1])
