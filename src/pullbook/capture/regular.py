"""Regular rows of numbers, read at once: every byte is accounted for, or the rows are left to the careful reader."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["parse_rows"]

_ALLOWED: Final = b"0123456789+-.eE \r\n"


def parse_rows(block: bytes, *, delimiter: str, decimal: str | None, width: int) -> FloatArray | None:
    r"""Rows of numbers; None where anything at all is odd.

    Parameters
    ----------
    block : bytes
        Whole lines.
    delimiter : str
        Between the columns; a blank stands for any run of blanks.
    decimal : str or None
        Proven decimal mark; without one only whole numbers are read here.
    width : int
        Number of columns that hold something. [1]

    Returns
    -------
    (n, width) array of float or None
        One row for each line, NaN where a cell is blank. [as written]

    Notes
    -----
    Only digits, signs, exponents, the decimal mark, the delimiter and line ends are allowed, so that no word,
    quote, range or missing mark can be taken for a number; `numpy.loadtxt` refuses what is then still no number,
    and the number of its rows and columns must be that of the lines (blank ones included) and fields.

    Examples
    --------
    >>> parse_rows(b"1500;98,2\n1600;99,75\n", delimiter=";", decimal=",", width=2).tolist()
    [[1500.0, 98.2], [1600.0, 99.75]]
    >>> parse_rows(b"1500,98.2\n1600,19..22\n", delimiter=",", decimal=".", width=2) is None
    True
    """
    mark = delimiter.encode()
    if len(mark) != 1 or not _is_plain(block, mark, decimal):
        return None
    if not block or (b"\r" in block and block.count(b"\r") != block.count(b"\r\n")):
        return None
    lines = block.count(b"\n") + (not block.endswith(b"\n"))
    if decimal == ",":
        block = block.replace(b",", b".")
    rows = _loaded(_without_last_mark(block, mark, lines), delimiter)
    if rows is None and mark != b" ":
        rows = _loaded(_with_nan(_without_last_mark(block, mark, lines), mark), delimiter)
    return rows if rows is not None and rows.shape == (lines, width) else None


def _loaded(block: bytes, delimiter: str) -> FloatArray | None:
    try:
        return np.loadtxt(
            io.BytesIO(block),
            dtype=np.float64,
            delimiter=None if delimiter == " " else delimiter,
            comments=None,
            ndmin=2,
        )
    except ValueError:
        return None


def _is_plain(block: bytes, mark: bytes, decimal: str | None) -> bool:
    allowed = _ALLOWED + mark + (b"," if decimal == "," else b"")
    if block.translate(None, allowed):
        return False
    if decimal == ",":
        return b"." not in block and mark != b","
    return decimal == "." or b"." not in block


def _without_last_mark(block: bytes, mark: bytes, lines: int) -> bytes:
    """Rows without the delimiter that ends each of them."""
    end = b"\r\n" if block.endswith(b"\r\n") else b"\n"
    if mark != b" " and block.endswith(mark + end) and block.count(mark + end) == lines:
        return block.replace(mark + end, end)
    return block


def _with_nan(block: bytes, mark: bytes) -> bytes:
    """Rows with "nan" in their blank cells."""
    pair, filled = mark + mark, mark + b"nan" + mark
    return block.replace(pair, filled).replace(pair, filled)
