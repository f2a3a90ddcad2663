"""Interval and CurveBand: a number and a curve with their doubt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["CurveBand", "Interval", "Peak"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A value with the ends of its interval, which are NaN where no doubt can be stated.

    Attributes
    ----------
    value, low, high : float
        Estimate and ends. [as the owner says]
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveBand:
    """A curve with a band that holds over the whole range at once.

    Attributes
    ----------
    mean, low, high : (g,) array of float
        On the grid of the findings; NaN where not measured. `low` and `high` are all NaN where no doubt can be
        stated. Torque [N m], power [W], or share of the baseline [%].
    """

    mean: FloatArray
    low: FloatArray
    high: FloatArray

    def __post_init__(self) -> None:
        for name in ("mean", "low", "high"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Peak:
    """Highest point of a curve.

    Attributes
    ----------
    value, low, high : float
        Height. [N m, W or %]
    rpm, rpm_low, rpm_high : float
        Where, and the range of speeds whose torque or power is not certainly lower. [rpm]
    """

    value: float
    low: float
    high: float
    rpm: float
    rpm_low: float
    rpm_high: float
