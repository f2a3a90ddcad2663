"""Channels without gaps and without single glitches."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["MEDIAN_OF", "bridged", "running_median"]

MEDIAN_OF: Final = 9  # samples of the running median


def bridged(values: FloatArray) -> FloatArray:
    """Values with gaps filled by straight lines from sample to sample, the ends by their neighbour.

    Parameters
    ----------
    values : (n,) array of float
        At least one is finite. [any unit]

    Returns
    -------
    (n,) array of float
        Finite everywhere. [unit of `values`]

    Examples
    --------
    >>> bridged(np.array([np.nan, 1.0, np.nan, 3.0]))
    array([1., 1., 2., 3.])
    """
    finite = np.flatnonzero(np.isfinite(values))
    return np.asarray(np.interp(np.arange(values.size), finite, values[finite]))


def running_median(values: FloatArray) -> FloatArray:
    """Median of nine neighbouring samples, which takes out glitches of up to four samples and keeps steps.

    Parameters
    ----------
    values : (n,) array of float
        Finite values. [any unit]

    Returns
    -------
    (n,) array of float
        Running median; the first and last value are repeated beyond the ends. [unit of `values`]

    Examples
    --------
    >>> running_median(np.array([1.0, 1.0, 50.0, 1.0, 1.0]))
    array([1., 1., 1., 1., 1.])
    """
    padded = np.pad(values, MEDIAN_OF // 2, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, MEDIAN_OF), axis=1))
