"""A number with any unit, as it stands in a level or in a question: "340 mm", "1 7/8 in", "+4 deg"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.quantities.units import find_unit, to_si

if TYPE_CHECKING:
    from pullbook.quantities.units import Unit

__all__ = ["FreeQuantity", "free_quantity", "quantity_at"]

_NUMBER: Final = re.compile(
    r"([-+\u2212])?(?:(?:(\d{1,6}) +)?(\d{1,4})/(\d{1,4})|(\d{1,9}(?:\.(\d{1,9}))?))(?![\d./-])"
)
_UNIT: Final = re.compile(r"[ \u00a0]*([^\s\d,;()]+(?:[ ^/]+[^\s,;()]+)?)")


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeQuantity:
    """A number with a unit.

    Attributes
    ----------
    value : float
        The number. [SI unit of `unit`]
    place : float
        One of its last written place: 1 mm for "44 mm", 1/8 in for "1 7/8 in". [SI unit of `unit`]
    signed : int
        1 or -1 where a sign is written, else 0.
    unit : Unit
        As written.
    end : int
        Where it ends in the text.
    """

    value: float
    place: float
    signed: int
    unit: Unit
    end: int


def free_quantity(text: str) -> FreeQuantity | None:
    """Number with a unit that a text is, or None.

    Parameters
    ----------
    text : str
        The text.

    Examples
    --------
    >>> found = free_quantity("1 7/8 in")
    >>> round(found.value, 7), found.unit.symbol
    (0.047625, 'in')
    >>> [free_quantity(text) for text in ("4-2-1", "straight up", "4 deg advanced")]
    [None, None, None]
    """
    found = quantity_at(text.strip(), 0)
    return found if found is not None and found.end == len(text.strip()) else None


def quantity_at(text: str, start: int) -> FreeQuantity | None:
    """Number with a unit that begins at a place of a text, or None.

    Parameters
    ----------
    text : str
        The text.
    start : int
        The place, from 0.

    Examples
    --------
    >>> found = quantity_at("primaries +3 mm longer", 10)
    >>> found.value, found.signed, found.end
    (0.003, 1, 15)
    """
    number = _NUMBER.match(text, start)
    if number is None:
        return None
    sign, whole, over, under, plain, decimals = number.groups()
    if under is not None and int(under) == 0:
        return None
    value = float(plain) if under is None else float(whole or 0) + int(over) / int(under)
    place = 10.0 ** -len(decimals or "") if under is None else 1.0 / int(under)
    signed = 0 if sign is None else 1 if sign == "+" else -1
    unit, end = _unit(text, number.end())
    if unit is None:
        return None
    si = to_si(value * (signed or 1), unit)
    return FreeQuantity(value=float(si), place=place * unit.factor, signed=signed, unit=unit, end=end)


def _unit(text: str, start: int) -> tuple[Unit | None, int]:
    """Longest unit that begins at a place, and where it ends."""
    found = _UNIT.match(text, start)
    if found is None:
        return None, start
    written = found[1]
    words = list(re.finditer(r"\S+", written))
    for count in range(len(words), 0, -1):
        piece = written[: words[count - 1].end()]
        unit = find_unit(piece)
        if unit is not None:
            return unit, found.start(1) + len(piece)
    return None, start
