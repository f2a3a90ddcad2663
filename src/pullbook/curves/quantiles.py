"""Order statistics of draws: half-widths, percentile intervals and tail probabilities."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["half_width", "half_widths", "percentile_interval", "rank_at", "tail_probability"]


def rank_at(level: float, count: int) -> int:
    """Zero-based rank of the order statistic that leaves at most `1 - level` above it.

    Parameters
    ----------
    level : float
        Share of the draws. [1]
    count : int
        Number of draws. [1]

    Returns
    -------
    int
        The rank, counted from the smallest. [1]

    Examples
    --------
    >>> rank_at(0.95, 4000)
    3800
    """
    return min(max(ceil(level * (count + 1)) - 1, 0), count - 1)


def half_widths(deviations: FloatArray, level: float) -> FloatArray:
    """Half-widths that hold the share `level` of the draws at each speed by itself.

    ``h(r) = quantile over draws of |deviation(r)|``, the order statistic of rank ceil(level (d + 1)).

    Parameters
    ----------
    deviations : (d, g) array of float
        Draws minus their centre. [unit of the curve]
    level : float
        Share of the draws, two-sided. [1]

    Returns
    -------
    (g,) array of float
        Half-widths. [unit of the curve]

    Notes
    -----
    An order statistic, not an interpolation, so that the half-width of the negated curve is the same to the last bit.
    A NaN in a column gives NaN there. Error of a 95 % half-width from 4,000 draws: about 1.7 %.

    Examples
    --------
    >>> half_widths(np.array([[-3.0, 1.0], [1.0, -1.0], [2.0, 1.0]]), 0.5)
    array([2., 1.])
    """
    rows = np.ascontiguousarray(np.abs(deviations).T)
    rank = rank_at(level, rows.shape[-1])
    found: FloatArray = np.partition(rows, rank, axis=-1)[:, rank]
    found[np.isnan(rows).any(axis=-1)] = np.nan
    return found


def half_width(deviations: FloatArray, level: float) -> float:
    """Half-width that holds the share `level` of the draws of one number.

    Parameters
    ----------
    deviations : (d,) array of float
        Draws minus their centre. [unit of the number]
    level : float
        Share of the draws, two-sided. [1]

    Returns
    -------
    float
        Half-width. [unit of the number]

    Examples
    --------
    >>> half_width(np.array([-3.0, 1.0, 2.0]), 0.5)
    2.0
    """
    return float(half_widths(deviations[:, None], level)[0])


def percentile_interval(draws: FloatArray, level: float) -> tuple[float, float]:
    """Interval between the two order statistics that leave the same number of draws outside on each side.

    Parameters
    ----------
    draws : (d,) array of float
        Draws of one number. [unit of the number]
    level : float
        Share of the draws inside. [1]

    Returns
    -------
    tuple of (float, float)
        Lower and upper end. [unit of the number]

    Notes
    -----
    Right for functionals that are not linear, as a peak is, where the draws lie unevenly about the estimate. The
    interval of the negated draws is the negated interval to the last bit.

    Examples
    --------
    >>> percentile_interval(np.arange(1.0, 40.0), 0.95)
    (1.0, 39.0)
    """
    upper = rank_at((1.0 + level) / 2.0, draws.size)
    lower = draws.size - 1 - upper
    parts = np.partition(draws, (lower, upper))
    return float(parts[lower]), float(parts[upper])


def tail_probability(beyond: int, count: int) -> float:
    """Probability of a tail that `beyond` of `count` draws reached.

    ``p = (beyond + 1) / (count + 1)``: never zero, so that no probability is stated below what the draws resolve.

    Parameters
    ----------
    beyond : int
        Draws in the tail. [1]
    count : int
        All draws. [1]

    Returns
    -------
    float
        Probability. [1]

    References
    ----------
    1. A. C. Davison, D. V. Hinkley, Bootstrap Methods and their Application, 1997, equation 4.11 (from memory).

    Examples
    --------
    >>> tail_probability(0, 3999)
    0.00025
    """
    return (beyond + 1) / (count + 1)
