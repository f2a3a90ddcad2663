"""Units at the border: text with a unit comes in, SI floats go on.

Inside pullbook every float is SI, with two exceptions that say so in their names: engine speed in
revolutions per minute (``speed_rpm``) and angles in degrees (``angle_deg``). Each unit stands once, with its
exact definition, in `pullbook.quantities.unit_table`; the many spellings that benches write are in `SPELLINGS`.
"""

from __future__ import annotations

import difflib
import re
from typing import TYPE_CHECKING, Final, overload

from pullbook.errors import UnitError
from pullbook.quantities.spellings import CASED_SPELLINGS, SPELLINGS
from pullbook.quantities.unit_table import UNITS, Dimension, Unit

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "UNITS", "Dimension", "Unit", "find_unit", "from_si", "parse_quantity", "parse_range", "parse_unit", "to_si",
]  # fmt: skip


_QUANTITY: Final = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")
_RANGE: Final = re.compile(r"\s*([-+]?[\d.]+)\s*(?:\.\.|to|[-\u2013])\s*([-+]?[\d.]+)\s*(.*?)\s*")


_SIGNS: Final = str.maketrans(
    {"°": "deg", "º": "deg", "℃": "degC", "℉": "degF", "²": "2", "³": "3", "⁻": "-", "¹": "1"}
)


def _normal(text: str) -> str:
    """Spelling without case, blanks, dots, dashes and degree signs: the key of `SPELLINGS`."""
    return re.sub(r"[\s._·*⋅\-\u2212]", "", text.translate(_SIGNS)).lower()


_CASED: Final = {
    **{re.sub(r"\s", "", symbol): unit for symbol, unit in UNITS.items()},
    **{text: UNITS[symbol] for text, symbol in CASED_SPELLINGS.items()},
}
_SPELLED: Final = {
    **{_normal(symbol): symbol for symbol in UNITS},
    **{_normal(text): symbol for symbol, texts in SPELLINGS.items() for text in texts},
}


def find_unit(text: str) -> Unit | None:
    """Unit that a spelling stands for, or None.

    The exact symbol wins over the case-blind spelling, so that ``mW`` never becomes ``MW`` unnoticed.

    Examples
    --------
    >>> [find_unit(text).symbol for text in ("ft-lbs", "Nm", "1/min", "°F", "CV")]
    ['lb ft', 'N m', 'rpm', 'degF', 'PS']
    >>> find_unit("furlong") is None
    True
    """
    exact = _CASED.get(re.sub(r"\s", "", text))
    if exact is not None:
        return exact
    key = _normal(text)
    symbol = _SPELLED.get(key) if key else None
    return None if symbol is None else UNITS[symbol]


def parse_unit(text: str, *, where: str = "", dimension: Dimension | None = None) -> Unit:
    """Unit that a spelling stands for.

    Raises
    ------
    UnitError
        If the text is empty, unknown (the nearest known spelling is named), or of another dimension.
    """
    unit = find_unit(text)
    allowed = sorted(u.symbol for u in UNITS.values() if dimension is None or u.dimension is dimension)
    if unit is None:
        known = [*allowed, *(spelling for spelling, symbol in _SPELLED.items() if symbol in allowed)]
        near = difflib.get_close_matches(text, known, n=1, cutoff=0.5)
        hint = f"did you mean '{UNITS[_SPELLED.get(_normal(near[0]), near[0])].symbol}'? " if near else ""
        shown = allowed if dimension else []
        remedy = hint + (f"write one of {', '.join(shown)}" if shown else "write a unit such as N m, kPa or degC")
        raise UnitError("the unit is unknown", where=where, value=text, remedy=remedy)
    if dimension is not None and unit.dimension is not dimension:
        raise UnitError(
            f"this is a unit of {unit.dimension}, but {_with_article(dimension)} is needed",
            where=where, value=text, remedy=f"write one of {', '.join(allowed)}",
        )  # fmt: skip
    return unit


