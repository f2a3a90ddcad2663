"""The same pull saved twice, whole or in part, found by its numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.segment_throttle import load_of
from pullbook.quantities.channels import Channel
from pullbook.quantities.units import UNITS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.pull import Pull

__all__ = ["Duplicate", "find_duplicates"]

_FEWEST_ROWS: Final = 12
_AGREE: Final = 0.99  # of the rows compared
_DECIMALS: Final = range(5)
_SPEED_UNITS: Final = ("rpm", "rad/s")
_LOAD_UNITS: Final = ("N m", "lb ft", "kgf m")


@dataclass(frozen=True, slots=True, kw_only=True)
class Duplicate:
    """A pull whose numbers are those of another pull.

    Attributes
    ----------
    position : int
        Which pull of the sequence counts no second time, from 0. [1]
    name : str
        Its name.
    kept : str
        Name of the pull that is counted.
    kept_position : int
        Which pull of the sequence that is, from 0. [1]
    rows : int
        Records that agree. [1]
    offset : int
        Record of the kept pull at which the first record of this one stands; negative where this one begins
        earlier. [1]
    """

    position: int
    name: str
    kept: str
    kept_position: int
    rows: int
    offset: int

    @property
    def says(self) -> str:
        """The finding as a sentence."""
        return f"{self.name} is the same pull as {self.kept}, saved again ({self.rows} rows agree): it is counted once"


@dataclass(frozen=True, slots=True, eq=False)
class _Series:
    """Speed and load of a pull, with the step to which each was rounded when it was saved."""

    speed: FloatArray
    load: FloatArray
    speed_step: float
    load_step: float


def find_duplicates(pulls: Sequence[Pull]) -> tuple[Duplicate, ...]:
    """Find pulls that are another pull of the sequence saved again.

    Parameters
    ----------
    pulls : sequence of Pull
        Pulls in run order.

    Returns
    -------
    tuple of Duplicate
        One for each pull that is counted no second time. Of two, the one with more rows is kept, else the earlier.

    Notes
    -----
    Two pulls are the same when speed and load agree row by row, at one offset, over at least a third of the shorter
    and at least twelve rows, to within the rounding of the coarser file: exactly, where both are rounded to the
    same step. Two real repeats on the same rpm bins differ in the last digit of the load within a few rows.
    """
    series = [_series(pull) for pull in pulls]
    order = sorted(range(len(pulls)), key=lambda i: (-series[i].speed.size, i))
    kept: list[int] = []
    found: list[Duplicate] = []
    for position in order:
        match = _first_match(position, kept, series)
        if match is None:
            kept.append(position)
            continue
        original, offset, rows = match
        found.append(
            Duplicate(
                position=position,
                name=pulls[position].name,
                kept=pulls[original].name,
                kept_position=original,
                rows=rows,
                offset=offset,
            )
        )
    return tuple(sorted(found, key=lambda duplicate: duplicate.position))


def _first_match(position: int, kept: list[int], series: list[_Series]) -> tuple[int, int, int] | None:
    """First kept pull that holds this one: its position, the offset, and the rows that agree."""
    for original in kept:
        aligned = _align(series[original], series[position])
        if aligned is not None:
            return original, *aligned
    return None


def _series(pull: Pull) -> _Series:
    speed = pull.channels.get(Channel.SPEED, np.empty(0))
    found = load_of(pull.channels)
    load = np.full(speed.size, np.nan) if found is None else found
    return _Series(speed, load, _step(speed, _SPEED_UNITS), _step(load, _LOAD_UNITS))


def _step(values: FloatArray, units: tuple[str, ...]) -> float:
    """Step to which values were rounded, in SI; 0 where none of the usual ones is found."""
    known = values[np.isfinite(values)]
    if known.size == 0:
        return 0.0
    for decimals in _DECIMALS:
        for unit in units:
            step = UNITS[unit].factor * 10.0**-decimals
            counts = known / step
            if np.abs(counts - np.round(counts)).max() < 1e-3:
                return step
    return 0.0


def _tolerance(first: float, second: float, values: FloatArray) -> float:
    """Difference that rounding explains: none on the same grid, half of each step on different ones."""
    exact = 1e-6 * float(np.nanmax(np.abs(values))) if np.isfinite(values).any() else 0.0
    same_grid = abs(first - second) <= 1e-9 * max(first, second)
    return exact if same_grid else exact + 0.5 * (first + second)


def _align(long: _Series, short: _Series) -> tuple[int, int] | None:
    """Offset of the short series in the long one, and the rows that agree; None where they are different pulls."""
    if short.speed.size < 4 or not np.isfinite(short.load).any():
        return None
    by_speed = _tolerance(long.speed_step, short.speed_step, long.speed)
    by_load = _tolerance(long.load_step, short.load_step, long.load)
    for offset in _candidates(long, short, by_speed, by_load).tolist():
        first, last = max(0, -offset), min(short.speed.size, long.speed.size - offset)
        if last - first < min(short.speed.size, _FEWEST_ROWS):
            continue
        other = slice(first + offset, last + offset)
        same = _close(long.speed[other], short.speed[first:last], by_speed)
        same &= _close(long.load[other], short.load[first:last], by_load)
        if same.mean() >= _AGREE:
            return offset, int(same.sum())
    return None


def _close(one: FloatArray, other: FloatArray, within: float) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Rows that agree; two blanks agree too."""
    return (np.abs(one - other) <= within) | (np.isnan(one) & np.isnan(other))


def _candidates(long: _Series, short: _Series, by_speed: float, by_load: float) -> IntArray:
    """Offsets at which two or more of five rows of the short series are in the long one, likeliest first.

    The five rows stand at sixths of the short series, so that an overlap of a third holds two of them.
    """
    anchors = np.unique(np.linspace(0, short.speed.size - 1, 7).astype(np.int64)[1:-1])
    offsets: list[IntArray] = []
    for anchor in anchors.tolist():
        here = _close(long.speed, short.speed[anchor], by_speed)
        here &= _close(long.load, short.load[anchor], by_load)
        offsets.append(np.flatnonzero(here) - anchor)
    found, votes = np.unique(np.concatenate(offsets), return_counts=True)
    best: IntArray = found[votes >= 2][np.argsort(-votes[votes >= 2], kind="stable")]
    return best[:20]
