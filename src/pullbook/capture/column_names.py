"""Column names and their units, as benches write them: "Torque (lb-ft)", "p_man [bar]", "Torque Nm", "speed_rad_s"."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from pullbook.capture.numbers import CellKind, kind_of
from pullbook.quantities.name_matching import is_listed
from pullbook.quantities.units import find_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.numbers import Cell

__all__ = ["header_of", "looks_like_header", "looks_like_units", "split_name"]

_BRACKETS: Final = re.compile(r"\[([^\[\]]*)\]|\(([^()]*)\)|\{([^{}]*)\}|<([^<>]*)>")
_THOUSANDS: Final = re.compile(r"(?i)[x*\u00d7]\s*10(?:00|\^?3)|1000|10\^?3")
_SPEED_WORD: Final = re.compile(r"(?i)\brpm|1/min|speed|drehzahl|r\u00e9gime|regime")
# A unit without brackets is only split off where it can hardly be a part of the name: "T_in" is no length.
_SAFE_WITHOUT_BRACKETS: Final = frozenset((
    "rpm", "krpm", "rad/s", "rads", "rad_s", "1/min", "min-1", "u/min", "tr/min", "nm", "n.m", "n*m", "knm", "lbft",
    "lb-ft", "lbs-ft", "lbf-ft", "ft-lb", "ft-lbs", "ftlb", "ftlbs", "lb.ft", "ft.lb", "lb_ft", "ft_lb", "ft_lbs",
    "lbf", "hp", "bhp", "whp", "rwhp", "chp", "ps", "cv", "kw", "kpa", "hpa", "mpa", "mbar", "bar", "psi", "inhg",
    "mmhg", "inh2o", "degc", "degf", "°c", "°f", "deg_c", "deg_f", "kelvin", "%", "percent", "pct", "g/s", "g_s",
    "kg/h", "kg_h", "lb/h", "lb/hr", "lb/min", "kph", "km/h", "kmh", "km_h", "mph", "m/s", "m_s", "mv", "volt",
    "volts", "sec", "secs", "second", "seconds", "ms", "msec", "afr", "hz", "rpm/s", "cfm", "l/h", "l/min",
))  # fmt: skip
_SAFE_AFTER: Final = {
    "s": re.compile(r"(?i)tim|zeit|temps|tiempo|tempo|\bt$"),
    "v": re.compile(r"(?i)volt|analog|batt|sensor|signal|load|spannung"),
    **dict.fromkeys(("c", "f", "k"), re.compile(r"(?i)temp|iat|ect|egt|clt")),
    "n": re.compile(r"(?i)force|effort|kraft|load"),
    "deg": re.compile(r"(?i)ign|spark|advance|timing|angle"),
    **dict.fromkeys(("ch", "pk", "hk"), re.compile(r"(?i)pui|potenc|vermog|effekt|power")),
}
_QUALIFIERS: Final = re.compile(
    r"(?i)(?:un)?corr|raw|sae|std|stp|din|iso|ece|jis|avg|mean|max|min|filt|smooth|calc|obs"
)
_DRAWN: Final = re.compile(r"[-=_*~+]{2,}")
_NOTHING: Final = frozenset({"", "-", "--", "n/a", "none"})


@lru_cache(maxsize=1024)  # the pulls of a session share their header
def split_name(text: str) -> tuple[str, str]:
    """Name and unit of one header cell, both as written; the unit is empty where none is named.

    Parameters
    ----------
    text : str
        Header cell.

    Notes
    -----
    A bracket that holds no unit known to `pullbook.quantities.units` stays in the name when it is round
    ("Power (corrected)") and is taken for a unit when it is square and no such qualifier ("CR [V/V]").
    A name that is nothing but a unit ("Nm", "rpm x1000") is both.

    Examples
    --------
    >>> [split_name(t) for t in ("Torque (lb-ft)", "speed_rad_s", "Power (corrected) [kW]", "T_in")]
    [('Torque', 'lb-ft'), ('speed', 'rad_s'), ('Power (corrected)', 'kW'), ('T_in', '')]
    """
    text = " ".join(text.replace("\u00a0", " ").split())
    bracketed = _bracketed(text)
    if bracketed is not None:
        return bracketed
    if _without_brackets(text) or (_THOUSANDS.search(text) and find_unit(text) is not None):
        return text, text
    return _trailing(text)


def _bracketed(text: str) -> tuple[str, str] | None:
    for found in reversed(list(_BRACKETS.finditer(text))):
        inside = next(group for group in found.groups() if group is not None).strip()
        name = " ".join(f"{text[: found.start()]} {text[found.end() :]}".split()).strip(" ,:")
        if not name:
            continue
        if _THOUSANDS.fullmatch(inside) and _SPEED_WORD.search(name):
            return name, "rpm x1000"
        if find_unit(inside) is not None and not inside.isdigit():
            return name, inside
        square = found.group(1) is not None or re.search(r"[/%\u00b0]", inside)
        if square and inside and not _QUALIFIERS.match(inside):
            return name, inside
    return None


def _without_brackets(text: str) -> bool:
    return text.lower() in _SAFE_WITHOUT_BRACKETS


def _trailing(text: str) -> tuple[str, str]:
    """Split a unit off that follows a blank, an underscore, a comma or a stroke with blanks."""
    for found in re.finditer(r"\s*(?:,|:|\s/|(?<=[^/])/(?=\D)|[ _])\s*", text):
        name, unit = text[: found.start()], text[found.end() :]
        if not name:
            continue
        after = _SAFE_AFTER.get(unit.lower())
        if is_listed(text) and find_unit(unit) is not None:
            return text, unit  # "Engine RPM": the name is whole only with its unit
        if _without_brackets(unit) or (after is not None and after.search(name)):
            return name.rstrip(" ,:/"), unit
        if _THOUSANDS.search(unit) and _SPEED_WORD.search(unit) and find_unit(unit) is not None:
            return name, unit
    return text, ""


def looks_like_units(cells: Sequence[Cell]) -> bool:
    """Whether a row names units: every filled cell is one, or a word in brackets, and at least half are known."""
    filled = [cell.strip() for cell in cells if isinstance(cell, str) and cell.strip()]
    if not filled or len(filled) < sum(cell != "" for cell in cells):
        return False
    known = 0
    for cell in filled:
        inside = _peeled(cell)
        if inside is not None and find_unit(inside) is not None and inside not in _NOTHING:
            known += 1
        elif inside is None or (inside == cell and inside not in _NOTHING):
            return False
    return known >= 1 and known * 2 >= sum(cell not in _NOTHING for cell in filled)


def _peeled(cell: str) -> str | None:
    """Cell without the brackets around all of it; None where brackets follow a word."""
    found = _BRACKETS.fullmatch(cell)
    if found is not None:
        return next(group for group in found.groups() if group is not None).strip()
    return None if _BRACKETS.search(cell) and find_unit(cell) is None else cell


def looks_like_header(cells: Sequence[Cell], width: int) -> bool:
    """Whether a row of words can name the columns of a table that is `width` columns wide.

    Parameters
    ----------
    cells : sequence of str or float
        One row. [any]
    width : int
        Number of columns that hold something. [1]
    """
    kinds = [kind_of(cell) for cell in cells]
    words = kinds.count(CellKind.TEXT)
    filled = len(kinds) - kinds.count(CellKind.EMPTY)
    return words >= min(2, width) and words * 2 >= filled and filled * 2 >= width


def header_of(rows: Sequence[Sequence[Cell]], width: int) -> tuple[int, tuple[str, ...], tuple[str, ...]] | None:
    """Names and units from the rows of words right above a table.

    Parameters
    ----------
    rows : sequence of sequence of str or float
        Rows of words above the first record, nearest last, without blank ones. [any]
    width : int
        Number of columns that hold something. [1]

    Returns
    -------
    tuple or None
        How many of the last rows were used, the names and the units; None where no row can be a header.
    """
    lines = 0
    while lines < len(rows) and _is_drawn_line(rows[-1 - lines]):
        lines += 1
    found = _header_of(rows[: len(rows) - lines], width)
    return None if found is None else (found[0] + lines, *found[1:])


def _is_drawn_line(cells: Sequence[Cell]) -> bool:
    """Whether a row only parts names from numbers, as "-----,-----" does."""
    filled = [str(cell).strip() for cell in cells if str(cell).strip()]
    return bool(filled) and all(_DRAWN.fullmatch(cell) for cell in filled)


def _header_of(rows: Sequence[Sequence[Cell]], width: int) -> tuple[int, tuple[str, ...], tuple[str, ...]] | None:
    if not rows:
        return None
    last = rows[-1]
    if looks_like_units(last) and len(rows) > 1 and looks_like_header(rows[-2], width):
        split = [split_name(str(cell)) for cell in rows[-2]]
        below = [_peeled(str(cell).strip()) or "" for cell in last] + [""] * len(split)
        units = tuple(_unit_of(name, unit, under) for (name, unit), under in zip(split, below, strict=False))
        return 2, tuple(name for name, _ in split), units
    if not looks_like_header(last, width):
        return None
    split = [split_name(str(cell)) for cell in last]
    return 1, tuple(name for name, _ in split), tuple(unit for _, unit in split)


def _unit_of(name: str, unit: str, under: str) -> str:
    """Unit of a column with a row of units under its name: the row wins over a name that only looks like a unit."""
    said = "" if under in _NOTHING and under != "-" else under
    return said or unit if name == unit else unit or said
