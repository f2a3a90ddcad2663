"""Gear changes and slip inside a run on the rollers: rows whose drive ratio is changing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.segment_ramps import rate_of, runs, smoothed

if TYPE_CHECKING:
    from pullbook.quantities.arrays import BoolArray, FloatArray

__all__ = ["steady_ratio"]

_SLIPPING: Final = 0.30  # relative change of the drive ratio in a second
_FEWEST: Final = 5


def steady_ratio(speed_rpm: FloatArray, road_speed: FloatArray, time: FloatArray) -> BoolArray:
    """Rows in which engine and road are joined by a ratio that stays.

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Engine speed. [rpm]
    road_speed : (n,) array of float
        Road speed. [m/s]
    time : (n,) array of float
        Increasing time. [s]

    Returns
    -------
    (n,) array of bool
        False during a gear change, while the clutch or converter slips, and where fewer than five rows are left
        between two such stretches.

    Notes
    -----
    The ratio counts as changing above 30 % in a second, over a window of half a second.
    """
    ratio = np.log(np.maximum(speed_rpm, 1.0) / np.maximum(road_speed, 0.1))
    steady = np.abs(rate_of(smoothed(ratio, 1), time, 0.25)) < _SLIPPING
    for first, last in runs(steady):
        if last - first + 1 < _FEWEST:
            steady[first : last + 1] = False
    return steady
