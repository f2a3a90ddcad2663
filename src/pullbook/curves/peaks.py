"""Peak of a curve: its height, where it is, and how well both are known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.quantiles import percentile_interval

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["PeakPlace", "peak_height", "peak_place", "peak_range"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PeakPlace:
    """Highest grid point of a curve.

    Attributes
    ----------
    index : int
        Its place on the grid. [1]
    value : float
        Height. [unit of the curve]
    rpm : float
        Speed. [rpm]
    """

    index: int
    value: float
    rpm: float


def peak_place(speed_rpm: FloatArray, centre: FloatArray) -> PeakPlace:
    """Highest grid point; the lowest speed where several are equal.

    Parameters
    ----------
    speed_rpm : (g,) array of float
        Rising speeds. [rpm]
    centre : (g,) array of float
        Curve, without NaN. [any]

    Returns
    -------
    PeakPlace
        Place, height and speed. [rpm]

    Examples
    --------
    >>> peak_place(np.array([1000.0, 2000.0]), np.array([3.0, 4.0]))
    PeakPlace(index=1, value=4.0, rpm=2000.0)
    """
    index = int(centre.argmax())
    return PeakPlace(index=index, value=float(centre[index]), rpm=float(speed_rpm[index]))


def peak_height(draws: FloatArray, confidence: float) -> tuple[float, float]:
    """Interval of the height of the peak, wherever it is in each draw.

    Parameters
    ----------
    draws : (d, g) array of float
        Draws of the curve. [any]
    confidence : float
        Level. [1]

    Returns
    -------
    tuple of (float, float)
        Lower and upper end: percentiles of the peaks of the draws. [unit of the curve]

    Notes
    -----
    The highest of several noisy points is on average too high; with curves from a few pulls by less than 0.1 %.

    Examples
    --------
    >>> peak_height(np.arange(39.0)[:, None], 0.95)
    (0.0, 38.0)
    """
    return percentile_interval(draws.max(axis=1), confidence)


def peak_range(speed_rpm: FloatArray, draws: FloatArray, index: int, alpha: float) -> tuple[float, float]:
    """Range of speeds at which the curve is not certainly lower than at its peak.

    All speeds r whose one-sided upper bound of ``T(r) - T(peak)`` is not below zero; the hull where they are in pieces.

    Parameters
    ----------
    speed_rpm : (g,) array of float
        Rising speeds. [rpm]
    draws : (d, g) array of float
        Draws of the curve. [any]
    index : int
        Place of the peak of the best estimate. [1]
    alpha : float
        Level of the one-sided bound. [1]

    Returns
    -------
    tuple of (float, float)
        Ends of the range. [rpm]

    Examples
    --------
    >>> peak_range(np.array([1.0, 2.0, 3.0]), np.array([[1.0, 3.0, 4.0], [1.0, 4.0, 3.0]]), 1, 0.05)
    (2.0, 3.0)
    """
    rows = np.ascontiguousarray(draws.T)
    as_high = np.count_nonzero(rows >= rows[index], axis=1)
    places = np.flatnonzero(as_high > alpha * rows.shape[1])
    return float(speed_rpm[places[0]]), float(speed_rpm[places[-1]])
