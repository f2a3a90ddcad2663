"""WindowTable: the mean gain over every window between round speeds, so that a reader can choose any of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["WindowStretch", "WindowTable"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowStretch:
    """All windows inside one run of speeds that were measured without a gap.

    The m = n (n - 1)/2 windows between the n speeds stand in the order of their lower end, then of their upper end.
    Each estimate lies in the middle of its interval, so that half the width is enough.

    Attributes
    ----------
    speed_rpm : (k,) array of float
        Speeds of the curves. [rpm]
    gain : (k,) array of float
        Torque gain. [N m or %]
    base : (k,) array of float
        Torque that it is a gain on. [N m or %]
    ends_rpm : (n,) array of float
        Speeds at which a window may begin or end; all of them are among `speed_rpm`. [rpm]
    torque : (m,) array of float
        Half-width of the interval of the mean torque gain; NaN where no doubt can be stated. [N m or %]
    power : (m,) array of float
        Half-width of the interval of the mean power gain; empty in a relative session. [W]
    percent : (m,) array of float
        Half-width of the interval of the mean torque gain as a share of `base`; empty in a relative session. [%]
    check, check_half : (m,) array of float
        The same mean torque gain by the classical t interval of the pull means, and its half-width; empty in a
        relative session. [N m]
    """

    speed_rpm: FloatArray
    gain: FloatArray
    base: FloatArray
    ends_rpm: FloatArray
    torque: FloatArray
    power: FloatArray
    percent: FloatArray
    check: FloatArray
    check_half: FloatArray

    def __post_init__(self) -> None:
        for name in self.__slots__:
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowTable:
    """Mean gains of one build on another over all windows.

    Attributes
    ----------
    of, from_ : str
        Names of the builds.
    stretches : tuple of WindowStretch
        One for each run of speeds without a gap; over a gap there is no mean.
    """

    of: str
    from_: str
    stretches: tuple[WindowStretch, ...]
