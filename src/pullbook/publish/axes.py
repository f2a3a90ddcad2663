"""Axes: ranges that hold the data, with round ticks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.publish.chart import Axis
from pullbook.publish.figures import separated
from pullbook.publish.ticks import nice_range, nice_ticks
from pullbook.quantities.rounding import digits

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pullbook.publish.telling import Telling
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.curve import CurveBand

__all__ = ["RPM_TITLE", "difference_axis", "rpm_axis", "tick_labels", "value_axis"]

RPM_TITLE: Final = "engine speed, rpm"


def rpm_axis(telling: Telling) -> Axis:
    """The one axis of engine speed that all charts of a session share."""
    low, high = telling.ends_rpm
    ticks = nice_ticks(low, high)
    return Axis(title=RPM_TITLE, low=low, high=high, ticks=ticks, labels=tuple(separated(f"{t:.0f}") for t in ticks))


def value_axis(title: str, arrays: Iterable[FloatArray], *, signed: bool = False, most: int = 6) -> Axis:
    """Axis that holds all finite values, with round ticks.

    Parameters
    ----------
    title : str
        What it shows, with the unit.
    arrays : iterable of (n,) array of float
        What has to fit. [as `title` says]
    signed : bool
        Zero is on the axis and positive ticks have their plus.
    most : int
        Largest number of ticks.

    Returns
    -------
    Axis
        The axis.
    """
    values = np.concatenate([np.zeros(0), *(np.ravel(array) for array in arrays)])
    values = values[np.isfinite(values)]
    low, high = (float(values.min()), float(values.max())) if values.size else (0.0, 1.0)
    if signed:
        low, high = min(low, 0.0), max(high, 0.0)
    low, high = nice_range(low, high)
    ticks = nice_ticks(low, high, most)
    return Axis(title=title, low=low, high=high, ticks=ticks, labels=tuple(tick_labels(ticks, signed=signed)))


def tick_labels(ticks: Sequence[float], *, signed: bool) -> list[str]:
    """Labels with as many decimals as the step needs.

    Parameters
    ----------
    ticks : sequence of float
        Where the ticks are. [any]
    signed : bool
        Positive ones have their plus.

    Returns
    -------
    list of str
        One for each tick.

    Examples
    --------
    >>> tick_labels((-0.5, 0.0, 0.5), signed=True)
    ['-0.5', '0.0', '+0.5']
    """
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    decimals = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    return [separated(digits(tick, decimals, signed=signed)) for tick in ticks]


def difference_axis(telling: Telling, bands: Iterable[CurveBand]) -> Axis:
    """Axis that fits all the differences of a chart, so that their sizes compare by eye."""
    shown = [telling.torque.shown(curve) for band in bands for curve in (band.mean, band.low, band.high)]
    return value_axis(telling.torque.symbol, shown, signed=True, most=5)
