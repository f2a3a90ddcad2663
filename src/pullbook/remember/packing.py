"""Files are kept small: a table of numbers column by column, anything else as it is, both compressed.

A log of a bench is text with a number in every cell. Within a column the numbers change little from row to row, so
that the differences of their digits take a fifth of what compressing the text itself does. What is packed is unpacked
at once and compared, and kept in the plain way where one byte differs.
"""

from __future__ import annotations

import lzma
import zlib
from functools import partial
from typing import TYPE_CHECKING, Final

from pullbook.remember.columns import from_columns, numbers_in, to_columns
from pullbook.remember.number_lists import from_lists, to_lists

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.remember.columns import NumberColumns

__all__ = ["PIECE", "columns_in", "pack", "pieces", "unpack"]

PIECE: Final = 16 * 1024 * 1024
"""Longest stretch of a file that is packed at once. [byte]"""
_MOST_SLOW: Final = 4 * 1024 * 1024  # byte; above it the quicker way is taken
_PLAIN: Final = b"\0"
_DEFLATE: Final = b"\1"
_TEXT: Final = b"\2"
_COLUMNS: Final = b"\3"
_LISTS: Final = b"\4"
_NUMBERS: Final = b"\5"
_WAYS: Final = (
    (_LISTS, to_lists, from_lists), (_COLUMNS, partial(to_columns, careful=False), from_columns),
    (_COLUMNS, to_columns, from_columns),
)  # fmt: skip
_FILTERS: Final = {
    mark: {"id": lzma.FILTER_LZMA2, "preset": 6, "lc": context, "lp": 0, "pb": 0}
    for mark, context in ((_TEXT, 4), (_NUMBERS, 0))
}
_PARQUET: Final = b"PAR1"  # beginning of a file of columns, which comes uncompressed
_SMALLEST: Final = 4096  # byte, of the dictionary


def pieces(content: bytes | memoryview) -> Iterator[bytes]:
    """Stretches of a file, packed, in order; none of an empty one.

    Parameters
    ----------
    content : bytes or memoryview
        The file.
    """
    for start in range(0, len(content), PIECE):
        yield pack(bytes(content[start : start + PIECE]))


def pack(content: bytes) -> bytes:
    r"""Stretch of a file, made small; the first byte says how.

    Parameters
    ----------
    content : bytes
        The stretch.

    Examples
    --------
    >>> text = b"rpm,Nm\n" + b"".join(b"%d,%.1f\n" % (2000 + 15 * row, 180 + row / 10) for row in range(400))
    >>> packed = pack(text)
    >>> unpack(packed) == text, len(packed) < len(text) / 15
    (True, True)
    """
    for mark, there, back in _WAYS:
        told = there(content)
        if told is not None and back(told) == content:
            return mark + _squeezed(told, _NUMBERS if mark == _COLUMNS else _TEXT)
    squeezed = _squeezed(content, _NUMBERS if content.startswith(_PARQUET) else _TEXT)
    return squeezed if len(squeezed) < len(content) else _PLAIN + content


def columns_in(packed: bytes) -> NumberColumns | None:
    """Columns of numbers of a stretch of a file; None where it was not kept column by column.

    Parameters
    ----------
    packed : bytes
        What `pack` gave.
    """
    return numbers_in(unpack(packed[1:])) if packed[:1] == _COLUMNS else None


def _squeezed(content: bytes, kind: bytes) -> bytes:
    if len(content) > _MOST_SLOW:
        return _DEFLATE + zlib.compress(content, 6)
    size = max(_SMALLEST, len(content))  # a larger dictionary only costs time
    return kind + lzma.compress(content, format=lzma.FORMAT_RAW, filters=[{**_FILTERS[kind], "dict_size": size}])


def unpack(packed: bytes) -> bytes:
    """Stretch of a file as it was.

    Parameters
    ----------
    packed : bytes
        What `pack` gave.

    Raises
    ------
    ValueError
        If it is damaged beyond unpacking; damage that unpacks to something else is found by the hash of the file.
    """
    how, rest = packed[:1], packed[1:]
    try:
        for mark, _, back in _WAYS:
            if how == mark:
                return back(unpack(rest))
        if how in _FILTERS:
            return lzma.decompress(rest, format=lzma.FORMAT_RAW, filters=[{**_FILTERS[how], "dict_size": _MOST_SLOW}])
        if how == _DEFLATE:
            return zlib.decompress(rest)
    except (lzma.LZMAError, zlib.error, EOFError, IndexError, OverflowError, MemoryError) as error:
        raise ValueError(str(error) or "cannot be unpacked") from error
    if how != _PLAIN:
        raise ValueError("packed in no known way")
    return rest
