"""SI numbers for a reader: unit system, symbol, usual decimals.

Text comes in through `pullbook.quantities.units`; this module is the way out. Floats are SI (rpm for speed,
degrees for angles), and the reader's choice of units changes nothing but the text.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final, TypeAlias

from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.rounding import digits, round_to_doubt
from pullbook.quantities.units import UNITS, Dimension, Unit, from_si

__all__ = [
    "Shown",
    "UnitSystem",
    "show",
    "show_change",
    "show_interval",
    "show_range",
    "shown_symbol",
    "shown_unit",
    "shown_value",
]


class UnitSystem(StrEnum):
    """Which units a reader sees."""

    METRIC = "metric"
    US = "us"


Shown: TypeAlias = Channel | Dimension | Unit
"""What a number is: a channel, a dimension, or a unit that is shown whatever the system."""

_D = Dimension
_SYMBOLS: Final[dict[Dimension, tuple[str, str]]] = {
    _D.SPEED: ("rpm", "rpm"),
    _D.TORQUE: ("N m", "lb ft"),
    _D.POWER: ("kW", "hp"),
    _D.TIME: ("s", "s"),
    _D.PRESSURE: ("kPa", "inHg"),
    _D.TEMPERATURE: ("degC", "degF"),
    _D.RATIO: ("%", "%"),
    _D.MIXTURE: ("lambda", "lambda"),
    _D.MASS_FLOW: ("g/s", "lb/h"),
    _D.VOLUME_FLOW: ("L/min", "cfm"),
    _D.VOLTAGE: ("V", "V"),
    _D.CURRENT: ("A", "A"),
    _D.ANGLE: ("deg", "deg"),
    _D.LENGTH: ("mm", "in"),
    _D.VOLUME: ("L", "in3"),
    _D.MASS: ("kg", "lb"),
    _D.FORCE: ("N", "lbf"),
    _D.VELOCITY: ("km/h", "mph"),
    _D.INERTIA: ("kg m^2", "lb ft^2"),
    _D.SPECIFIC_CONSUMPTION: ("g/kWh", "lb/hp/h"),
    _D.SWEEP_RATE: ("rpm/s", "rpm/s"),
    _D.SPECIFIC_ENERGY: ("MJ/kg", "MJ/kg"),
    _D.FLOW_RESISTIVITY: ("kPa s/m^2", "kPa s/m^2"),
    _D.HEAT_TRANSFER: ("W/m^2/K", "W/m^2/K"),
}
_WRITTEN: Final = {"degC": "°C", "degF": "°F", "degR": "°R", "deg": "°", "1": "", "kg m^2": "kg m²",
                   "lb ft^2": "lb ft²", "in3": "in³", "cm3": "cm³", "m3": "m³", "inH2O": "inH₂O"}  # fmt: skip
_CHANGE: Final = {"degC": "K", "degF": "°F", "%": "points"}
_DECIMALS: Final[dict[str, int]] = {
    "rpm": 0, "rpm/s": 0, "Pa": 0, "g/kWh": 0, "in3": 0, "N": 0, "mm": 0, "degF": 0, "mbar": 0, "hPa": 0,
    "lambda": 3, "inHg": 2, "bar": 2, "V": 2, "kg m^2": 3, "lb ft^2": 2, "in": 2, "L": 2, "1": 3, "lb/hp/h": 3,
}  # fmt: skip
_USUAL_DECIMALS: Final = 1
_LARGE: Final = frozenset({"rpm", "rpm/s"})


def shown_unit(of: Shown, system: UnitSystem = UnitSystem.METRIC) -> Unit:
    """Unit in which a reader of `system` sees a channel or a dimension; a unit stays what it is.

    Examples
    --------
    >>> shown_unit(Channel.TORQUE, UnitSystem.US).symbol, shown_unit(Dimension.LENGTH).symbol
    ('lb ft', 'mm')
    """
    if isinstance(of, Unit):
        return of
    if isinstance(of, Channel):
        kind = CHANNELS[of]
        return UNITS[kind.symbol_metric if system is UnitSystem.METRIC else kind.symbol_us]
    metric, us = _SYMBOLS[of]
    return UNITS[metric if system is UnitSystem.METRIC else us]


def shown_symbol(of: Shown, system: UnitSystem = UnitSystem.METRIC) -> str:
    """Symbol that a reader sees, as in "°C" for degC; empty for a plain number.

    Examples
    --------
    >>> shown_symbol(Channel.OIL_TEMPERATURE), shown_symbol(Channel.POWER, UnitSystem.US)
    ('°C', 'hp')
    """
    symbol = shown_unit(of, system).symbol
    return _WRITTEN.get(symbol, symbol)


def shown_value(value: float, of: Shown, system: UnitSystem = UnitSystem.METRIC) -> float:
    """Number in the unit that a reader sees.

    Parameters
    ----------
    value : float
        The number. [SI unit of `of`]
    of : Channel, Dimension or Unit
        What it is.
    system : UnitSystem
        Which units the reader wants.

    Returns
    -------
    float
        The number. [shown unit]

    Examples
    --------
    >>> round(shown_value(400.0, Channel.TORQUE, UnitSystem.US), 3)
    295.025
    """
    return from_si(value, shown_unit(of, system))


def show(value: float, of: Shown, system: UnitSystem = UnitSystem.METRIC, *, decimals: int | None = None) -> str:
    """Number and unit for a reader, with the decimals that the unit usually gets.

    Parameters
    ----------
    value : float
        The number. [SI unit of `of`]
    of : Channel, Dimension or Unit
        What it is.
    system : UnitSystem
        Which units the reader wants.
    decimals : int or None
        Decimals after the point; None for what is usual for the unit.

    Returns
    -------
    str
        As in "24.1 °C".

    Examples
    --------
    >>> show(297.25, Channel.AIR_TEMPERATURE), show(297.25, Channel.AIR_TEMPERATURE, UnitSystem.US)
    ('24.1 °C', '75 °F')
    >>> show(0.46, Channel.AIR_HUMIDITY), show(312_358.0, Dimension.POWER, UnitSystem.US)
    ('46.0 %', '418.9 hp')
    """
    unit = shown_unit(of, system)
    return _joined(_digits(from_si(value, unit), unit, decimals), _WRITTEN.get(unit.symbol, unit.symbol))


def show_change(
    value: float, of: Shown, system: UnitSystem = UnitSystem.METRIC, *, decimals: int | None = None, signed: bool = True
) -> str:
    """Difference of two numbers with its unit; a temperature difference has no zero point to subtract.

    Parameters
    ----------
    value : float
        The difference. [SI unit of `of`]
    of : Channel, Dimension or Unit
        What was subtracted.
    system : UnitSystem
        Which units the reader wants.
    decimals : int or None
        Decimals after the point; None for what is usual for the unit.
    signed : bool
        Write the plus of a positive difference.

    Returns
    -------
    str
        As in "+5.0 K".

    Examples
    --------
    >>> show_change(5.0, Channel.OIL_TEMPERATURE), show_change(5.0, Channel.OIL_TEMPERATURE, UnitSystem.US)
    ('+5.0 K', '+9 °F')
    """
    unit = shown_unit(of, system)
    symbol = _CHANGE.get(unit.symbol, _WRITTEN.get(unit.symbol, unit.symbol))
    return _joined(digits(value / unit.factor, _usual(unit, decimals), signed=signed), symbol)


def show_range(low: float, high: float, of: Shown, system: UnitSystem = UnitSystem.METRIC) -> str:
    """Range with its unit.

    Parameters
    ----------
    low, high : float
        Ends. [SI unit of `of`]
    of : Channel, Dimension or Unit
        What it is.
    system : UnitSystem
        Which units the reader wants.

    Returns
    -------
    str
        As in "80.0 to 105.0 °C".

    Examples
    --------
    >>> show_range(2000.0, 6500.0, Channel.SPEED)
    '2,000 to 6,500 rpm'
    """
    unit = shown_unit(of, system)
    ends = (_digits(from_si(end, unit), unit, None) for end in (low, high))
    return _joined(" to ".join(ends), _WRITTEN.get(unit.symbol, unit.symbol))


def show_interval(
    ends: tuple[float, float, float], of: Shown, system: UnitSystem = UnitSystem.METRIC, *, signed: bool = False
) -> str:
    """Estimate with its interval, all three rounded to what the interval allows.

    Differences only: no zero point is subtracted from a temperature.

    Parameters
    ----------
    ends : tuple of (float, float, float)
        Estimate, low end, high end. [SI unit of `of`]
    of : Channel, Dimension or Unit
        What it is.
    system : UnitSystem
        Which units the reader wants.
    signed : bool
        A gain is written with its plus.

    Returns
    -------
    str
        As in "+9.1 kW (+8.2 to +10.0)"; without brackets where no doubt can be stated.

    Examples
    --------
    >>> show_interval((9134.0, 8222.0, 10046.0), Dimension.POWER, signed=True)
    '+9.1 kW (+8.2 to +10.0)'
    """
    unit = shown_unit(of, system)
    symbol = _WRITTEN.get(unit.symbol, unit.symbol)
    value, low, high = (number / unit.factor for number in ends)
    doubt = (high - low) / 2.0
    shown = _joined(round_to_doubt(value, doubt, signed=signed), symbol)
    if not math.isfinite(doubt):
        return shown
    return f"{shown} ({round_to_doubt(low, doubt, signed=signed)} to {round_to_doubt(high, doubt, signed=signed)})"


def _usual(unit: Unit, decimals: int | None) -> int:
    return _DECIMALS.get(unit.symbol, _USUAL_DECIMALS) if decimals is None else decimals


def _digits(value: float, unit: Unit, decimals: int | None) -> str:
    """Digits of a number; engine speeds have a comma between thousands, as everywhere in sentences."""
    if unit.symbol in _LARGE and decimals is None and math.isfinite(value):
        return f"{value:,.0f}"
    return digits(value, _usual(unit, decimals))


def _joined(digits: str, symbol: str) -> str:
    if not symbol:
        return digits
    return f"{digits}{'' if symbol == '°' else ' '}{symbol}"
