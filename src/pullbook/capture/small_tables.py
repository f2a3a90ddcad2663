"""Small tables among the words above a table: a header with units and one row, as for the conditions of a test."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from pullbook.capture.column_names import looks_like_header, split_name
from pullbook.capture.numbers import CellKind
from pullbook.capture.open_table import Header, OpenTable, Record, Writing, filled_width, kinds_of
from pullbook.quantities.units import find_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.table import RawTable

__all__ = ["small_tables"]


def small_tables(words: Sequence[Record], writing: Writing, name: str) -> list[RawTable]:
    """Tables of one row whose header names a unit in brackets.

    Parameters
    ----------
    words : sequence of Record
        Rows that are no records of a larger table.
    writing : Writing
        How numbers are written.
    name : str
        File, for error messages.
    """
    tables: list[RawTable] = []
    for above, below in pairwise(words):
        header = _header(above, below)
        if header is None:
            continue
        table = OpenTable(header, below, writing, name)
        table.add(below)
        closed = table.close(at_end=False)
        if closed is not None:
            tables.append(closed)
    return tables


def _header(above: Record, below: Record) -> Header | None:
    width = filled_width(below.cells)
    kinds = kinds_of(below.cells)
    if width < 3 or kinds.count(CellKind.NUMBER) < 2 or filled_width(above.cells) != width:
        return None
    if not looks_like_header(above.cells, width) or CellKind.NUMBER in kinds_of(above.cells):
        return None
    split = [split_name(str(cell)) for cell in above.cells]
    if not any(find_unit(unit) for _, unit in split if unit):
        return None
    return Header(names=tuple(n for n, _ in split), units=tuple(u for _, u in split), row=above.row)
