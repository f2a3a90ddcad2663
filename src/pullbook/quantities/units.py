"""Units at the border: text with a unit comes in, SI floats go on.

Inside pullbook every float is SI, with two exceptions that say so in their names: engine speed in
revolutions per minute (``speed_rpm``) and angles in degrees (``angle_deg``). The table below holds each
unit once with its exact definition [1]_; the many spellings that benches write are in `SPELLINGS`.

References
----------
.. [1] A. Thompson, B. N. Taylor, "Guide for the Use of the International System of Units", NIST Special
   Publication 811, 2008, appendix B. Values rest on the exact inch, pound and standard gravity.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final, overload

from pullbook.errors import UnitError
from pullbook.quantities.spellings import SPELLINGS

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["Dimension", "Unit", "find_unit", "from_si", "parse_quantity", "parse_range", "parse_unit", "to_si"]


class Dimension(StrEnum):
    """What a number measures; two units convert only within one dimension."""

    SPEED = "engine speed"
    TORQUE = "torque"
    POWER = "power"
    TIME = "time"
    PRESSURE = "pressure"
    TEMPERATURE = "temperature"
    RATIO = "ratio"
    MIXTURE = "mixture"
    MASS_FLOW = "mass flow"
    VOLUME_FLOW = "volume flow"
    VOLTAGE = "voltage"
    CURRENT = "current"
    ANGLE = "angle"
    LENGTH = "length"
    VOLUME = "volume"
    MASS = "mass"
    FORCE = "force"
    VELOCITY = "velocity"
    INERTIA = "inertia"
    SPECIFIC_CONSUMPTION = "specific fuel consumption"
    SWEEP_RATE = "sweep rate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One unit: ``si = value * factor + offset``.

    Attributes
    ----------
    symbol : str
        The way pullbook writes it.
    dimension : Dimension
        What it measures.
    factor : float
        Multiplies a value in this unit. [SI unit of the dimension per unit]
    offset : float
        Added after the factor; only temperatures have one. [SI unit of the dimension]
    """

    symbol: str
    dimension: Dimension
    factor: float = 1.0
    offset: float = 0.0


_LBF: Final = 4.4482216152605
_FT: Final = 0.3048
_HP: Final = 550.0 * _FT * _LBF
_PS: Final = 75.0 * 9.80665
_RAD_S_IN_RPM: Final = 9.549296585513721
_AFR_PETROL: Final = 14.7  # the gauge convention: "AFR" on a petrol scale is lambda x 14.7 whatever the fuel

