"""Columns of one table while it is being read: numbers go in cell by cell or block by block, arrays come out."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.growing import GrowingArray
from pullbook.capture.marks import MarkVotes, decide_marks, read_number, vote
from pullbook.capture.numbers import Cell, CellKind, clock_seconds, kind_of, split_suffix
from pullbook.quantities.units import find_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.doubts import Doubts
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["SENTINEL", "Column"]

SENTINEL: Final = 1e30  # instruments write 1E30, 9.91E37 or the largest float where there is no number
_DAY: Final = 86_400.0


class Column:
    """One column: its numbers so far, and what was odd about its cells."""

    def __init__(self, name: str, unit: str, doubts: Doubts) -> None:
        self.name = name
        self.unit = unit
        self.values: GrowingArray[np.float64] = GrowingArray(np.float64)
        self.decimal: str | None = None
        self._doubts = doubts
        self._reads_clock: bool | None = None  # decided by the first cells, so that a column means one thing
        self._grouped = 0
        self._grouped_example = ""
        self._counts = dict.fromkeys(CellKind, 0)

    @property
    def empty(self) -> bool:
        """Whether no cell of the column holds anything."""
        return all(count == 0 for kind, count in self._counts.items() if kind is not CellKind.EMPTY)

    @property
    def words(self) -> bool:
        """Whether the column holds words rather than numbers."""
        told = self._counts[CellKind.NUMBER] + self._counts[CellKind.CLOCK]
        return self._counts[CellKind.TEXT] > told

    def add_numbers(self, values: FloatArray) -> None:
        """Add numbers that a fast reader has parsed."""
        self._counts[CellKind.NUMBER] += values.size
        self._reads_clock = self._reads_clock or False
        self.values.extend(values)

    def add_odd_numbers(self, values: FloatArray, first_row: int) -> None:
        """Add numbers of which some are blank or stand for none."""
        self._counts[CellKind.NUMBER] += int(np.count_nonzero(~np.isnan(values)))
        self._reads_clock = self._reads_clock or False
        self.values.extend(values)
        self._blank_sentinels(values, first_row + np.arange(values.size))

    def add_nothing(self, count: int) -> None:
        """Add blank cells."""
        self.values.extend(np.full(count, np.nan))

    def votes(self, cells: Sequence[Cell]) -> MarkVotes:
        """What the numbers among the cells say about decimal marks."""
        numbers = (cell for cell in cells if isinstance(cell, str) and kind_of(cell) is CellKind.NUMBER)
        return vote(_bare(cell) for cell in numbers)

    def add_cells(self, cells: Sequence[Cell], rows: Sequence[int]) -> None:
        """Add cells as written; `settle` has to be called before."""
        kinds = [kind_of(cell) for cell in cells]
        for kind in kinds:
            self._counts[kind] += 1
        if self._reads_clock is None:
            self._begin(cells, kinds)
        read_clock = self._reads_clock is True
        values = np.full(len(cells), np.nan)
        for index, (cell, kind) in enumerate(zip(cells, kinds, strict=True)):
            if kind is CellKind.NUMBER and not read_clock:
                values[index] = self._number(cell, rows[index])
            elif kind is CellKind.CLOCK and read_clock:
                values[index] = clock_seconds(str(cell))
            elif kind is not CellKind.EMPTY:
                self._blank(str(cell), kind, rows[index])
        self.values.extend(values)
        self._blank_sentinels(values, np.asarray(rows))

    def settle(self, votes: MarkVotes, *, file_decimal: str | None, comma_between: bool) -> None:
        """Fix the decimal mark of the column."""
        name = f"{self.name} {self.unit}"
        marks = decide_marks(votes, file_decimal=file_decimal, name=name, comma_between=comma_between)
        self.decimal = marks.decimal
        if marks.doubt:
            self._doubts.say(f"column '{self.name}': {marks.doubt}")

    def finished(self) -> FloatArray:
        """The numbers, read-only; clock times run on over midnight."""
        values = self.values.take()
        if self._reads_clock:
            values = _over_midnight(values)
            self.unit = "s"
            self._doubts.say(f"column '{self.name}': clock times were read as seconds since midnight or zero")
        if self._grouped and int(np.count_nonzero(np.abs(values) >= 1000.0)) > 2 * self._grouped:
            self._doubts.say(
                f"column '{self.name}': '{self._grouped_example}' was read as one number of grouped digits"
            )
        return values

    def _begin(self, cells: Sequence[Cell], kinds: Sequence[CellKind]) -> None:
        """Decide whether the column holds clock times, and which unit its cells carry if the header names none."""
        clocks = [str(cell) for cell, kind in zip(cells, kinds, strict=True) if kind is CellKind.CLOCK]
        numbers = [cell for cell, kind in zip(cells, kinds, strict=True) if kind is CellKind.NUMBER]
        if not clocks and not numbers:
            return
        self._reads_clock = len(clocks) > len(numbers)
        if clocks and self._reads_clock and all(_is_short(clock) for clock in clocks):
            self._doubts.say(f"column '{self.name}': '{clocks[0]}' was taken for minutes and seconds")
        if not self.unit:
            carried = Counter(split[1] for cell in numbers if isinstance(cell, str) and (split := split_suffix(cell)))
            unit, count = max(carried.items(), key=lambda item: item[1], default=("", 0))
            self.unit = unit if 2 * count > len(numbers) else ""  # a unit in one cell says nothing of the others

    def _number(self, cell: Cell, row: int) -> float:
        if not isinstance(cell, str):
            return float(cell)
        try:
            if self.decimal == ".":
                return float(cell) if cell.isascii() and "_" not in cell else self._careful(cell, row)
            return self._careful(cell, row)
        except ValueError:
            return self._careful(cell, row)

    def _careful(self, cell: str, row: int) -> float:
        split = split_suffix(cell)
        number, unit = split if split is not None else (cell, "")
        if unit and (not self.unit or find_unit(unit) != find_unit(self.unit)):
            than = f"is not in {self.unit}" if self.unit else "carries a unit, and its column none,"
            self._doubts.about(f"'{cell}' in column '{self.name}' {than} and was left blank", row)
            return float("nan")
        value = read_number(number, self.decimal or ".")
        if abs(value) >= 1000.0 and not number.replace(self.decimal or ".", "", 1).lstrip("+-\u2212").isdigit():
            self._grouped += 1
            self._grouped_example = self._grouped_example or number
        if np.isnan(value):
            self._doubts.about(f"'{cell}' in column '{self.name}' is not written like its neighbours; left blank", row)
        return value

    def _blank(self, cell: str, kind: CellKind, row: int) -> None:
        shown = cell if len(cell) <= 40 else f"{cell[:37]}..."
        if kind is CellKind.RANGE:
            self._doubts.about(f"'{shown}' in column '{self.name}' is a range, not a number, and was left blank", row)
        elif kind is CellKind.TEXT and self._counts[CellKind.TEXT] > self._counts[CellKind.NUMBER]:
            return  # a column of words is left out as a whole
        else:
            self._doubts.about(f"'{shown}' in column '{self.name}' is no number and was left blank", row)

    def _blank_sentinels(self, values: FloatArray, rows: IntArray) -> None:
        with np.errstate(invalid="ignore"):
            bad = np.abs(values) >= SENTINEL
        count = int(np.count_nonzero(bad))
        if not count:
            return
        self.values.blank_last(values.size, bad)
        for row in rows[bad].tolist():
            self._doubts.about(f"1E30 or more in column '{self.name}' stands for no number and was left blank", row)


def _is_short(clock: str) -> bool:
    """Whether a clock time has two parts and no fraction, so that it could be hours and minutes."""
    return clock.count(":") == 1 and "." not in clock and "," not in clock


def _bare(cell: str) -> str:
    split = split_suffix(cell)
    return cell if split is None else split[0]


def _over_midnight(values: FloatArray) -> FloatArray:
    told = np.flatnonzero(~np.isnan(values))
    jumps = np.cumsum(np.diff(values[told], prepend=values[told[:1]]) < -_DAY / 2)
    if not jumps.size or jumps[-1] == 0:
        return values
    later = values.astype(np.float64)
    later[told] += jumps * _DAY
    later.setflags(write=False)
    return later
