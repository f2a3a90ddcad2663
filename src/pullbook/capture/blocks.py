"""Tables in a stream of rows: where each begins, what its header is, and what between them is no record."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.capture.column_names import header_of
from pullbook.capture.numbers import CellKind
from pullbook.capture.open_table import Header, OpenTable, Record, Writing, filled_width, is_record, kinds_of
from pullbook.capture.side_by_side import separated
from pullbook.capture.small_tables import small_tables
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.numbers import Cell
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.table import RawTable

__all__ = ["BlockReader"]

_SUMMARY: Final = re.compile(
    r"(?i)(max|min|avg|average|mean|peak|sum|total|std|stdev|std\.? ?dev\.?|median|mittel|mittelwert|maximum|minimum|"
    r"moyenne|m\u00e9dia|media|promedio|summary|range)\b.{0,24}"
)
_MOST_COLUMNS: Final = 4000
_LEFT_OUT: Final = "words or summary, not a record; left out"


class BlockReader:
    """Feed rows from the top of a file to its end; take the tables.

    Parameters
    ----------
    writing : Writing
        How the numbers of the file are written.
    name : str
        File (and sheet), for the error messages.
    """

    def __init__(self, writing: Writing, name: str) -> None:
        self._writing = writing
        self._name = name
        self._open: OpenTable | None = None
        self._words: list[Record] = []
        self._above: list[str] = []
        self._tables: list[RawTable] = []

    @property
    def current(self) -> OpenTable | None:
        """The table that the next record would join without more ado; None where that is not certain."""
        return None if self._words else self._open

    def feed(self, record: Record) -> None:
        """Take the next row."""
        cells = record.cells
        width = filled_width(cells)
        if not width:
            return
        if width > _MOST_COLUMNS:
            raise FileRefusedError(
                f"row {record.row} has {width} columns, and at most {_MOST_COLUMNS} are read", where=self._name,
                remedy="export only the channels of the pull",
            )  # fmt: skip
        kinds = kinds_of(cells)
        if _is_summary(cells, kinds) or not is_record(cells, kinds, inside=self._open is not None):
            self._words.append(record)
            return
        if self._open is None or self._words:
            self._begin_or_go_on(record)
        else:
            self._open.add(record)

    def feed_block(self, block: FloatArray, first_row: int) -> None:
        """Take rows of the current table that a fast reader has parsed."""
        if self._open is None:
            msg = "no table is open"
            raise ValueError(msg)
        self._open.add_block(block, first_row)

    def finish(self) -> tuple[RawTable, ...]:
        """All tables of the file, in its order."""
        trailing, self._words = self._words, []
        if self._open is not None:
            self._note_words(self._open, trailing)
        self._close(at_end=True)
        if len(self._tables) < 2:
            return tuple(self._tables)
        return tuple(replace(table, sheet=_place(table)) for table in self._tables)

    def _begin_or_go_on(self, record: Record) -> None:
        words, self._words = self._words, []
        header, used = self._header(words, record)
        table = self._open
        if table is not None and not self._is_new(table, header, record, words):
            self._note_words(table, words)
            table.add(record)
            return
        self._close(at_end=False)
        above = words[: len(words) - used]
        self._tables.extend(small_tables(above, self._writing, self._name))
        if not header.names and table is not None:
            header = table.header
        self._above.extend(word.text for word in above)
        self._open = OpenTable(header, record, self._writing, self._name)
        self._open.add(record)

    def _header(self, words: Sequence[Record], record: Record) -> tuple[Header, int]:
        found = header_of([word.cells for word in words], filled_width(record.cells))
        if found is None:
            return Header(), 0
        used, names, units = found
        return Header(names=names, units=units, row=words[-used].row), used

    def _is_new(self, table: OpenTable, header: Header, record: Record, words: Sequence[Record]) -> bool:
        if header.names and _normal(header.names) != _normal(table.header.names):
            return True
        return bool(words) and not table.goes_on_with(record)

    def _note_words(self, table: OpenTable, words: Sequence[Record]) -> None:
        for word in words:
            table.notes.append(word.text)
            table.doubts.about(_LEFT_OUT, word.row)

    def _close(self, *, at_end: bool) -> None:
        table, self._open = self._open, None
        if table is None:
            return
        if len(table) == 1 and not table.header.names:
            self._above.extend(record.text for record in table.last)
            return
        table.notes[:0] = self._above
        self._above = []
        closed = table.close(at_end=at_end)
        if closed is not None:
            self._tables.extend(separated(closed))


def _place(table: RawTable) -> str:
    """Where in the sheet a table stands: its rows, and which run of them."""
    rows = f"rows {table.rows[0]} to {table.rows[-1]}" if len(table.rows) > 1 else f"row {table.rows[0]}"
    return f"{rows}, {table.sheet}" if table.sheet else rows


def _is_summary(cells: Sequence[Cell], kinds: Sequence[CellKind]) -> bool:
    if CellKind.TEXT not in kinds or CellKind.NUMBER not in kinds:
        return False
    first = next(cell for cell, kind in zip(cells, kinds, strict=True) if kind is not CellKind.EMPTY)
    return isinstance(first, str) and _SUMMARY.fullmatch(first) is not None


def _normal(names: Sequence[str]) -> list[str]:
    normal = [name.lower().strip() for name in names]
    while normal and not normal[-1]:
        normal.pop()
    return normal
