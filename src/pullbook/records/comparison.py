"""Comparison: the question put to the curve statistics, with everything they may use and nothing more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.build import Build, Factor
    from pullbook.records.declaration import Claim
    from pullbook.records.pull import TorqueKind

__all__ = ["ComparablePull", "Comparison"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ComparablePull:
    """One pull, fit and corrected, as the statistics see it.

    Attributes
    ----------
    name : str
        Name of the pull.
    build : str
        Name of its build.
    fitting : int
        Number of the bolt-up: consecutive pulls with the same number share one fitting of the parts.
    time : float
        When it was made, from the first pull of the session. [s]
    speed_rpm : (n,) array of float
        Engine speed, rising. [rpm]
    torque : (n,) array of float
        Torque [N m], or the relative signal.
    """

    name: str
    build: str
    fitting: int
    time: float
    speed_rpm: FloatArray
    torque: FloatArray

    def __post_init__(self) -> None:
        object.__setattr__(self, "speed_rpm", frozen_floats(self.speed_rpm))
        object.__setattr__(self, "torque", frozen_floats(self.torque))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """The pulls of a session in run order, and what is asked of them.

    Attributes
    ----------
    pulls : tuple of ComparablePull
        In run order.
    builds : tuple of Build
        All builds of the session, whether they have pulls or not.
    baseline : str
        Name of the baseline.
    factors : tuple of Factor
        What was changed.
    claims : tuple of Claim
        What is to be decided.
    windows : tuple of (float, float)
        Ranges to report. [rpm]
    pairs : tuple of (str, str)
        Differences asked for, as (of, from).
    rpm_range : tuple of (float, float) or None
        Range to analyse; None for what all pulls share. [rpm]
    torque_kind : TorqueKind
        Relative torque gives answers in per cent only.
    confidence : float
        Level of intervals and bands. [1]
    draws : int
        Number of joint draws.
    """

    pulls: tuple[ComparablePull, ...]
    builds: tuple[Build, ...]
    baseline: str
    factors: tuple[Factor, ...] = ()
    claims: tuple[Claim, ...] = ()
    windows: tuple[tuple[float, float], ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()
    rpm_range: tuple[float, float] | None = None
    torque_kind: TorqueKind
    confidence: float = 0.95
    draws: int = 4000
