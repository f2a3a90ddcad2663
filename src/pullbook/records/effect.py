"""Effect, Interaction, CrossoverShift: what one factor does, and whether it does so everywhere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.records.curve import CurveBand, Interval
    from pullbook.records.window import WindowGain

__all__ = [
    "CrossoverShift",
    "Effect",
    "Interaction",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossoverShift:
    """How far one change moves the crossover of another.

    Attributes
    ----------
    first, second : tuple of (str, str)
        The two differences, as (of, from).
    shift : Interval
        Crossover of the second minus crossover of the first. [rpm]
    """

    first: tuple[str, str]
    second: tuple[str, str]
    shift: Interval


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Effect:
    """What one factor does, the others held.

    Attributes
    ----------
    factor, from_level, to_level : str
        The change.
    torque : CurveBand or None
        Effect on torque; None where it cannot be estimated. [N m or %]
    power : CurveBand or None
        Effect on power. [W]
    windows : tuple of WindowGain
        Gains over the windows.
    aliased_with : str
        In words, what cannot be told apart from it; empty when it can be estimated.
    """

    factor: str
    from_level: str
    to_level: str
    torque: CurveBand | None
    power: CurveBand | None
    windows: tuple[WindowGain, ...] = ()
    aliased_with: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Interaction:
    """Whether a change acts the same at two levels of another factor.

    Attributes
    ----------
    factor, from_level, to_level : str
        The change.
    with_factor, level, other_level : str
        The factor that is held at one level, then at the other.
    torque : CurveBand
        Gain at `other_level` minus gain at `level`. [N m or %]
    differs : bool
        The band excludes zero somewhere.
    differs_from_rpm, differs_to_rpm : float or None
        Where it does. [rpm]
    smallest_margin : float
        Smallest margin within which "acts the same" is proved over the whole range. [N m or %]
    """

    factor: str
    from_level: str
    to_level: str
    with_factor: str
    level: str
    other_level: str
    torque: CurveBand
    differs: bool
    differs_from_rpm: float | None
    differs_to_rpm: float | None
    smallest_margin: float
