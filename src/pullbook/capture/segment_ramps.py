"""Monotone stretches of engine speed in a log: where they begin, turn and end."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import BoolArray, FloatArray, IntArray

__all__ = ["Leg", "find_legs", "rate_of", "runs", "smoothed", "trim_slow_ends"]

_TURN: Final = 0.05  # a change of direction counts when speed goes back by this share of its range
_EDGE: Final = 0.02  # a leg begins when speed has left its lowest value by this share of the leg


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """Stretch between two turns of the speed, rising or falling.

    Attributes
    ----------
    first, last : int
        Positions in the log, both included. [1]
    rising : bool
        Direction.
    span : float
        Change of speed, always positive. [unit of the speed given]
    """

    first: int
    last: int
    rising: bool
    span: float

    @property
    def size(self) -> int:
        """Number of records. [1]."""
        return self.last - self.first + 1

    @property
    def part(self) -> slice:
        """Where it is in the log."""
        return slice(self.first, self.last + 1)


def smoothed(values: FloatArray, half_width: int) -> FloatArray:
    """Moving median of three, then moving mean, ends held.

    Parameters
    ----------
    values : (n,) array of float
        Samples without NaN. [any]
    half_width : int
        Samples on each side of the mean; 0 gives the values back. [1]

    Returns
    -------
    (n,) array of float
        Smoothed samples. [any]
    """
    if half_width < 1 or values.size < 2 * half_width + 3:
        return values
    padded = np.pad(values, 1, mode="edge")
    middle = np.median(np.stack((padded[:-2], padded[1:-1], padded[2:])), axis=0)
    width = 2 * half_width + 1
    sums = np.cumsum(np.concatenate(([0.0], np.pad(middle, half_width, mode="edge"))))
    result: FloatArray = (sums[width:] - sums[:-width]) / width
    return result


def find_legs(speed: FloatArray) -> tuple[Leg, ...]:
    """Alternating rising and falling stretches of a speed without NaN.

    Parameters
    ----------
    speed : (n,) array of float
        Speed, smoothed as far as its jitter needs. [any]

    Returns
    -------
    tuple of Leg
        In the order of the log; turns smaller than a twentieth of the range of the speed are passed over.
    """
    if speed.size < 2:
        return ()
    turn = _TURN * float(np.ptp(speed))
    if turn <= 0.0:
        return ()
    corners = _turning_points(speed, turn)
    legs: list[Leg] = []
    for first, last in itertools.pairwise(corners):
        change = float(speed[last] - speed[first])
        if abs(change) >= turn:
            legs.append(Leg(first=first, last=last, rising=change > 0.0, span=abs(change)))
    return tuple(legs)


def _turning_points(speed: FloatArray, turn: float) -> list[int]:
    """Positions of the highs and lows that differ from their neighbours by more than `turn`."""
    places = _local_extremes(speed)
    values = speed[places].tolist()
    start, best, direction = _first_turn(values, turn)
    corners = [start]
    for k in range(best + 1, len(values)):
        ahead = (values[k] - values[best]) * direction
        if ahead >= 0.0:
            best = k
        elif -ahead >= turn:
            corners.append(best)
            direction, best = -direction, k
    corners.append(best)
    return [int(places[k]) for k in corners]


def _first_turn(values: list[float], turn: float) -> tuple[int, int, int]:
    """Where the first leg starts, the first position that proves it, and its direction."""
    low = high = 0
    for k, value in enumerate(values):
        low = k if value <= values[low] else low
        high = k if value >= values[high] else high
        if value - values[low] >= turn:
            return low, k, 1
        if values[high] - value >= turn:
            return high, k, -1
    return 0, len(values) - 1, 1


def _local_extremes(speed: FloatArray) -> IntArray:
    """Ends, and positions where the speed changes direction."""
    step = np.sign(np.diff(speed))
    moving = np.flatnonzero(step)
    if moving.size == 0:
        return np.array([0, speed.size - 1])
    turns = moving[:-1][step[moving[:-1]] != step[moving[1:]]]
    inner = np.sort(np.concatenate((turns + 1, moving[1:][step[moving[:-1]] != step[moving[1:]]])))
    places = np.unique(np.concatenate(([0], inner, [speed.size - 1])))
    return places.astype(np.int64)


def trim_slow_ends(leg: Leg, speed: FloatArray, time: FloatArray | None) -> Leg:
    """Leg without the waiting and creeping before it and the hovering after it.

    Parameters
    ----------
    leg : Leg
        Stretch between two turns.
    speed : (n,) array of float
        Speed of the whole log, smoothed. [any]
    time : (n,) array of float or None
        Time of the whole log. [s]

    Returns
    -------
    Leg
        From where the speed has left its first value by a fiftieth of the leg, and no longer creeps at a tenth of
        the leg's usual rate or less, to where it first comes within a hundredth of the leg of its last value.
    """
    inside = speed[leg.part] if leg.rising else -speed[leg.part]
    low, high = float(inside[0]), float(inside[-1])
    span = high - low
    first = int(np.flatnonzero(inside <= low + _EDGE * span)[-1])
    last = int(np.flatnonzero(inside >= high - 0.5 * _EDGE * span)[0])
    if time is not None:
        first = max(first, _end_of_creeping(inside, time[leg.part], low + 0.6 * span))
    if last - first < 2:
        return leg
    change = float(abs(inside[last] - inside[first]))
    return Leg(first=leg.first + first, last=leg.first + last, rising=leg.rising, span=change)


def _end_of_creeping(inside: FloatArray, time: FloatArray, limit: float) -> int:
    """Position after the last half second of creeping below `limit`; 0 where there is none.

    The usual rate is the median over equal steps of speed, so that a long wait does not count for more than the
    little speed that it covers.
    """
    window = float(np.clip((time[-1] - time[0]) / 40.0, 0.15, 0.4))
    rate = rate_of(inside, time, window)
    rising = np.maximum.accumulate(inside)
    steps = np.linspace(float(rising[0]), float(rising[-1]), 42)[1:-1]
    usual = float(np.median(rate[np.minimum(np.searchsorted(rising, steps), rate.size - 1)]))
    creeping = (rate < 0.1 * usual) & (inside < limit)
    long_enough = [last for first, last in runs(creeping) if time[last] - time[first] >= 0.5]
    return long_enough[-1] + 1 if long_enough else 0


def rate_of(speed: FloatArray, time: FloatArray, seconds: float) -> FloatArray:
    """Rate of change of speed over a window.

    Parameters
    ----------
    speed : (n,) array of float
        Speed. [any]
    time : (n,) array of float
        Increasing time. [s]
    seconds : float
        Half the window. [s]

    Returns
    -------
    (n,) array of float
        Rate; at the ends over half the window. [any/s]
    """
    after = np.minimum(np.searchsorted(time, time + seconds), time.size - 1)
    before = np.maximum(np.searchsorted(time, time - seconds, side="right") - 1, 0)
    span = np.maximum(time[after] - time[before], 1e-9)
    rate: FloatArray = (speed[after] - speed[before]) / span
    return rate


def runs(flags: BoolArray) -> list[tuple[int, int]]:
    """First and last position of each stretch of True.

    Examples
    --------
    >>> import numpy as np
    >>> runs(np.array([True, True, False, True]))
    [(0, 1), (3, 3)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.view(np.int8), [0]))))
    return [(int(first), int(end) - 1) for first, end in zip(edges[::2], edges[1::2], strict=True)]
