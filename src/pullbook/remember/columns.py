"""A text with a table of numbers in it as columns of whole numbers, and back, byte for byte.

Lines before and after the table are kept as they are. A column whose cells are numbers with the same number of
decimals (or without their last zeros) becomes whole numbers; these, their differences or the differences of those are
written, whichever are smallest, all low bytes first. Any other column is kept as text.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.remember.cells import cells_of, numbers_of
from pullbook.remember.whole_numbers import from_planes, to_planes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["NumberColumns", "from_columns", "numbers_in", "to_columns"]

_SEPARATORS: Final = (b",", b";", b"\t", b" ")
_FEWEST: Final = 16  # rows
_CELL: Final = re.compile(rb" *(-?\d{1,14})(?:([.,])(\d{1,9}))?")
_HEAD: Final = 4  # byte


def to_columns(content: bytes, *, careful: bool = True) -> bytes | None:
    r"""Text as columns; None where it holds no table.

    Parameters
    ----------
    content : bytes
        The text.
    careful : bool
        Whether each column is written again and compared, so that one that cannot be written so is kept as text;
        without it, who asks has to compare the whole.

    Examples
    --------
    >>> text = b"rpm;Nm\r\n" + b"".join(b"%d;%d,5\r\n" % (2000 + row, 180 + row) for row in range(20))
    >>> from_columns(to_columns(text)) == text
    True
    >>> to_columns(b"no table") is None
    True
    """
    lines = content.split(b"\n")
    found = _table(lines)
    if found is None:
        return None
    separator, first, last = found
    rows = lines[first:last]
    ends = all(row.endswith(b"\r") for row in rows)
    cells = [(row[:-1] if ends else row).split(separator) for row in rows]
    before, after = b"\n".join(lines[:first]), b"\n".join(lines[last:])
    head: dict[str, Any] = {
        "separator": separator.decode(), "ends": ends, "rows": len(rows), "lines": [first, len(lines) - last],
        "texts": [len(before), len(after)], "columns": [],
    }  # fmt: skip
    parts = [before, after]
    for column in zip(*cells, strict=True):
        told, part = _column(list(column), careful=careful)
        head["columns"].append(told)
        parts.append(part)
    written = json.dumps(head, separators=(",", ":")).encode()
    return b"".join([len(written).to_bytes(_HEAD, "little"), written, *parts])


def _table(lines: list[bytes]) -> tuple[bytes, int, int] | None:
    """Separator, first line and line behind the last one of the table around the middle of a text."""
    middle = len(lines) // 2
    best: tuple[bytes, int, int] | None = None
    rank = (0.0, 0)
    for separator in _SEPARATORS:
        count = lines[middle].count(separator)
        if not count:
            continue
        first = last = middle
        while first > 0 and lines[first - 1].count(separator) == count:
            first -= 1
        while last < len(lines) and lines[last].count(separator) == count:
            last += 1
        if last - first < _FEWEST:
            continue
        while first < middle and not _share(lines[first], separator):
            first += 1  # names and units have as many cells as the numbers below them
        own = _share(lines[middle], separator), last - first  # a decimal comma between semicolons makes no cells
        if last - first >= _FEWEST and own > rank:
            best, rank = (separator, first, last), own
    return best


def _share(line: bytes, separator: bytes) -> float:
    """Share of the cells of a line that are numbers."""
    cells = line.split(separator)
    return sum(_CELL.fullmatch(cell.strip()) is not None for cell in cells) / len(cells)


def _column(cells: list[bytes], *, careful: bool) -> tuple[int | list[Any], bytes]:
    """What is told of a column, and its bytes."""
    numbers = _numbers(cells, careful=careful)
    if numbers is None:
        text = b"\n".join(cells)
        return len(text), text
    form, values = numbers
    order, width, part = to_planes(values)
    return [*form, order, width], part


def _numbers(cells: list[bytes], *, careful: bool) -> tuple[tuple[str, int, int, int], IntArray] | None:
    """Form and whole numbers of cells that are all numbers of one form; None where they are not."""
    found = numbers_of(cells)
    return None if found is None or (careful and cells_of(*found) != cells) else found


def _cells(told: list[Any], part: bytes, rows: int) -> list[bytes]:
    """Cells of a column of numbers."""
    *form, order, width = told
    return cells_of(form, from_planes(part, rows, order, width))


def from_columns(packed: bytes) -> bytes:
    """Text of which `to_columns` made columns.

    Parameters
    ----------
    packed : bytes
        The columns.

    Raises
    ------
    ValueError
        If they are damaged so that nothing can be made of them.
    """
    try:
        return _text(packed)
    except (KeyError, TypeError, IndexError, UnicodeError, json.JSONDecodeError) as error:
        raise ValueError("the columns are damaged") from error


def _text(packed: bytes) -> bytes:
    head, before, after, parts = _parts(packed)
    columns = [
        part.split(b"\n") if isinstance(told, int) else _cells(told, part, head["rows"])
        for told, part in zip(head["columns"], parts, strict=True)
    ]
    separator, end = head["separator"].encode(), b"\r" if head["ends"] else b""
    rows = [separator.join(cells) + end for cells in zip(*columns, strict=True)]
    texts = zip((before, after), head["lines"], strict=True)
    first, last = (text.split(b"\n") if count else [] for text, count in texts)
    return b"\n".join([*first, *rows, *last])


def _parts(packed: bytes) -> tuple[dict[str, Any], bytes, bytes, list[bytes]]:
    """Head, text before the table, text behind it, and what is kept of each column."""
    start = _HEAD + int.from_bytes(packed[:_HEAD], "little")
    head = json.loads(packed[_HEAD:start])
    sizes = [told if isinstance(told, int) else told[-1] * head["rows"] for told in head["columns"]]
    parts = []
    for size in [*head["texts"], *sizes]:
        parts.append(packed[start : start + size])
        start += size
    return head, parts[0], parts[1], parts[2:]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NumberColumns:
    """Numbers of a table in a text.

    Attributes
    ----------
    separator : str
        What stands between two cells.
    first_line : int
        Line of the text, from 1, with the first row.
    rows : int
        Number of rows.
    columns : mapping of int to (rows,) array of float
        Columns of numbers by their place in a row, from 0. [as written]
    """

    separator: str
    first_line: int
    rows: int
    columns: Mapping[int, FloatArray]


def numbers_in(packed: bytes) -> NumberColumns:
    r"""Numbers of a text of which `to_columns` made columns.

    Parameters
    ----------
    packed : bytes
        The columns.

    Examples
    --------
    >>> text = b"rpm;Nm\r\n" + b"".join(b"%d;%d,5\r\n" % (2000 + row, 180 + row) for row in range(20))
    >>> told = numbers_in(to_columns(text))
    >>> told.separator, told.first_line, told.columns[1][:2].tolist()
    (';', 2, [180.5, 181.5])
    """
    head, _, _, parts = _parts(packed)
    numbers: dict[int, FloatArray] = {}
    for place, (told, part) in enumerate(zip(head["columns"], parts, strict=True)):
        if not isinstance(told, int):
            numbers[place] = from_planes(part, head["rows"], *told[-2:]) / 10.0 ** told[1]
    return NumberColumns(separator=head["separator"], first_line=head["lines"][0] + 1, rows=head["rows"],
                         columns=numbers)  # fmt: skip
