"""Smoothed derivative of a signal that was sampled at uneven times.

Differences of neighbouring samples of an engine speed are useless: the bench repeats a value until the next one
arrives, and its clock jitters. A local polynomial over a stated span of time gives the slope without either.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["local_slope", "slope_bandwidth"]

_USUAL: Final = 0.5  # s: 50 to 300 rpm at the usual 100 to 600 rpm/s, the smoothing that testers use
_PARTS: Final = 20  # a fast sweep is still seen in this many parts
_UPDATES: Final = 8  # fresh values that a span should hold
_CHUNK: Final = 2_000_000  # cells of the window table in memory at once
_DEGENERATE: Final = 1e-10


def slope_bandwidth(time: ArrayLike, values: ArrayLike) -> float:
    """Span of time over which a slope of this signal should be taken.

    Half a second, or a twentieth of the whole time where that is shorter, but never less than eight fresh values take;
    repeated (held) values are not fresh.

    Parameters
    ----------
    time : (n,) array of float
        Time of each sample, any order. [s]
    values : (n,) array of float
        Signal. [any unit]

    Returns
    -------
    float
        Full width of the span; NaN with fewer than three fresh values. [s]

    Examples
    --------
    >>> slope_bandwidth(np.arange(1000) * 0.02, np.arange(1000.0))  # 20 s
    0.5
    >>> slope_bandwidth(np.arange(201) * 0.02, np.arange(201.0))  # 4 s
    0.2
    >>> slope_bandwidth(np.arange(100) * 0.2, np.arange(100.0))  # five samples a second
    1.6
    """
    seconds, signal, _ = _sorted_finite(time, values)
    if seconds.size < 3:
        return float("nan")
    fresh = 1 + np.count_nonzero(np.diff(signal))
    length = float(seconds[-1] - seconds[0])
    if fresh < 3 or length <= 0.0:
        return float("nan")
    return float(max(min(_USUAL, length / _PARTS), _UPDATES * length / (fresh - 1)))


def local_slope(time: ArrayLike, values: ArrayLike, bandwidth: float) -> FloatArray:
    r"""Slope of a local parabola, weighted by the tricube of the distance in time.

    At each sample the parabola :math:`y \approx b_0 + b_1 (t - t_i) + b_2 (t - t_i)^2` is fitted to all samples in a
    span of `bandwidth` around it, with weights :math:`(1 - |u|^3)^3` [1]_, and :math:`b_1` is returned. Near the ends,
    where the span has room on one side only, it grows to twice `bandwidth`, so that the noise of the slope does not
    explode there.

    Parameters
    ----------
    time : (n,) array of float
        Time of each sample, any order; equal times are allowed. [s]
    values : (n,) array of float
        Signal; samples that are not finite take no part. [any unit]
    bandwidth : float
        Full width of the span. [s]

    Returns
    -------
    (n,) array of float
        Slope at each sample; NaN where the sample is not finite or its span holds fewer than three distinct times.
        [unit of the signal per s]

    Notes
    -----
    A parabola is reproduced exactly on any times. Of a sinusoid whose period is one, two or four bandwidths, 58, 88
    and 97 per cent of the slope are kept.

    References
    ----------
    .. [1] W. S. Cleveland, "Robust Locally Weighted Regression and Smoothing Scatterplots", Journal of the American
       Statistical Association 74, 1979, section 2 (from memory).

    Examples
    --------
    >>> t = np.array([0.0, 0.11, 0.19, 0.32, 0.40, 0.49])
    >>> [float(slope) for slope in local_slope(t, 300.0 * t, 0.5)]
    [300.0, 300.0, 300.0, 300.0, 300.0, 300.0]
    """
    seconds, signal, order = _sorted_finite(time, values)
    slopes = np.full(np.shape(time), np.nan)
    if seconds.size >= 3 and bandwidth > 0.0:
        first, last = _spans(seconds, bandwidth)
        widest = int((last - first).max())
        step = max(1, _CHUNK // widest)
        parts = [
            _slopes_at(seconds, signal, np.arange(start, min(start + step, seconds.size)), first, last)
            for start in range(0, seconds.size, step)
        ]
        slopes[order] = np.concatenate(parts)
    return slopes


def _sorted_finite(time: ArrayLike, values: ArrayLike) -> tuple[FloatArray, FloatArray, IntArray]:
    seconds = np.asarray(time, dtype=np.float64)
    signal = np.asarray(values, dtype=np.float64)
    finite = np.flatnonzero(np.isfinite(seconds) & np.isfinite(signal))
    order = finite[np.argsort(seconds[finite], kind="stable")]
    return seconds[order], signal[order], order


def _spans(seconds: FloatArray, bandwidth: float) -> tuple[IntArray, IntArray]:
    """First and one-past-last index of the span of each sample, growing to twice the bandwidth at the ends."""
    half = 0.5 * bandwidth
    room = np.minimum(np.minimum(seconds - seconds[0], seconds[-1] - seconds), half)
    width = bandwidth * (2.0 - room / half)
    at_start = seconds - seconds[0] <= seconds[-1] - seconds
    low = np.where(at_start, seconds - room, seconds + room - width)
    slack = 1e-9 * bandwidth  # a sample that lies on the edge belongs to the span whatever the last bit says
    first = np.searchsorted(seconds, low - slack, side="left")
    last = np.searchsorted(seconds, low + width + slack, side="right")
    return first, last


def _slopes_at(seconds: FloatArray, signal: FloatArray, at: IntArray, first: IntArray, last: IntArray) -> FloatArray:
    """Slopes at some samples, by the normal equations of the weighted parabola in scaled time."""
    index = first[at, None] + np.arange(int((last[at] - first[at]).max()))[None, :]
    inside = index < last[at, None]
    index = np.minimum(index, seconds.size - 1)
    distance = np.where(inside, seconds[index] - seconds[at, None], 0.0)
    reach = np.abs(distance).max(axis=1, keepdims=True) * (1.0 + 1e-3)
    with np.errstate(invalid="ignore", divide="ignore"):
        u = distance / reach
        cube = np.abs(u * u * u)
        flat = 1.0 - cube
        weight = np.where(inside, flat * flat * flat, 0.0)
        offset = np.where(inside, signal[index] - signal[at, None], 0.0)
        moments, right = [], []
        for power in range(5):
            moments.append(np.asarray(weight.sum(axis=1)))
            if power < 3:
                right.append(np.asarray(np.einsum("ij,ij->i", weight, offset)))
            weight = weight * u
        return np.asarray(_middle_coefficient(moments, right) / reach[:, 0])


def _middle_coefficient(m: list[FloatArray], r: list[FloatArray]) -> FloatArray:
    """Coefficient of u in the weighted parabola, by Cramer's rule; NaN where the times do not fix a parabola."""
    whole = m[0] * (m[2] * m[4] - m[3] ** 2) - m[1] * (m[1] * m[4] - m[2] * m[3]) + m[2] * (m[1] * m[3] - m[2] ** 2)
    middle = (
        m[0] * (r[1] * m[4] - r[2] * m[3]) - r[0] * (m[1] * m[4] - m[2] * m[3]) + m[2] * (m[1] * r[2] - m[2] * r[1])
    )
    return np.asarray(np.where(np.abs(whole) > _DEGENERATE * m[0] ** 3, middle / whole, np.nan))
