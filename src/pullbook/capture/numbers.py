"""What one cell says: a number, nothing, a range, a time of day, or words.

A cell is text as the file writes it, or a float where a spreadsheet stores one. Which mark is the decimal mark is
not decided here but for a whole column at a time, in `pullbook.capture.marks`.
"""

from __future__ import annotations

import re
from enum import IntEnum
from functools import lru_cache
from typing import Final, TypeAlias

from pullbook.quantities.units import find_unit

__all__ = ["Cell", "CellKind", "clock_seconds", "kind_of", "split_suffix"]

Cell: TypeAlias = str | float


class CellKind(IntEnum):
    """What a cell holds, as far as can be said without its neighbours."""

    EMPTY = 0
    NUMBER = 1
    MISSING = 2  # "-", "N/A", "#DIV/0!": somebody says that there is no number
    RANGE = 3  # "19..22"
    CLOCK = 4  # "12:03:04.5"
    TEXT = 5


_PLAIN: Final = re.compile(r"[-+\u2212]?(?:[0-9]+(?:\.|[.,][0-9]+)?|[.,][0-9]+)(?:[eE][-+]?[0-9]+)?")
_GROUPED: Final = re.compile(
    r"[-+\u2212]?[0-9]{1,3}(?:([.,'\u2019 \u00a0\u202f])[0-9]{3})(?:\1[0-9]{3})*(?:[.,][0-9]+)?"
)
_SUFFIXED: Final = re.compile(
    r"([-+\u2212]?[0-9][0-9.,'\u2019]*(?:[eE][-+]?[0-9]+)?)[ \u00a0]*([^\W\d_%]|[%\u00b0\"\[])(.*)", re.DOTALL
)
_RANGE: Final = re.compile(
    r"[-+]?[0-9]+(?:[.,][0-9]+)?\s*(?:\.{2,3}|\u2026|\u2013|-|\bto\b|\bbis\b)\s*[-+]?[0-9]+(?:[.,][0-9]+)?"
)
_CLOCK: Final = re.compile(
    r"(?:[0-9]{1,4}[-./][0-9]{1,2}[-./][0-9]{1,4}[T ,]\s*)?"  # a date in front is not read: its order is ambiguous
    r"([0-9]{1,3}):([0-5]?[0-9])(?::([0-5]?[0-9]))?(?:[.,]([0-9]+))?\s*([aApP][mM])?(?:Z|[-+][0-9]{2}:?[0-9]{2})?"
)
_MISSING_WORDS: Final = frozenset((
    "nan", "n/a", "na", "n.a.", "n.a", "null", "none", "nil", "inf", "-inf", "+inf", "infinity", "err", "error",
    "fault", "ovr", "overrange", "open", "k.a.", "1.#inf", "-1.#inf", "1.#qnan", "1.#ind", "-1.#ind", "1.#snan",
    "nd", "n.d.",
))  # fmt: skip
_MISSING_SIGNS: Final = re.compile(r"[-\u2013\u2014*?_./\\]+|#[A-Za-z/0]+[!?]?|#+")


def kind_of(cell: Cell) -> CellKind:
    """What a cell holds.

    Parameters
    ----------
    cell : str or float
        Text without surrounding blanks and quotes, or a stored number. [any]

    Examples
    --------
    >>> [kind_of(cell).name for cell in ("412.3 hp", "5,500", "---", "19..22", "12:03:04.5", "RPM", "")]
    ['NUMBER', 'NUMBER', 'MISSING', 'RANGE', 'CLOCK', 'TEXT', 'EMPTY']
    """
    return _kind_of_text(cell) if isinstance(cell, str) else CellKind.NUMBER


@lru_cache(maxsize=4096)  # the same cell is looked at when the dialect, the header and the column are decided
def _kind_of_text(cell: str) -> CellKind:
    if not cell:
        return CellKind.EMPTY
    if _PLAIN.fullmatch(cell):
        return CellKind.NUMBER
    return _odd_kind(cell)


def _odd_kind(cell: str) -> CellKind:
    if len(cell) > 60:  # no number is that long; keeps the patterns below from working on a wall of text
        return CellKind.TEXT
    if cell.lower() in _MISSING_WORDS or _MISSING_SIGNS.fullmatch(cell):
        return CellKind.MISSING
    if _CLOCK.fullmatch(cell):
        return CellKind.CLOCK
    if _GROUPED.fullmatch(cell):
        return CellKind.NUMBER
    if _RANGE.fullmatch(cell):
        return CellKind.RANGE
    return CellKind.NUMBER if split_suffix(cell) is not None else CellKind.TEXT


def split_suffix(cell: str) -> tuple[str, str] | None:
    """Number and unit of a cell that carries its own unit, as written; None where it does not.

    Examples
    --------
    >>> split_suffix("412.3 hp")
    ('412.3', 'hp')
    >>> split_suffix("5 apples") is None
    True
    """
    found = _SUFFIXED.fullmatch(cell)
    if found is None:
        return None
    number, first, rest = found.groups()
    unit = (first + rest).strip()
    if find_unit(unit) is None or not (_PLAIN.fullmatch(number) or _GROUPED.fullmatch(number)):
        return None
    return number, unit


def clock_seconds(cell: str) -> float:
    """Seconds since midnight (or since zero) that a time of day stands for; NaN where it is none.

    Parameters
    ----------
    cell : str
        "12:03:04.5", "3:04.5", also with a date in front and "pm" behind; the date is not read. Two parts are
        minutes and seconds, unless "am" or "pm" follows.

    Returns
    -------
    float
        Time. [s]

    Examples
    --------
    >>> clock_seconds("12:03:04.5")
    43384.5
    >>> clock_seconds("1:02,25")
    62.25
    """
    found = _CLOCK.fullmatch(cell)
    if found is None:
        return float("nan")
    first, second, third, fraction, half_day = found.groups()
    part = float(f"0.{fraction}") if fraction else 0.0
    if third is None and not half_day:
        return int(first) * 60.0 + int(second) + part
    hours = int(first)
    if half_day:
        hours = hours % 12 + (12 if half_day.lower() == "pm" else 0)
    return hours * 3600.0 + int(second) * 60.0 + int(third or 0) + part
