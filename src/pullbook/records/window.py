"""WindowGain: the mean gain over a range of engine speed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.records.curve import Interval

__all__ = ["WindowGain"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowGain:
    """Mean gain over an rpm window.

    Attributes
    ----------
    from_rpm, to_rpm : float
        The window. [rpm]
    torque : Interval
        Mean torque gain. [N m or %]
    power : Interval or None
        Mean power gain. [W]
    percent : Interval
        Mean torque gain as a share of the build compared with. [%]
    classical : Interval or None
        The same mean torque gain by the classical t interval of the pull means, as a check. [N m or %]
    """

    from_rpm: float
    to_rpm: float
    torque: Interval
    power: Interval | None
    percent: Interval
    classical: Interval | None = None
