"""Findings: what a session shows, with its doubt.

Values are SI (torque N m, power W, speed rpm). In a relative session (`torque_kind` relative) every torque is a
share of the baseline's mean curve in per cent and every power is None.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.curve import CurveBand, Interval, Peak
    from pullbook.records.effect import CrossoverShift, Effect, Interaction
    from pullbook.records.pull import TorqueKind
    from pullbook.records.scatter import BadPull, Detectable, Repeatability
    from pullbook.records.verdict import ClaimFinding, Refusal
    from pullbook.records.window import WindowGain

__all__ = [
    "BuildFinding",
    "Crossover",
    "Difference",
    "Findings",
    "PossibleCrossover",
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BuildFinding:
    """Mean curve of one build.

    Attributes
    ----------
    name : str
        Name of the build.
    pulls : int
        Number of pulls used.
    fittings : int
        Number of bolt-ups they come from.
    torque : CurveBand
        Torque. [N m or %]
    power : CurveBand or None
        Power. [W]
    peak_torque, peak_power : Peak or None
        Peaks; None in a relative session.
    """

    name: str
    pulls: int
    fittings: int
    torque: CurveBand
    power: CurveBand | None
    peak_torque: Peak | None
    peak_power: Peak | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossover:
    """A speed where two curves certainly cross.

    Attributes
    ----------
    rpm, low, high : float
        Estimate and 95 % interval (inversion of the pointwise interval, after Fieller). [rpm]
    zone_low, zone_high : float
        Zone between the adjacent ranges in which the sign is certain. [rpm]
    sign_above : int
        1 when the first build is ahead above it, -1 when behind.
    """

    rpm: float
    low: float
    high: float
    zone_low: float
    zone_high: float
    sign_above: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PossibleCrossover:
    """A range in which the mean curves cross, but perhaps only by chance.

    Attributes
    ----------
    low, high : float
        Range around the crossing in which the sign is not certain. [rpm]
    """

    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Difference:
    """One build compared with another.

    Attributes
    ----------
    of, from_ : str
        Names of the builds.
    torque : CurveBand
        Torque gain, simultaneous band. [N m or %]
    power : CurveBand or None
        Power gain, simultaneous band. [W]
    percent : CurveBand
        Torque gain as a share of the curve of `from_` at the same speed, 100 (of - from)/from, draw by draw. With the
        builds swapped it is not the negated share but that of the other curve. [%]
    crossovers : tuple of Crossover
        Certified.
    possible_crossovers : tuple of PossibleCrossover
        Not certified.
    windows : tuple of WindowGain
        Gains over the windows asked for.
    peak_torque, peak_power : Interval or None
        Gain at the peaks (peak of one curve minus peak of the other). [N m, W]
    detectable : float or None
        Smallest mean gain over the whole range that this session would show with 80 % power. [%]
    """

    of: str
    from_: str
    torque: CurveBand
    power: CurveBand | None
    percent: CurveBand
    crossovers: tuple[Crossover, ...] = ()
    possible_crossovers: tuple[PossibleCrossover, ...] = ()
    windows: tuple[WindowGain, ...] = ()
    peak_torque: Interval | None = None
    peak_power: Interval | None = None
    detectable: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Findings:
    """Everything that the comparison of a session gave.

    Attributes
    ----------
    confidence : float
        Level of intervals and bands. [1]
    grid_rpm : (g,) array of float
        Speeds of all curves. [rpm]
    torque_kind : TorqueKind
        Relative sessions speak in per cent only.
    baseline : str
        Name of the baseline.
    reference_torque : (g,) array of float
        The baseline's smoothed mean, to which per cent refer. [N m or signal]
    resolution_rpm : float
        Features narrower than this are smoothed. [rpm]
    has_bands : bool
        False where no doubt can be stated.
    seed : int
        Seed of the draws, a hash of the data.
    """

    confidence: float
    grid_rpm: FloatArray
    torque_kind: TorqueKind
    baseline: str
    reference_torque: FloatArray
    resolution_rpm: float
    has_bands: bool
    seed: int
    repeatability: Repeatability | None
    builds: tuple[BuildFinding, ...]
    differences: tuple[Difference, ...]
    effects: tuple[Effect, ...] = ()
    interactions: tuple[Interaction, ...] = ()
    crossover_shifts: tuple[CrossoverShift, ...] = ()
    claims: tuple[ClaimFinding, ...] = ()
    bad_pulls: tuple[BadPull, ...] = ()
    detectable: tuple[Detectable, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    assumptions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "grid_rpm", frozen_floats(self.grid_rpm))
        object.__setattr__(self, "reference_torque", frozen_floats(self.reference_torque))
