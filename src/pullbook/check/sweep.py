"""Coverage, sweep rate and time stamps: how the engine was led through the pull."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.derivative import local_slope, slope_bandwidth
from pullbook.quantities.channels import Channel
from pullbook.records.check import Level

if TYPE_CHECKING:
    from pullbook.check.asked import Asked
    from pullbook.quantities.arrays import BoolArray, FloatArray
    from pullbook.records.check import Check
    from pullbook.records.pull import Pull

__all__ = ["check_coverage", "check_sweep_rate", "check_throttle", "check_time_stamps", "sweep_rates"]

_SHORT_RPM: Final = 50.0
_UNSTEADY: Final = 0.30  # share of the median between the slow and the fast tenth of the sweep
_JITTER: Final = 0.5  # share of the usual step
_FULL, _NOT_FULL = 0.80, 0.70  # of the throttle channel; worn or uncalibrated sensors show 85 % at full throttle


def sweep_rates(pull: Pull, inside: BoolArray | None = None) -> FloatArray:
    """Sweep rate at each sample: the channel where the file has one, else the smoothed slope of speed over time.

    Parameters
    ----------
    pull : Pull
        As measured.
    inside : (n,) array of bool or None
        Samples that count. [1]

    Returns
    -------
    (k,) array of float
        Finite rates of the samples that count; empty without time stamps. [rpm/s]
    """
    rates = pull.channels.get(Channel.SWEEP_RATE)
    if rates is None or not np.isfinite(rates).any():
        time, speed = pull.channels.get(Channel.TIME), pull.channels[Channel.SPEED]
        if time is None:
            return np.empty(0)
        span = slope_bandwidth(time, speed)
        rates = local_slope(time, speed, span) if np.isfinite(span) else np.full(speed.shape, np.nan)
    keep = np.isfinite(rates) if inside is None else np.isfinite(rates) & inside
    return np.asarray(rates[keep])


def check_coverage(asked: Asked) -> list[Check]:
    """Whether the pull covers the range that is analysed."""
    speed = asked.speed_rpm[np.isfinite(asked.speed_rpm) & np.isfinite(asked.torque)]
    if not speed.size:
        return []
    low, high = float(speed.min()), float(speed.max())
    covers = f"The pull covers {low:,.0f} to {high:,.0f} rpm"
    if asked.rpm_range is None:
        return [asked.answer("rpm_coverage", Level.OK, f"{covers}.")]
    first, last = asked.rpm_range
    if low <= first + _SHORT_RPM and high >= last - _SHORT_RPM:
        return [asked.answer("rpm_coverage", Level.OK, f"{covers}, all of the range that is analysed.")]
    says = f"{covers}, but {first:,.0f} to {last:,.0f} rpm are to be analysed."
    remedy = "repeat the pull over the whole range, or narrow rpm in [session]"
    return [asked.answer("rpm_coverage", Level.LOOK, says, remedy=remedy)]


def check_sweep_rate(asked: Asked) -> list[Check]:
    """How fast the sweep is, and whether it is steady."""
    rates = sweep_rates(asked.pull, asked.inside)
    if rates.size < 10 or asked.steps:
        return []
    slow, middle, fast = (float(value) for value in np.percentile(rates, (10.0, 50.0, 90.0)))
    spread = (fast - slow) / abs(middle) if middle else np.inf
    says = f"The sweep rate is {middle:,.0f} rpm/s"
    if spread <= _UNSTEADY:
        return [asked.answer("sweep_rate", Level.OK, f"{says}, steady within {100.0 * spread:.0f} %.")]
    says = f"{says}, but changes from {slow:,.0f} to {fast:,.0f} rpm/s in the pull."
    remedy = "declare inertia in [session], and let the dynamometer control the rate"
    return [asked.answer("sweep_rate", Level.LOOK, says, remedy=remedy)]


def check_time_stamps(asked: Asked) -> list[Check]:
    """Whether time runs forwards, in even steps."""
    if asked.time is None or asked.steps:
        return []
    steps = np.diff(asked.time[np.isfinite(asked.time)])
    usual = float(np.median(steps))
    back = int(np.count_nonzero(steps < 0.0))
    if back or usual <= 0.0:
        says = (
            f"Time runs backwards at {back} of {steps.size} steps."
            if back
            else "Most time stamps repeat the one before."
        )
        remedy = "check the time column; the sweep rate cannot be trusted"
        return [asked.answer("time_stamps", Level.LOOK, says, remedy=remedy)]
    jitter = float(np.percentile(np.abs(steps - usual), 90.0)) / usual
    says = f"The file has {1.0 / usual:.0f} samples a second"
    if jitter <= _JITTER:
        return [
            asked.answer("time_stamps", Level.OK, f"{says}, nine of ten steps within {100.0 * jitter:.0f} % of it.")
        ]
    says = f"{says}, but one step in ten is off by more than {100.0 * jitter:.0f} %."
    remedy = "log at an even rate; the sweep rate is uncertain"
    return [asked.answer("time_stamps", Level.LOOK, says, remedy=remedy)]


def check_throttle(asked: Asked) -> list[Check]:
    """Whether the throttle is full."""
    throttle = asked.values(Channel.THROTTLE)
    if not throttle.size:
        return []
    low, middle = (100.0 * float(value) for value in np.percentile(throttle, (10.0, 50.0)))
    says = f"The throttle channel stands at {middle:.0f} % in the middle of the samples"
    if middle >= 100.0 * _FULL and low >= 100.0 * _NOT_FULL:
        return [asked.answer("throttle", Level.OK, f"{says}: full throttle.")]
    level = Level.LOOK if middle >= 100.0 * _NOT_FULL else Level.UNFIT
    says = (
        f"{says} and at {low:.0f} % or less in a tenth of them: not full throttle, or a sensor that is not calibrated."
    )
    remedy = "open the throttle fully, or declare under [limits] what its channel shows when it is"
    return [asked.answer("throttle", level, says, remedy=remedy)]
