"""Steady points: where a log holds the speed, and the means over each hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.segment_ramps import Leg, rate_of, runs, smoothed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.quantities.channels import Channel

__all__ = ["find_holds", "means_of_holds"]

_QUIET: Final = 0.004  # a hold changes by less than this share of the highest speed in a second
_SHORTEST: Final = 2.0


def find_holds(speed: FloatArray, time: FloatArray) -> tuple[Leg, ...]:
    """Stretches of at least two seconds in which the speed stays where it is.

    Parameters
    ----------
    speed : (n,) array of float
        Engine speed without NaN. [rpm]
    time : (n,) array of float
        Increasing time. [s]

    Returns
    -------
    tuple of Leg
        In the order of the log, shortened by half a second at each end, in which the speed settles.
    """
    step = float(np.median(np.diff(time)))
    steady = smoothed(speed, max(1, round(0.25 / step)) if step > 0.0 else 0)
    quiet = np.abs(rate_of(steady, time, 0.5)) < _QUIET * float(speed.max())
    return tuple(
        Leg(first=first, last=last, rising=True, span=0.0)
        for first, last in runs(quiet)
        if time[last] - time[first] >= _SHORTEST
    )


def means_of_holds(
    channels: Mapping[Channel, FloatArray], rows: IntArray, holds: Sequence[Leg]
) -> tuple[dict[Channel, FloatArray], IntArray]:
    """Mean of each channel over each hold, and the file row in the middle of it.

    Returns
    -------
    mapping of Channel to (k,) array of float
        Means over the holds, NaN where a channel has no number in one. [SI unit of the channel]
    (k,) array of int
        Rows of the file. [1]
    """
    means: dict[Channel, FloatArray] = {}
    for channel, values in channels.items():
        parts = [values[hold.part] for hold in holds]
        means[channel] = np.array([np.mean(p[np.isfinite(p)]) if np.isfinite(p).any() else np.nan for p in parts])
    middles = rows[[(hold.first + hold.last) // 2 for hold in holds]]
    return means, middles
