"""JointDraws: curves of all builds together, drawn from what is known of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["JointDraws", "VarianceDraws"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VarianceDraws:
    """Draws of the scatter parameters, one of each for every joint draw.

    Attributes
    ----------
    pull_sd : (d,) array of float
        Standard deviation of the level of one pull. [% of torque]
    shape_sd : (d,) array of float
        Standard deviation of the smooth shape error of one pull. [% of torque]
    length_rpm : (d,) array of float
        Correlation length of the shape error. [rpm]
    refit_sd : (d,) array of float
        Standard deviation of the level of a re-fitting; zero where every pull is a fitting of its own, because it is
        then part of `pull_sd`. [% of torque]
    refit_shape_ratio : (d,) array of float
        Variance of the shape error of a re-fitting over that of a pull. [1]
    walk_sd : (d,) array of float
        Random walk of the level. [% / sqrt(h)]
    drift : (d,) array of float
        Linear drift of the level in this session (the trend itself, not its prior sd). [%/h]
    white_sd : float
        Noise from sample to sample. [% of torque]
    """

    pull_sd: FloatArray
    shape_sd: FloatArray
    length_rpm: FloatArray
    refit_sd: FloatArray
    refit_shape_ratio: FloatArray
    walk_sd: FloatArray
    drift: FloatArray
    white_sd: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointDraws:
    """Curves of all builds in per cent of one reference curve, with joint draws of their error.

    Every band, window, peak, crossover and claim is a functional of these same draws.

    Attributes
    ----------
    grid_rpm : (g,) array of float
        Engine speeds. [rpm]
    reference : (g,) array of float
        Curve to which per cent refer: the geometric mean of the smoothed mean curves of all builds, which favours
        none of them; NaN in a gap of the data, as are `centre` and `draws`. [N m or signal]
    cells : tuple of str
        Names of the c builds.
    centre : (c, g) array of float
        Best estimate of each build's curve. [% of `reference`]
    draws : (d, c, g) array of float
        Joint draws around it; d is 0 where each build has one pull only and no archive was used. [% of `reference`]
    variances : VarianceDraws
        Scatter parameters behind each draw.
    degrees_of_freedom : int
        Pulls minus fitted curves. [1]
    resolution_rpm : float
        Features narrower than this are smoothed. [rpm]
    refit_assumed : bool
        The re-fitting error rests on the prior, because no build was fitted twice.
    drift_assumed : bool
        The drift rests on the prior, because no build was returned to.
    seed : int
        Seed of the draws: a hash of the data.
    logarithmic : bool
        Builds differ by more than 15 %, so that differences were taken as additive in the logarithm of torque.
    from_archive : bool
        Earlier sessions were used, so that there are draws even where each build has one pull only.
    """

    grid_rpm: FloatArray
    reference: FloatArray
    cells: tuple[str, ...]
    centre: FloatArray
    draws: FloatArray
    variances: VarianceDraws
    degrees_of_freedom: int
    resolution_rpm: float
    refit_assumed: bool
    drift_assumed: bool
    seed: int
    logarithmic: bool = False
    from_archive: bool = False

    def __post_init__(self) -> None:
        for name in ("grid_rpm", "reference", "centre"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))
