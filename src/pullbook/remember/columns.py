"""A text with a table of numbers in it as columns of whole numbers, and back, byte for byte.

Lines before and after the table are kept as they are. A column whose cells are numbers with the same number of
decimals (or without their last zeros) becomes whole numbers; these, their differences or the differences of those are
written, whichever are smallest, all low bytes first. Any other column is kept as text.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.remember.whole_numbers import from_planes, to_planes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import IntArray

__all__ = ["from_columns", "to_columns"]

_SEPARATORS: Final = (b",", b";", b"\t", b" ")
_FEWEST: Final = 16  # rows
_CELL: Final = re.compile(rb" *(-?\d{1,14})(?:([.,])(\d{1,9}))?")
_MOST_DIGITS: Final = 15
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
    for separator in _SEPARATORS:
        count = lines[middle].count(separator)
        if not count:
            continue
        first = last = middle
        while first > 0 and lines[first - 1].count(separator) == count:
            first -= 1
        while last < len(lines) and lines[last].count(separator) == count:
            last += 1
        while first < middle and not any(_CELL.fullmatch(cell.strip()) for cell in lines[first].split(separator)):
            first += 1  # names and units have as many cells as the numbers below them
        if last - first >= _FEWEST and (best is None or last - first > best[2] - best[1]):
            best = separator, first, last
    return best


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
    found = [_CELL.fullmatch(cell) for cell in cells]
    groups = [one.groups() for one in found if one is not None]
    marks = {mark for _, mark, _ in groups if mark}
    if len(groups) < len(cells) or len(marks) > 1:
        return None
    lengths = [len(rest) if rest else 0 for _, _, rest in groups]
    places = max(lengths)
    if max([len(whole) for whole, _, _ in groups]) + places > _MOST_DIGITS:
        return None
    values = np.array([int(whole + (rest or b"").ljust(places, b"0")) for whole, _, rest in groups], dtype=np.int64)
    padded = len(cells[0]) if len({len(cell) for cell in cells}) == 1 else 0
    form = (marks.pop() if marks else b".").decode(), places, int(min(lengths) < places), padded
    return None if careful and _written(form, values) != cells else (form, values)


def _written(form: Sequence[Any], values: IntArray) -> list[bytes]:
    """Cells of whole numbers: decimal mark, decimals, whether last zeros are left out, width in characters."""
    mark, places, trimmed, padded = form
    texts = [f"{value:.{places}f}" for value in (values / 10.0**places).tolist()]
    if trimmed:
        texts = [text.rstrip("0").rstrip(".") if "." in text else text for text in texts]
    if mark != ".":
        texts = [text.replace(".", mark) for text in texts]
    return [text.rjust(padded).encode() for text in texts]


def _cells(told: list[Any], part: bytes, rows: int) -> list[bytes]:
    """Cells of a column of numbers."""
    *form, order, width = told
    return _written(form, from_planes(part, rows, order, width))


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
    start = _HEAD + int.from_bytes(packed[:_HEAD], "little")
    head = json.loads(packed[_HEAD:start])
    texts = []
    for size in head["texts"]:
        texts.append(packed[start : start + size])
        start += size
    columns = []
    for told in head["columns"]:
        is_text = isinstance(told, int)
        size = told if is_text else told[-1] * head["rows"]
        part = packed[start : start + size]
        columns.append(part.split(b"\n") if is_text else _cells(told, part, head["rows"]))
        start += size
    separator, end = head["separator"].encode(), b"\r" if head["ends"] else b""
    rows = [separator.join(cells) + end for cells in zip(*columns, strict=True)]
    before, after = (text.split(b"\n") if count else [] for text, count in zip(texts, head["lines"], strict=True))
    return b"\n".join([*before, *rows, *after])
