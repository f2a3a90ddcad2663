"""One table while its rows are coming in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from pullbook.capture.columns import SENTINEL, Column
from pullbook.capture.doubts import Doubts, name_rows
from pullbook.capture.growing import GrowingArray
from pullbook.capture.marks import read_number
from pullbook.capture.numbers import Cell, CellKind, clock_seconds, kind_of
from pullbook.errors import FileRefusedError
from pullbook.records.table import RawTable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

__all__ = ["Header", "OpenTable", "Record", "Writing", "filled_width", "is_record", "kinds_of"]

_FLUSH: Final = 50_000  # rows kept as text until the decimal mark is decided
_ODD_SHARE: Final = 0.05
_TOLD: Final = (CellKind.NUMBER, CellKind.CLOCK)


class Record(NamedTuple):
    """One row of a file: where it stands, its cells, and the line as written."""

    row: int
    cells: Sequence[Cell]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """Names and units of a table, and how many fields its rows have to have.

    Attributes
    ----------
    names, units : tuple of str
        As written; empty tuples where the table has no header.
    row : int
        Row of the file, from 1; 0 where the table has no header. [1]
    """

    names: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    row: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Writing:
    """How the numbers of a file are written.

    Attributes
    ----------
    decimal : str or None
        Decimal mark that is proven for the whole file.
    comma_between : bool
        Whether a comma separates columns.
    """

    decimal: str | None = None
    comma_between: bool = False


def filled_width(cells: Sequence[object]) -> int:
    """Number of cells up to the last one that holds something."""
    width = 0 if cells.count("") == len(cells) else len(cells)
    while width and cells[width - 1] == "":
        width -= 1
    return width


class OpenTable:
    """Rows under one header, checked for their width and collected column by column."""

    def __init__(self, header: Header, first: Record, writing: Writing, name: str) -> None:
        self.header = header
        self.doubts = Doubts()
        self.notes: list[str] = []
        self.rows: GrowingArray[np.int64] = GrowingArray(np.int64)
        self.needed = max(filled_width(header.names), filled_width(first.cells), 1)
        self.width = (
            max(self.needed, len(first.cells)) if filled_width(header.names) <= len(first.cells) else self.needed
        )
        if header.names and filled_width(first.cells) > len(header.names):
            self.width = self.needed = len(header.names)
        self._writing = writing
        self._name = name
        self._pending: list[Record] = []
        self._misfits: list[int] = []
        self._widths: set[int] = set()
        names = [*header.names, *[""] * self.width][: self.width]
        units = [*header.units, *[""] * self.width][: self.width]
        self.columns = [Column(name, unit, self.doubts) for name, unit in zip(names, units, strict=True)]
        self.started = False

    def __len__(self) -> int:
        return len(self.rows) + len(self._pending)

    @property
    def last(self) -> Sequence[Record]:
        """The newest records that are still kept as text."""
        return self._pending[-20:]

    def add(self, record: Record) -> None:
        """Take one record, or note that it has too few or too many fields."""
        if len(record.cells) < self.needed or filled_width(record.cells) > self.width:
            self._misfits.append(record.row)
            self._widths.add(len(record.cells))
            return
        self._pending.append(record)
        if len(self._pending) >= _FLUSH:
            self.flush()

    def add_block(self, block: FloatArray, first_row: int) -> None:
        """Take rows that a fast reader has parsed.

        Parameters
        ----------
        block : (n, width) array of float
            Numbers as written. [as written]
        first_row : int
            Row of the file that the first of them came from. [1]
        """
        self.flush()
        with np.errstate(invalid="ignore"):
            odd = not bool((np.abs(block) < SENTINEL).all())  # blank cells and numbers that stand for none
        for column, values in zip(self.columns, block.T, strict=False):
            if odd:
                column.add_odd_numbers(values, first_row)
            else:
                column.add_numbers(values)
        for column in self.columns[block.shape[1] :]:
            column.add_nothing(len(block))
        self.rows.extend(np.arange(first_row, first_row + len(block)))

    def goes_on_with(self, record: Record) -> bool:
        """Whether the first column runs on into a record in the direction that it had."""
        column = next((index for index, kind in enumerate(kinds_of(record.cells)) if kind in _TOLD), 0)
        if column >= self.width:
            return False
        before = [_loose(row.cells[column]) for row in self._pending[-20:]]
        history = np.array([*self.columns[column].values.tail(20).tolist(), *before])
        history = history[np.isfinite(history)]
        value = _loose(record.cells[column])
        if history.size < 2 or not np.isfinite(value):
            return False
        return bool(np.sign(value - history[-1]) in {np.sign(np.median(np.diff(history))), 0.0})

    def flush(self) -> None:
        """Turn the records that are kept as text into numbers."""
        if not self._pending:
            return
        pending, self._pending = self._pending, []
        rows = [record.row for record in pending]
        cells = list(zip(*(_padded(record.cells, self.width) for record in pending), strict=True))
        self._settle(cells)
        for column, values in zip(self.columns, cells, strict=True):
            column.add_cells(values, rows)
        self.rows.extend(np.asarray(rows, dtype=np.int64))

    def _settle(self, cells: Sequence[Sequence[Cell]]) -> None:
        if self.columns[0].decimal is not None:
            return
        if self._writing.decimal == ".":
            for column in self.columns:
                column.decimal = "."
            return
        votes = [column.votes(values) for column, values in zip(self.columns, cells, strict=True)]
        proven = set[str]().union(*(vote.decimal for vote in votes))
        decimal = self._writing.decimal or (next(iter(proven)) if len(proven) == 1 else None)
        for column, vote in zip(self.columns, votes, strict=True):
            column.settle(vote, file_decimal=decimal, comma_between=self._writing.comma_between)

    def close(self, *, at_end: bool) -> RawTable | None:
        """The finished table; None where nothing but words was in it.

        Raises
        ------
        FileRefusedError
            If more than one row in twenty has too few or too many fields, the last row of the file aside.
        """
        self.flush()
        cut_row = self._judge_misfits(at_end=at_end)
        rows = self.rows.take()
        kept = [(number, column) for number, column in enumerate(self.columns, start=1) if self._keep(number, column)]
        if not kept or not rows.size:
            return None
        arrays = tuple(column.finished() for _, column in kept)
        if not self.header.names:
            self.doubts.say("the file names no columns; they were numbered")
        return RawTable(
            names=tuple(column.name or f"column {number}" for number, column in kept),
            units=tuple(column.unit for _, column in kept),
            columns=arrays, rows=rows, preamble=tuple(self.notes), doubts=self.doubts.said(), cut_row=cut_row,
            header=tuple((column.name, column.unit) for column in self.columns if column.name),
        )  # fmt: skip

    def _keep(self, number: int, column: Column) -> bool:
        if column.empty:
            if column.name:
                self.doubts.say(f"column '{column.name}' is empty and was left out")
            return False
        if column.words:
            self.doubts.say(f"column '{column.name or number}' holds words, not numbers, and was left out")
            return False
        if not column.name and self.header.names:
            self.doubts.say(f"column {number} has no name")
        return True

    def _judge_misfits(self, *, at_end: bool) -> int:
        """Row in whose middle the file ends, or 0."""
        if not self._misfits:
            return 0
        last = int(self._misfits[-1])
        cut = at_end and (not len(self.rows) or last > self.rows.latest)
        inside = len(self._misfits) - (1 if cut else 0)
        if inside > _ODD_SHARE * (inside + len(self.rows)):
            fields = " or ".join(str(width) for width in sorted(self._widths)[:3])
            raise FileRefusedError(
                f"{name_rows(self._misfits, len(self._misfits))} have {fields} fields where {self.needed} are needed",
                where=self._name,
                remedy="write each row with as many fields as the header, and no decimal comma between commas",
            )
        if cut:
            self._misfits.pop()
            self.doubts.about("the file ends in the middle of this row; it was left out", last)
        for row in self._misfits:
            self.doubts.about("too few or too many fields; left out", row)
        return last if cut else 0


def _loose(cell: Cell) -> float:
    """Value of a cell for comparing neighbours only: both marks are read as decimal marks."""
    if not isinstance(cell, str):
        return cell
    kind = kind_of(cell)
    if kind is CellKind.CLOCK:
        return clock_seconds(cell)
    return read_number(cell.replace(",", "."), ".") if kind is CellKind.NUMBER else float("nan")


def _padded(cells: Sequence[Cell], width: int) -> Sequence[Cell]:
    return cells[:width] if len(cells) >= width else [*cells, *[""] * (width - len(cells))]


def is_record(cells: Sequence[Cell], kinds: Sequence[CellKind], *, inside: bool) -> bool:
    """Whether a row can be a record: numbers at least as many as words, two of them where no table is open yet."""
    words = kinds.count(CellKind.TEXT)
    empty = kinds.count(CellKind.EMPTY)
    told = len(cells) - words - empty
    values = kinds.count(CellKind.NUMBER) + kinds.count(CellKind.CLOCK)
    if inside:
        return told >= max(words, 1)
    return told >= max(words, 2) and values >= 1


def kinds_of(cells: Sequence[Cell]) -> list[CellKind]:
    """What each cell of a row holds."""
    return [kind_of(cell) for cell in cells]