_T = Dimension
_TABLE: Final[tuple[tuple[str, Dimension, float, float], ...]] = (
    ("rpm", _T.SPEED, 1.0, 0.0),
    ("krpm", _T.SPEED, 1000.0, 0.0),
    ("rad/s", _T.SPEED, _RAD_S_IN_RPM, 0.0),
    ("Hz", _T.SPEED, 60.0, 0.0),
    ("N m", _T.TORQUE, 1.0, 0.0),
    ("kN m", _T.TORQUE, 1000.0, 0.0),
    ("lb ft", _T.TORQUE, _LBF * _FT, 0.0),
    ("lb in", _T.TORQUE, _LBF * _FT / 12.0, 0.0),
    ("kgf m", _T.TORQUE, 9.80665, 0.0),
    ("W", _T.POWER, 1.0, 0.0),
    ("kW", _T.POWER, 1000.0, 0.0),
    ("hp", _T.POWER, _HP, 0.0),
    ("PS", _T.POWER, _PS, 0.0),
    ("s", _T.TIME, 1.0, 0.0),
    ("ms", _T.TIME, 1e-3, 0.0),
    ("min", _T.TIME, 60.0, 0.0),
    ("h", _T.TIME, 3600.0, 0.0),
    ("Pa", _T.PRESSURE, 1.0, 0.0),
    ("hPa", _T.PRESSURE, 100.0, 0.0),
    ("kPa", _T.PRESSURE, 1000.0, 0.0),
    ("MPa", _T.PRESSURE, 1e6, 0.0),
    ("bar", _T.PRESSURE, 1e5, 0.0),
    ("mbar", _T.PRESSURE, 100.0, 0.0),
    ("psi", _T.PRESSURE, 6894.757293168, 0.0),
    ("inHg", _T.PRESSURE, 3386.389, 0.0),
    ("inH2O", _T.PRESSURE, 249.08891, 0.0),
    ("mmHg", _T.PRESSURE, 133.322387, 0.0),
    ("atm", _T.PRESSURE, 101325.0, 0.0),
    ("K", _T.TEMPERATURE, 1.0, 0.0),
    ("degC", _T.TEMPERATURE, 1.0, 273.15),
    ("degF", _T.TEMPERATURE, 5.0 / 9.0, 459.67 * 5.0 / 9.0),
    ("degR", _T.TEMPERATURE, 5.0 / 9.0, 0.0),
    ("1", _T.RATIO, 1.0, 0.0),
    ("%", _T.RATIO, 0.01, 0.0),
    ("lambda", _T.MIXTURE, 1.0, 0.0),
    ("AFR", _T.MIXTURE, 1.0 / _AFR_PETROL, 0.0),
    ("kg/s", _T.MASS_FLOW, 1.0, 0.0),
    ("g/s", _T.MASS_FLOW, 1e-3, 0.0),
    ("kg/h", _T.MASS_FLOW, 1.0 / 3600.0, 0.0),
    ("lb/h", _T.MASS_FLOW, 0.45359237 / 3600.0, 0.0),
    ("lb/min", _T.MASS_FLOW, 0.45359237 / 60.0, 0.0),
    ("m3/s", _T.VOLUME_FLOW, 1.0, 0.0),
    ("L/min", _T.VOLUME_FLOW, 1e-3 / 60.0, 0.0),
    ("L/h", _T.VOLUME_FLOW, 1e-3 / 3600.0, 0.0),
    ("m3/h", _T.VOLUME_FLOW, 1.0 / 3600.0, 0.0),
    ("cfm", _T.VOLUME_FLOW, _FT**3 / 60.0, 0.0),
    ("gal/h", _T.VOLUME_FLOW, 3.785411784e-3 / 3600.0, 0.0),
    ("V", _T.VOLTAGE, 1.0, 0.0),
    ("mV", _T.VOLTAGE, 1e-3, 0.0),
    ("A", _T.CURRENT, 1.0, 0.0),
    ("deg", _T.ANGLE, 1.0, 0.0),
    ("m", _T.LENGTH, 1.0, 0.0),
    ("mm", _T.LENGTH, 1e-3, 0.0),
    ("cm", _T.LENGTH, 1e-2, 0.0),
    ("km", _T.LENGTH, 1e3, 0.0),
    ("in", _T.LENGTH, 0.0254, 0.0),
    ("ft", _T.LENGTH, _FT, 0.0),
    ("mile", _T.LENGTH, 1609.344, 0.0),
    ("m3", _T.VOLUME, 1.0, 0.0),
    ("L", _T.VOLUME, 1e-3, 0.0),
    ("cm3", _T.VOLUME, 1e-6, 0.0),
    ("in3", _T.VOLUME, 0.0254**3, 0.0),
    ("kg", _T.MASS, 1.0, 0.0),
    ("g", _T.MASS, 1e-3, 0.0),
    ("lb", _T.MASS, 0.45359237, 0.0),
    ("N", _T.FORCE, 1.0, 0.0),
    ("kN", _T.FORCE, 1000.0, 0.0),
    ("lbf", _T.FORCE, _LBF, 0.0),
    ("m/s", _T.VELOCITY, 1.0, 0.0),
    ("km/h", _T.VELOCITY, 1.0 / 3.6, 0.0),
    ("mph", _T.VELOCITY, 0.44704, 0.0),
    ("kg m^2", _T.INERTIA, 1.0, 0.0),
    ("lb ft^2", _T.INERTIA, 0.45359237 * _FT**2, 0.0),
    ("lbf in s^2", _T.INERTIA, _LBF * 0.0254, 0.0),
    ("slug ft^2", _T.INERTIA, _LBF * _FT, 0.0),
    ("kg/J", _T.SPECIFIC_CONSUMPTION, 1.0, 0.0),
    ("g/kWh", _T.SPECIFIC_CONSUMPTION, 1e-3 / 3.6e6, 0.0),
    ("lb/hp/h", _T.SPECIFIC_CONSUMPTION, 0.45359237 / (_HP * 3600.0), 0.0),
    ("rpm/s", _T.SWEEP_RATE, 1.0, 0.0),
)
UNITS: Final[dict[str, Unit]] = {
    symbol: Unit(symbol=symbol, dimension=dimension, factor=factor, offset=offset)
    for symbol, dimension, factor, offset in _TABLE
}
_QUANTITY: Final = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")
_RANGE: Final = re.compile(r"\s*([-+]?[\d.]+)\s*(?:\.\.|to|\u2013)\s*([-+]?[\d.]+)\s*(.*?)\s*")


def _normal(text: str) -> str:
    """Spelling without case, blanks, dots, dashes and degree signs: the key of `SPELLINGS`."""
    return re.sub(r"[\s._·*⋅\-]", "", text.replace("°", "deg").replace("º", "deg").replace("²", "2")).lower()


_CASED: Final = {re.sub(r"\s", "", symbol): unit for symbol, unit in UNITS.items()}
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
    symbol = _SPELLED.get(_normal(text))
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
        near = difflib.get_close_matches(text, [*allowed, *_SPELLED], n=1, cutoff=0.5)
        hint = f"did you mean '{UNITS[_SPELLED.get(_normal(near[0]), near[0])].symbol}'? " if near else ""
        shown = allowed if dimension else []
        remedy = hint + (f"write one of {', '.join(shown)}" if shown else "write a unit such as N m, kPa or degC")
        raise UnitError("the unit is unknown", where=where, value=text, remedy=remedy)
    if dimension is not None and unit.dimension is not dimension:
        raise UnitError(
            f"this is a unit of {unit.dimension}, but a {dimension} is needed",
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
            "the unit is missing", where=where, value=text, remedy=f"write for example '{number} {_example(dimension)}'"
        )
    return to_si(float(number), parse_unit(unit, where=where, dimension=dimension))


def parse_range(text: str, dimension: Dimension, *, where: str = "") -> tuple[float, float]:
    """Range with a unit, as two SI values, low before high.

    Examples
    --------
    >>> parse_range("2500..3500 rpm", Dimension.SPEED)
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


def _example(dimension: Dimension) -> str:
    preferred = {
        Dimension.PRESSURE: "kPa", Dimension.TEMPERATURE: "degC", Dimension.RATIO: "%", Dimension.POWER: "kW",
        Dimension.LENGTH: "mm", Dimension.TIME: "min", Dimension.VOLUME: "L",
    }  # fmt: skip
    return preferred.get(dimension) or next(u.symbol for u in UNITS.values() if u.dimension is dimension)
