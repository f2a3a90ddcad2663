"""Engine speeds in sentences: "4,180 rpm", "3,980 to 4,370 rpm"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.publish.figures import Measure, places, rounded, separated
from pullbook.quantities.rounding import digits

if TYPE_CHECKING:
    from pullbook.records.curve import Interval

__all__ = ["rpm", "rpm_range", "rpm_stated"]


def rpm(speed: float, doubt: float = 0.5) -> str:
    """Engine speed with its unit.

    Parameters
    ----------
    speed, doubt : float
        Speed and half the width of its interval. [rpm]

    Returns
    -------
    str
        As in "4,180 rpm".

    Examples
    --------
    >>> rpm(4183.2, 195.0)
    '4,180 rpm'
    """
    return f"{separated(digits(speed, min(places(doubt), 0)))} rpm"


def rpm_range(low: float, high: float, joint: str = "to") -> str:
    """Range of engine speed, rounded to a two-digit half-width at most to the rpm.

    Parameters
    ----------
    low, high : float
        Ends. [rpm]
    joint : str
        Word between them.

    Returns
    -------
    str
        As in "3,980 to 4,370 rpm".

    Examples
    --------
    >>> rpm_range(3981.7, 4368.9, "and")
    '3,980 and 4,370 rpm'
    """
    return f"{_place(low, high)} {joint} {_place(high, low)} rpm"


def _place(end: float, other: float) -> str:
    half = abs(end - other) / 2.0
    coarse = half > 0.0 and end % 50.0 != 0.0
    return separated(digits(end, max(min(places(half), 0), -1) if coarse else 0))


def rpm_stated(interval: Interval) -> str:
    """Difference of two speeds without its sign, as in "860 rpm (730 to 990)".

    Parameters
    ----------
    interval : Interval
        The difference. [rpm]

    Returns
    -------
    str
        Value, unit and ends.

    Examples
    --------
    >>> from pullbook.records.curve import Interval
    >>> rpm_stated(Interval(value=-862.0, low=-990.0, high=-731.0))
    '860 rpm (730 to 990)'
    """
    turn = -1.0 if interval.value < 0.0 else 1.0
    low, high = sorted((turn * interval.low, turn * interval.high))
    doubt = (high - low) / 2.0
    ends = Measure(symbol="rpm", factor=1.0).range(low, high, doubt)
    return f"{separated(rounded(turn * interval.value, doubt))} rpm ({ends})"
