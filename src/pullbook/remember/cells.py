"""Cells of a column of a text as whole numbers, and back, all rows at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from pullbook.quantities.arrays import IntArray

    ByteArray = NDArray[np.uint8]
    BoolArray = NDArray[np.bool_]

__all__ = ["cells_of", "numbers_of"]

_MOST_DIGITS: Final = 15
_MOST_PLACES: Final = 9
_WIDEST: Final = 32  # characters of a cell, blanks included
_BLANK, _COMMA, _MINUS, _POINT, _ZERO, _END = (ord(one) for one in " ,-.0\n")
_TEN: Final = 10


def numbers_of(cells: Sequence[bytes]) -> tuple[tuple[str, int, int, int], IntArray] | None:
    """Form and whole numbers of cells that are all numbers of one form; None where they are not.

    The form is the decimal mark, the decimals, whether last zeros are left out, and the width in characters. That
    `cells_of` makes the same cells of it is for the one who asks to compare.

    Parameters
    ----------
    cells : sequence of bytes
        The cells.

    Examples
    --------
    >>> form, values = numbers_of([b"1.50", b"-2.25"])
    >>> form, values.tolist()
    (('.', 2, 0, 0), [150, -225])
    >>> numbers_of([b"1.50", b"closed"]) is None
    True
    """
    chars = _characters(cells)
    if chars is None:
        return None
    is_digit = chars - _ZERO < _TEN  # what stands before the zero wraps round to above nine
    is_mark = (chars == _POINT) | (chars == _COMMA)
    is_minus = chars == _MINUS
    marks = set(np.unique(chars[is_mark]).tolist())
    if len(marks) > 1 or not np.all(is_digit | is_mark | is_minus | (chars == _BLANK)):
        return None
    decimals = np.where(is_mark.any(axis=1), chars.shape[1] - 1 - is_mark.argmax(axis=1), 0)
    places = int(decimals.max())
    counted = is_digit.sum(axis=1)
    if places > _MOST_PLACES or counted.min() == 0 or int((counted - decimals).max()) + places > _MOST_DIGITS:
        return None
    values = np.zeros(len(cells), dtype=np.int64)
    for digits, there in zip((chars - _ZERO).T, is_digit.T, strict=True):
        values = np.where(there, _TEN * values + digits, values)
    values *= _TEN ** (places - decimals)
    values = np.where(is_minus.any(axis=1), -values, values)
    padded = len(cells[0]) if len(set(map(len, cells))) == 1 and bool(np.any(chars == _BLANK)) else 0
    return ((chr(marks.pop()) if marks else "."), places, int(decimals.min() < places), padded), values


def _characters(cells: Sequence[bytes]) -> ByteArray | None:
    """Characters of cells, one a row, the last ones below each other; None for an empty or a long one."""
    text = np.frombuffer(b"\n".join(cells) + b"\n", dtype=np.uint8)
    ends = np.flatnonzero(text == _END)
    starts = np.concatenate([[0], ends[:-1] + 1])
    width = int((ends - starts).max())
    if width > _WIDEST or int((ends - starts).min()) < 1:
        return None
    at = ends[:, None] + np.arange(-width, 0)
    return np.where(at >= starts[:, None], text[at], np.uint8(_BLANK))


def cells_of(form: Sequence[Any], values: IntArray) -> list[bytes]:
    """Cells of whole numbers.

    Parameters
    ----------
    form : sequence
        Decimal mark, decimals, whether last zeros are left out, width in characters.
    values : (n,) array of int
        The numbers.

    Examples
    --------
    >>> cells_of((",", 2, 1, 0), np.array([150, -225, 300]))
    [b'1,5', b'-2,25', b'3']
    """
    mark, places, trimmed, padded = form
    sizes = np.abs(values)
    count = max(places + 1, len(str(int(sizes.max()))))
    powers = _TEN ** np.arange(count - 1, -1, -1, dtype=np.int64)
    digits = (sizes[:, None] // powers % _TEN).astype(np.uint8) + np.uint8(_ZERO)
    there = (sizes[:, None] >= powers) | (powers <= _TEN**places)
    whole, rest = digits[:, : count - places], digits[:, count - places :]
    kept: BoolArray = np.ones(rest.shape, dtype=np.bool_)
    if trimmed:
        kept = np.cumsum(rest[:, ::-1] != _ZERO, axis=1)[:, ::-1] > 0
    always = np.ones((values.size, 1), dtype=np.bool_)
    parts = [
        (_all(_MINUS, values.size), (values < 0)[:, None]),
        (whole, there[:, : count - places]),
        (_all(ord(mark), values.size), kept[:, :1]),
        (rest, kept),
        (_all(_END, values.size), always),
    ]
    chosen = parts if places else [*parts[:2], parts[-1]]
    chars = np.concatenate([part for part, _ in chosen], axis=1)
    text = chars[np.concatenate([held for _, held in chosen], axis=1)].tobytes()
    cells = text.split(b"\n")[:-1]
    return [cell.rjust(padded) for cell in cells] if padded else cells


def _all(char: int, rows: int) -> ByteArray:
    """A column with the same character in all rows."""
    return np.full((rows, 1), char, dtype=np.uint8)
