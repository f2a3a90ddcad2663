"""Half-widths of the means over all windows between some speeds, at a small part of the cost of one after another."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.quantiles import rank_at

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["integrals_to", "mean_half_widths", "round_ends", "share_half_widths", "window_places"]

_STEPS: Final = (1.0, 2.0, 4.0, 5.0, 10.0, 20.0)  # of the grid
_NEARLY: Final = 0.93  # of the half-width of the window beside: what most draws stay below


def round_ends(speed_rpm: FloatArray, most: int) -> FloatArray:
    """Speeds of an even grid at which windows may begin and end: its two ends, and the round ones in between.

    Parameters
    ----------
    speed_rpm : (k,) array of float
        Speeds at one distance from each other, multiples of it. [rpm]
    most : int
        How many there may be, roughly. [1]

    Returns
    -------
    (n,) array of float
        Some of the speeds. [rpm]

    Examples
    --------
    >>> round_ends(np.arange(2050.0, 2500.0, 50.0), 6)
    array([2050., 2100., 2200., 2300., 2400., 2450.])
    """
    if speed_rpm.size < 3:
        return speed_rpm.copy()
    grid = float(speed_rpm[1] - speed_rpm[0])
    span = float(speed_rpm[-1] - speed_rpm[0])
    step = next((grid * by for by in _STEPS if span / (grid * by) <= most - 1), grid * _STEPS[-1])
    kept = np.abs(speed_rpm / step - np.round(speed_rpm / step)) < 1e-6
    kept[[0, -1]] = True
    return speed_rpm[kept]


def window_places(count: int) -> tuple[IntArray, IntArray]:
    """Numbers of the lower and the upper end of all windows between some speeds, by lower end, then by upper end.

    Parameters
    ----------
    count : int
        Number n of speeds. [1]

    Returns
    -------
    tuple of two (n (n - 1)/2,) arrays of int
        Places of the ends. [1]

    Examples
    --------
    >>> window_places(3)
    (array([0, 0, 1]), array([1, 2, 2]))
    """
    return np.triu_indices(count, 1)


def integrals_to(speed_rpm: FloatArray, values: FloatArray, ends_rpm: FloatArray) -> FloatArray:
    """Integral of the straight lines between samples, from the first of them to some speeds.

    Parameters
    ----------
    speed_rpm : (k,) array of float
        Rising speeds. [rpm]
    values : (k,) or (k, d) array of float
        Samples. [any]
    ends_rpm : (n,) array of float
        Speeds inside their range. [rpm]

    Returns
    -------
    (n,) or (n, d) array of float
        Integrals. [unit of `values` times rpm]

    Examples
    --------
    >>> integrals_to(np.array([0.0, 2.0, 4.0]), np.array([0.0, 1.0, 0.0]), np.array([1.0, 2.0, 4.0]))
    array([0.25, 1.  , 2.  ])
    """
    lengths = [1] * (values.ndim - 1)
    step = np.diff(speed_rpm).reshape(-1, *lengths)
    whole = np.zeros_like(values)
    np.add(values[1:], values[:-1], out=whole[1:])
    whole[1:] *= 0.5 * step
    np.cumsum(whole, axis=0, out=whole)
    left = np.searchsorted(speed_rpm, ends_rpm, side="right") - 1
    found: FloatArray = whole[left]
    beyond = (ends_rpm - speed_rpm[left]).reshape(-1, *lengths)
    if beyond.any():
        right = np.minimum(left + 1, speed_rpm.size - 1)
        slope = (values[right] - values[left]) / step[np.minimum(left, step.shape[0] - 1)]
        found += beyond * (values[left] + 0.5 * beyond * slope)
    return found


def mean_half_widths(integrals: FloatArray, ends_rpm: FloatArray, level: float) -> FloatArray:
    """Half-widths that hold the share `level` of the draws of the mean over each window.

    Parameters
    ----------
    integrals : (n, d) array of float
        Integrals of the d deviations up to each end, as `integrals_to` gives them. [any times rpm]
    ends_rpm : (n,) array of float
        The ends. [rpm]
    level : float
        Share of the draws, two-sided. [1]

    Returns
    -------
    (n (n - 1)/2,) array of float
        Half-widths in the order of `window_places`; NaN without draws. [any]

    Notes
    -----
    The same order statistics as `pullbook.curves.quantiles.half_widths` gives for each window by itself.

    Examples
    --------
    >>> to = integrals_to(np.array([0.0, 1.0, 2.0]), np.array([[1.0, 3.0], [1.0, 0.0], [1.0, 0.0]]), np.arange(3.0))
    >>> mean_half_widths(to, np.arange(3.0), 0.5)
    array([1.5, 1. , 1. ])
    """

    def row(place: int, into: FloatArray) -> None:
        np.subtract(integrals[place + 1 :], integrals[place], out=into)
        np.abs(into, out=into)

    return _swept(row, integrals.shape, ends_rpm, level) / _widths(ends_rpm)


def share_half_widths(
    gains: FloatArray, bases: FloatArray, centres: FloatArray, ends_rpm: FloatArray, level: float
) -> FloatArray:
    """Half-widths of the mean gain over each window in per cent of the mean that it is a gain on.

    Parameters
    ----------
    gains, bases : (n, d) array of float
        Integrals of the d draws of the gain and of what it is a gain on, up to each end. [any times rpm]
    centres : (n (n - 1)/2,) array of float
        Best estimate of the share for each window. [%]
    ends_rpm : (n,) array of float
        The ends. [rpm]
    level : float
        Share of the draws, two-sided. [1]

    Returns
    -------
    (n (n - 1)/2,) array of float
        Half-widths about `centres`, in the order of `window_places`; NaN without draws. [%]
    """
    count = ends_rpm.size
    starts = np.concatenate(([0], np.cumsum(np.arange(count - 1, 0, -1))))
    below = np.empty((max(count - 1, 0), gains.shape[1]))

    def row(place: int, into: FloatArray) -> None:
        base = np.subtract(bases[place + 1 :], bases[place], out=below[: count - 1 - place])
        np.subtract(gains[place + 1 :], gains[place], out=into)
        into /= base
        into -= centres[starts[place] : starts[place + 1], None] / 100.0
        np.abs(into, out=into)

    return 100.0 * _swept(row, gains.shape, ends_rpm, level, grows=False)


def _widths(ends_rpm: FloatArray) -> FloatArray:
    low, high = window_places(ends_rpm.size)
    return ends_rpm[high] - ends_rpm[low]


def _swept(
    row: Callable[[int, FloatArray], None], shape: tuple[int, ...], ends_rpm: FloatArray, level: float,
    *, grows: bool = True,
) -> FloatArray:  # fmt: skip
    """Order statistics of all windows, lower end after lower end.

    The window with the same upper end and the next lower end has nearly the same half-width, so that most draws can
    be left out before the statistic is looked for; where too many were, all are taken again.
    """
    count, draws = shape
    if draws == 0:
        return np.full(count * (count - 1) // 2, np.nan)
    found: list[FloatArray] = [np.zeros(0)]
    above = draws - rank_at(level, draws)
    buffer = np.empty((count, draws))
    expected = np.zeros(count)
    for place in range(count - 1):
        sizes = buffer[: count - 1 - place]
        row(place, sizes)
        if grows and place > 0:
            shorter = (ends_rpm[place + 1 :] - ends_rpm[place]) / (ends_rpm[place + 1 :] - ends_rpm[place - 1])
            expected = expected * shorter
        limits = _NEARLY * expected[-sizes.shape[0] :]
        half = np.array([_kth(one, limit, above) for one, limit in zip(sizes, limits, strict=True)])
        found.append(half)
        expected = half[1:]
    return np.concatenate(found)


def _kth(sizes: FloatArray, limit: float, above: int) -> float:
    """The value that `above` of the sizes reach, looked for among those that reach a limit."""
    some = sizes[sizes >= limit]
    if some.size < above:
        some = sizes.copy()
    some.partition(some.size - above)
    return float(some[some.size - above])
