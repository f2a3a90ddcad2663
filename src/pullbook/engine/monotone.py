"""Curves through measured points that rise where the points rise, and overshoot nowhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from pullbook.quantities.arrays import FloatArray

__all__ = ["monotone_curve"]


def monotone_curve(x: FloatArray, y: FloatArray, at: ArrayLike) -> FloatArray:
    """Values between points by a piecewise cubic that keeps their monotony.

    The slope at a point is the weighted harmonic mean of the slopes beside it, and zero at a local extreme; at the ends
    it is that of the parabola through three points, limited so that nothing overshoots. Beyond the ends the end values
    are held.

    Parameters
    ----------
    x : (n,) array of float
        Rising, two at least. [any]
    y : (n,) array of float
        Values. [any]
    at : (m,) array_like of float
        Where they are wanted. [unit of x]

    Returns
    -------
    (m,) array of float
        Values. [unit of y]

    References
    ----------
    .. [1] F. N. Fritsch, J. Butland, "A method for constructing local monotone piecewise cubic interpolants", SIAM
       Journal on Scientific and Statistical Computing 5, 1984 (from memory).

    Examples
    --------
    >>> monotone_curve(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 1.0]), [0.5, 1.5]).tolist()
    [0.6875, 1.0]
    """
    width = np.diff(x)
    rise = np.diff(y) / width
    slopes = _slopes(width, rise)
    where = np.clip(np.asarray(at, dtype=np.float64), x[0], x[-1])
    k = np.clip(np.searchsorted(x, where, side="right") - 1, 0, x.size - 2)
    s = (where - x[k]) / width[k]
    left, right = slopes[k] * width[k], slopes[k + 1] * width[k]
    step = y[k + 1] - y[k]
    cubic = left + right - 2.0 * step
    return np.asarray(y[k] + s * (left + s * (3.0 * step - 2.0 * left - right + s * cubic)), dtype=np.float64)


def _slopes(width: FloatArray, rise: FloatArray) -> FloatArray:
    if rise.size == 1:
        return np.repeat(rise, 2)
    slopes = np.zeros(rise.size + 1)
    before, after = rise[:-1], rise[1:]
    product = before * after
    near, far = 2.0 * width[1:] + width[:-1], width[1:] + 2.0 * width[:-1]
    along = product > 0.0
    slopes[1:-1][along] = ((near + far) * product)[along] / (near * after + far * before)[along]
    slopes[0] = _end_slope(width[0], width[1], rise[0], rise[1])
    slopes[-1] = _end_slope(width[-1], width[-2], rise[-1], rise[-2])
    return slopes


def _end_slope(width: float, next_width: float, rise: float, next_rise: float) -> float:
    """Slope of the parabola through three points at the first of them, limited."""
    slope = ((2.0 * width + next_width) * rise - width * next_rise) / (width + next_width)
    if slope * rise <= 0.0:
        return 0.0
    if rise * next_rise <= 0.0 and abs(slope) > abs(3.0 * rise):
        return float(3.0 * rise)
    return float(slope)
