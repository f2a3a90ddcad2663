"""Mean of a curve over a range of engine speed, and the classical interval to hold it against."""

from __future__ import annotations

from math import nan, sqrt
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.repeatability import pooled
from pullbook.curves.student import t_quantile

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

__all__ = ["classical_interval", "mean_over", "window_weights"]


def window_weights(speed_rpm: FloatArray, low_rpm: float, high_rpm: float) -> FloatArray:
    """Weights that turn values on a grid into their mean over a window.

    The mean is the integral of the straight lines between the grid points over the window, divided by its width;
    a window of no width gives the value at that speed.

    Parameters
    ----------
    speed_rpm : (g,) array of float
        Rising speeds. [rpm]
    low_rpm, high_rpm : float
        Ends of the window. [rpm]

    Returns
    -------
    (g,) array of float
        Weights, with sum 1; all NaN where the window is not inside the grid. [1]

    Examples
    --------
    >>> window_weights(np.array([1000.0, 2000.0, 3000.0]), 1000.0, 3000.0)
    array([0.25, 0.5 , 0.25])
    >>> window_weights(np.array([1000.0, 2000.0, 3000.0]), 1500.0, 1500.0)
    array([0.5, 0.5, 0. ])
    """
    if speed_rpm.size == 0 or low_rpm < speed_rpm[0] or high_rpm > speed_rpm[-1] or high_rpm < low_rpm:
        return np.full_like(speed_rpm, nan)
    if high_rpm == low_rpm:
        return _spread(speed_rpm, np.array([low_rpm]), np.ones(1))
    first, last = np.searchsorted(speed_rpm, low_rpm, side="right"), np.searchsorted(speed_rpm, high_rpm)
    knots = np.concatenate(([low_rpm], speed_rpm[first:last], [high_rpm]))
    steps = np.diff(knots) / (high_rpm - low_rpm)
    shares = np.zeros_like(knots)
    shares[:-1] += 0.5 * steps
    shares[1:] += 0.5 * steps
    return _spread(speed_rpm, knots, shares)


def _spread(speed_rpm: FloatArray, at_rpm: FloatArray, shares: FloatArray) -> FloatArray:
    """Shares of the values at some speeds, given to the grid points on both sides of each."""
    right = np.minimum(np.searchsorted(speed_rpm, at_rpm, side="right"), speed_rpm.size - 1)
    left = np.maximum(right - 1, 0)
    step = np.where(right > left, speed_rpm[right] - speed_rpm[left], 1.0)
    part = (at_rpm - speed_rpm[left]) / step
    count = speed_rpm.size
    weights = np.zeros(count)
    weights += np.bincount(left, weights=shares * (1.0 - part), minlength=count)
    weights += np.bincount(right, weights=shares * part, minlength=count)
    return weights


def mean_over(speed_rpm: FloatArray, values: FloatArray, low_rpm: float, high_rpm: float) -> float:
    """Mean of a measured curve over a window.

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Rising speeds of the samples. [rpm]
    values : (n,) array of float
        Samples. [unit of the curve]
    low_rpm, high_rpm : float
        Ends of the window. [rpm]

    Returns
    -------
    float
        Mean; NaN where the window is not inside the samples. [unit of the curve]

    Examples
    --------
    >>> mean_over(np.array([0.0, 10.0]), np.array([0.0, 1.0]), 2.0, 4.0)
    0.3
    """
    return float(window_weights(speed_rpm, low_rpm, high_rpm) @ values)


def classical_interval(
    of: Sequence[float], from_: Sequence[float], others: Sequence[Sequence[float]], confidence: float
) -> tuple[float, float, float]:
    """Classical t interval of a difference of two means, with one scatter for all groups.

    ``mean(of) - mean(from) +/- t_{n-p} s sqrt(1/n_of + 1/n_from)``, s the standard deviation within all groups.

    Parameters
    ----------
    of, from_ : sequence of float
        Values of the two groups. [any]
    others : sequence of sequences of float
        Further groups, used for the scatter only. [any]
    confidence : float
        Level. [1]

    Returns
    -------
    tuple of (float, float, float)
        Difference and ends of its interval; the ends are NaN where no group has two values. [as given]

    Notes
    -----
    It knows nothing of drift and of re-fitting: with one fitting a build it is too narrow.

    References
    ----------
    1. NIST/SEMATECH e-Handbook of Statistical Methods, section 7.3.1 (from memory).

    Examples
    --------
    >>> [round(x, 3) for x in classical_interval([2.0, 4.0], [0.0, 2.0], [], 0.95)]
    [2.0, -4.085, 8.085]
    """
    scatter = pooled((of, from_, *others))
    gain = float(np.mean(of) - np.mean(from_))
    if scatter.degrees_of_freedom == 0:
        return gain, nan, nan
    step = t_quantile(0.5 + confidence / 2.0, scatter.degrees_of_freedom)
    width = step * scatter.sd * sqrt(1.0 / len(of) + 1.0 / len(from_))
    return gain, gain - width, gain + width
