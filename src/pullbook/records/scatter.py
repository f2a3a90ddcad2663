"""Repeatability, BadPull, Detectable: how far the pulls of one build differ, and what that hides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.curve import Interval

__all__ = [
    "BadPull",
    "Detectable",
    "Repeatability",
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Repeatability:
    """Scatter of this bench.

    Attributes
    ----------
    sd : Interval
        Standard deviation of one pull, mean over the range. [% of torque]
    r : float
        Repeatability limit 2.8 sd (ISO 5725-6): two pulls of one fitting differ by less in 95 of 100 cases. [%]
    sd_curve : (g,) array of float
        Standard deviation over rpm. [%]
    refit_sd : Interval
        Standard deviation of a re-fitting. [%]
    refit_assumed : bool
        No build was fitted twice, so that `refit_sd` rests on the declared prior.
    drift_per_hour : Interval
        Linear drift of the session. [%/h]
    from_archive : bool
        Earlier sessions were used.
    self_check_ratio : float or None
        Half-width of the band over that of an independent method; None below 4 degrees of freedom. [1]
    """

    sd: Interval
    r: float
    sd_curve: FloatArray
    refit_sd: Interval
    refit_assumed: bool
    drift_per_hour: Interval
    from_archive: bool = False
    self_check_ratio: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "sd_curve", frozen_floats(self.sd_curve))


@dataclass(frozen=True, slots=True, kw_only=True)
class BadPull:
    """A pull that does not agree with the others of its build.

    Attributes
    ----------
    pull, build : str
        Which.
    p : float
        Adjusted probability of such a pull by chance. [1]
    from_rpm, to_rpm : float
        Where it departs. [rpm]
    """

    pull: str
    build: str
    p: float
    from_rpm: float
    to_rpm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Detectable:
    """What this session could have seen.

    Attributes
    ----------
    of, from_ : str
        The difference.
    from_rpm, to_rpm : float
        The window. [rpm]
    percent : float
        Smallest true mean gain that it shows with 80 % power. [%]
    """

    of: str
    from_: str
    from_rpm: float
    to_rpm: float
    percent: float
