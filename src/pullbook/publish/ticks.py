"""Round tick values, and direct labels moved apart so that none lies on another."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["fine_ticks", "nice_range", "nice_ticks", "spread"]


def nice_ticks(low: float, high: float, most: int = 6) -> tuple[float, ...]:
    """Round values within a range, at steps of 1, 2 or 5 times a power of ten.

    Parameters
    ----------
    low, high : float
        Ends of the range. [any]
    most : int
        Largest number of ticks.

    Returns
    -------
    tuple of float
        Ascending. [as the range]

    Examples
    --------
    >>> nice_ticks(1950.0, 7000.0)
    (2000.0, 3000.0, 4000.0, 5000.0, 6000.0, 7000.0)
    """
    span = high - low
    if not span > 0.0:
        return (low,)
    step = 10.0 ** math.floor(math.log10(span / most))
    while True:
        for multiple in (1.0, 2.0, 5.0):
            first = math.ceil(low / (step * multiple) - 1e-9)
            last = math.floor(high / (step * multiple) + 1e-9)
            if last - first + 1 <= most:
                return tuple(n * step * multiple for n in range(first, last + 1))
        step *= 10.0


def fine_ticks(ticks: Sequence[float], low: float, high: float, parts: int = 5) -> tuple[float, ...]:
    """Values that cut the steps between ticks into parts, for the fine ruling of the paper.

    Parameters
    ----------
    ticks : sequence of float
        Equally spaced. [any]
    low, high : float
        Ends of the range. [as `ticks`]
    parts : int
        Parts of a step.

    Returns
    -------
    tuple of float
        Ascending, without the ticks themselves. [as `ticks`]

    Examples
    --------
    >>> fine_ticks((0.0, 10.0), 0.0, 12.0)
    (2.0, 4.0, 6.0, 8.0, 12.0)
    """
    if len(ticks) < 2:
        return ()
    step = (ticks[1] - ticks[0]) / parts
    first, last = math.ceil((low - ticks[0]) / step - 1e-9), math.floor((high - ticks[0]) / step + 1e-9)
    return tuple(ticks[0] + n * step for n in range(first, last + 1) if n % parts)


def nice_range(low: float, high: float, margin: float = 0.06) -> tuple[float, float]:
    """Range with some air above and below, which is never empty.

    Parameters
    ----------
    low, high : float
        Extremes of the data. [any]
    margin : float
        Air as a share of the span. [1]

    Returns
    -------
    tuple of float
        Ends. [as the data]

    Examples
    --------
    >>> nice_range(0.0, 100.0, 0.05)
    (-5.0, 105.0)
    """
    span = high - low
    air = span * margin if span > 0.0 else max(abs(high) * margin, 1.0)
    return low - air, high + air


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> tuple[float, ...]:
    """Positions as near as possible to the wanted ones, in the same order, at least `gap` apart and inside the range.

    Least squares with order constraints, by pooling neighbours [1]_. Where the range is too short for all, the
    gap shrinks to what fits.

    Parameters
    ----------
    wanted : sequence of float
        Where each label would like to stand. [any]
    gap : float
        Smallest distance. [as `wanted`]
    low, high : float
        Ends of the range. [as `wanted`]

    Returns
    -------
    tuple of float
        Positions, in the order of `wanted`. [as `wanted`]

    References
    ----------
    .. [1] R. E. Barlow, D. J. Bartholomew, J. M. Bremner, H. D. Brunk, "Statistical Inference under Order
       Restrictions", 1972, section 1.2 (pool adjacent violators; from memory).

    Examples
    --------
    >>> spread([10.0, 10.0, 30.0], 4.0, 0.0, 40.0)
    (8.0, 12.0, 30.0)
    """
    count = len(wanted)
    if count == 0:
        return ()
    gap = min(gap, (high - low) / (count - 1)) if count > 1 else gap
    order = sorted(range(count), key=lambda i: wanted[i])
    # Taking the gaps out turns "at least a gap apart" into "not falling", which pooling solves.
    pools: list[list[float]] = []
    for place, index in enumerate(order):
        pools.append([wanted[index] - place * gap, 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, size = pools.pop()
            before, number = pools.pop()
            pools.append([(before * number + mean * size) / (number + size), number + size])
    flat = [mean for mean, size in pools for _ in range(int(size))]
    top = high - (count - 1) * gap
    placed = [0.0] * count
    for place, index in enumerate(order):
        placed[index] = min(max(flat[place], low), top) + place * gap
    return tuple(placed)
