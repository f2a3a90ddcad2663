"""Values that recur each cycle, read from tables on a uniform crank grid: valve lift and effective areas."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pullbook.gas.compiled import kernel

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["CYCLE", "periodic_mean", "periodic_value"]

CYCLE = 4.0 * math.pi  # a four-stroke cycle, rad


@kernel
def periodic_value(table: FloatArray, angle: float) -> float:
    """Value of a periodic, never negative table at a crank angle.

    Cubic through the four nearest points with slopes by central differences: continuous with its slope, exact for
    parabolas, and zero where four neighbours are zero. Between points it may overshoot by a few thousandths of the
    largest second difference; below zero it is cut off.

    Parameters
    ----------
    table : (n,) array of float
        Values at ``k * 4 pi / n``, at least four. [any]
    angle : float
        Crank angle, any number of turns. [rad]

    Returns
    -------
    float
        Value, in the unit of the table; NaN where the angle is NaN. [any]

    References
    ----------
    .. [1] E. Catmull, R. Rom, "A class of local interpolating splines", Computer Aided Geometric Design, 1974.

    Examples
    --------
    >>> import numpy as np
    >>> round(periodic_value(np.array([0.0, 0.0, 1.0, 2.0, 1.0, 0.0]), 2.0 / 6.0 * CYCLE), 6)
    1.0
    """
    count = table.shape[0]
    place = angle * (count / CYCLE)
    if not math.isfinite(place):
        return math.nan
    whole = math.floor(place)
    along = place - whole
    here = int(whole) % count
    after = here + 1 if here + 1 < count else 0
    far = after + 1 if after + 1 < count else 0
    before = here - 1 if here > 0 else count - 1
    left, right = table[here], table[after]
    rise = right - left
    slope = 0.5 * (right - table[before])
    end_slope = 0.5 * (table[far] - left)
    bent = 3.0 * rise - 2.0 * slope - end_slope
    value = left + along * (slope + along * (bent + along * (slope + end_slope - 2.0 * rise)))
    return float(max(value, 0.0))


@kernel
def periodic_mean(table: FloatArray, start: float, end: float) -> float:
    """Mean of a periodic table over a step, by two Gauss points.

    A step that spans the opening of a valve should see the area it had on average, not the one in the middle.

    Parameters
    ----------
    table : (n,) array of float
        Values at ``k * 4 pi / n``. [any]
    start : float
        Crank angle at the start of the step. [rad]
    end : float
        Crank angle at its end. [rad]

    Returns
    -------
    float
        Mean, in the unit of the table. [any]

    References
    ----------
    .. [1] M. Abramowitz, I. A. Stegun, "Handbook of Mathematical Functions", 1964, table 25.4, n = 2.
    """
    middle, reach = 0.5 * (start + end), 0.28867513459481287 * (end - start)
    return 0.5 * (periodic_value(table, middle - reach) + periodic_value(table, middle + reach))
