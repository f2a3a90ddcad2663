"""Scatter within and between groups of single numbers, after ISO 5725-2."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan, sqrt
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.kernels import matern52

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

__all__ = ["LIMIT_FACTOR", "GroupScatter", "PooledScatter", "between_groups", "pooled", "shape_profile"]

#: Factor from a standard deviation to the repeatability limit: 1.96 sqrt(2), rounded as ISO 5725-6 and ASTM E177 do.
LIMIT_FACTOR = 2.8


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledScatter:
    """Standard deviation within groups.

    Attributes
    ----------
    sum_of_squares : float
        About the mean of each group. [unit of the values, squared]
    degrees_of_freedom : int
        Values minus groups. [1]
    sd : float
        Repeatability standard deviation s_r; NaN without degrees of freedom. [unit of the values]
    """

    sum_of_squares: float
    degrees_of_freedom: int
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupScatter:
    """Repeatability and reproducibility of groups of equal size.

    Attributes
    ----------
    mean : float
        Mean of all. [unit of the values]
    sd_of_means : float
        Standard deviation of the means of the groups, s_x. [unit of the values]
    repeatability_sd : float
        Within groups, s_r. [unit of the values]
    reproducibility_sd : float
        Of a single value of any group, s_R, never below s_r. [unit of the values]
    limit : float
        Repeatability limit r = 2.8 s_r. [unit of the values]
    """

    mean: float
    sd_of_means: float
    repeatability_sd: float
    reproducibility_sd: float
    limit: float


def pooled(groups: Sequence[Sequence[float]]) -> PooledScatter:
    """Standard deviation within groups, pooled over them.

    Parameters
    ----------
    groups : sequence of sequences of float
        Values of each group, at least one. [any]

    Returns
    -------
    PooledScatter
        Sum of squares, degrees of freedom and standard deviation. [as given]

    References
    ----------
    1. NIST/SEMATECH e-Handbook of Statistical Methods, section 2.4.4.4 (mpc444.htm).

    Examples
    --------
    >>> pooled([[1.0, 3.0], [5.0, 5.0]])
    PooledScatter(sum_of_squares=2.0, degrees_of_freedom=2, sd=1.0)
    """
    squares = sum(float(np.sum((np.asarray(group) - np.mean(group)) ** 2)) for group in groups)
    freedom = sum(len(group) - 1 for group in groups)
    return PooledScatter(
        sum_of_squares=squares, degrees_of_freedom=freedom, sd=sqrt(squares / freedom) if freedom else nan
    )


def between_groups(groups: Sequence[Sequence[float]]) -> GroupScatter:
    """Repeatability and reproducibility of groups of equal size.

    ``s_R^2 = s_x^2 + s_r^2 (n - 1)/n``, and s_R is at least s_r.

    Parameters
    ----------
    groups : sequence of sequences of float
        At least two groups, each with the same number n of values. [any]

    Returns
    -------
    GroupScatter
        Means and standard deviations. [as given]

    References
    ----------
    1. ISO 5725-2, basic method; ASTM E691, section 15 (both from memory).

    Examples
    --------
    >>> round(between_groups([[1.0, 3.0], [5.0, 5.0]]).reproducibility_sd, 6)
    2.236068
    """
    within = pooled(groups)
    means = np.array([np.mean(group) for group in groups])
    size = len(groups[0])
    spread = float(means.std(ddof=1))
    reproducibility = sqrt(spread**2 + within.sd**2 * (size - 1) / size)
    return GroupScatter(
        mean=float(means.mean()),
        sd_of_means=spread,
        repeatability_sd=within.sd,
        reproducibility_sd=max(reproducibility, within.sd),
        limit=LIMIT_FACTOR * within.sd,
    )


def shape_profile(speed_rpm: FloatArray, length_rpm: float) -> FloatArray:
    """Variance over speed of a smooth error of unit variance from which its own mean over the range was taken.

    Parameters
    ----------
    speed_rpm : (g,) array of float
        Rising speeds. [rpm]
    length_rpm : float
        Correlation length of the error. [rpm]

    Returns
    -------
    (g,) array of float
        Variances, below 1 in the middle of the range and higher towards its ends. [1]

    Examples
    --------
    >>> shape_profile(np.linspace(2000.0, 6500.0, 4), 400.0).round(2)
    array([0.75, 0.75, 0.75, 0.75])
    """
    correlation = matern52(speed_rpm[:, None] - speed_rpm[None, :], length_rpm)
    row = correlation.mean(axis=1)
    result: FloatArray = np.diag(correlation) - 2.0 * row + row.mean()
    return result