@overload
def to_si(value: float, unit: Unit) -> float: ...
@overload
def to_si(value: FloatArray, unit: Unit) -> FloatArray: ...
def to_si(value: float | FloatArray, unit: Unit) -> float | FloatArray:
    """Value in SI (rpm for speed, degrees for angles) of a value in `unit`."""
    return value * unit.factor + unit.offset


@overload
def from_si(value: float, unit: Unit) -> float: ...
@overload
def from_si(value: FloatArray, unit: Unit) -> FloatArray: ...
def from_si(value: float | FloatArray, unit: Unit) -> float | FloatArray:
    """Value in `unit` of a value in SI (rpm for speed, degrees for angles)."""
    return (value - unit.offset) / unit.factor


def parse_quantity(text: str, dimension: Dimension, *, where: str = "") -> float:
    """Number with a unit, in SI.

    Raises
    ------
    UnitError
        If there is no number, no unit (a bare number is refused), or a unit of another dimension.

    Examples
    --------
    >>> round(parse_quantity("24.1 degC", Dimension.TEMPERATURE), 2)
    297.25
    >>> parse_quantity("46 %", Dimension.RATIO)
    0.46
    """
    found = _QUANTITY.fullmatch(text)
    if found is None:
        raise UnitError(
            f"a number with a unit of {dimension} is needed",
            where=where, value=text, remedy=f"write for example '12.5 {_example(dimension)}'",
        )  # fmt: skip
    number, unit = found.groups()
    if not unit:
        raise UnitError(
            "the unit is missing", where=where, value=text, remedy=_with_unit(float(number), number, dimension)
        )
    return to_si(float(number), parse_unit(unit, where=where, dimension=dimension))


def parse_range(text: str, dimension: Dimension, *, where: str = "") -> tuple[float, float]:
    """Range with a unit, as two SI values, low before high.

    Examples
    --------
    >>> parse_range("2500..3500 rpm", Dimension.SPEED)
    (2500.0, 3500.0)
    >>> parse_range("2500-3500 rpm", Dimension.SPEED)
    (2500.0, 3500.0)
    """
    found = _RANGE.fullmatch(text)
    example = f"write for example '10..20 {_example(dimension)}'"
    if found is None:
        raise UnitError("a range with a unit is needed", where=where, value=text, remedy=example)
    low, high, unit_text = found.groups()
    if not unit_text:
        raise UnitError("the unit is missing", where=where, value=text, remedy=example)
    unit = parse_unit(unit_text, where=where, dimension=dimension)
    try:
        first, last = to_si(float(low), unit), to_si(float(high), unit)
    except ValueError:
        raise UnitError("a range with a unit is needed", where=where, value=text, remedy=example) from None
    if not first < last:
        raise UnitError("the range is empty", where=where, value=text, remedy="write the lower end first")
    return first, last


def _with_unit(number: float, written: str, dimension: Dimension) -> str:
    """Remedy that repeats the number with a unit; a share without one was meant as 41 %, hardly as 0.41 %."""
    if dimension is Dimension.RATIO and 0.0 < number < 1.0:
        written = f"{100.0 * number:.4g}"
    return f"write for example '{written} {_example(dimension)}'"


def _with_article(dimension: Dimension) -> str:
    return f"{'an' if dimension[0] in 'aeiou' else 'a'} {dimension}"


def _example(dimension: Dimension) -> str:
    preferred = {
        Dimension.PRESSURE: "kPa", Dimension.TEMPERATURE: "degC", Dimension.RATIO: "%", Dimension.POWER: "kW",
        Dimension.LENGTH: "mm", Dimension.TIME: "min", Dimension.VOLUME: "L",
        Dimension.SPECIFIC_ENERGY: "MJ/kg", Dimension.FLOW_RESISTIVITY: "kPa s/m^2",
    }  # fmt: skip
    return preferred.get(dimension) or next(u.symbol for u in UNITS.values() if u.dimension is dimension)
