"""Air that an engine can breathe, and the slip of the pen behind a value that it cannot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.correct.humid_air import saturation_pressure
from pullbook.errors import OutOfRangeError
from pullbook.quantities.channels import CHANNELS, Channel

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.declaration import Air

__all__ = ["QUANTITY_NAMES", "check_declared_air", "check_moist_air", "check_quantity"]

QUANTITY_NAMES: Final = {
    Channel.AIR_TEMPERATURE: "air temperature",
    Channel.AIR_PRESSURE: "air pressure",
    Channel.AIR_HUMIDITY: "relative humidity",
    Channel.VAPOUR_PRESSURE: "vapour pressure",
}
# Unit that was meant, unit that was probably written, and what turns the wrong SI value into the right one.
_PRESSURE_SLIPS: Final = (
    ("hPa", "Pa", 100.0), ("hPa", "kPa", 0.1), ("kPa", "Pa", 1000.0), ("kPa", "hPa", 10.0),
    ("inHg", "kPa", 3.386389), ("inHg", "Pa", 3386.389), ("inHg", "hPa", 33.86389), ("mmHg", "kPa", 0.133322387),
    ("mmHg", "hPa", 1.33322387), ("psi", "kPa", 6.894757), ("kPa", "inHg", 1 / 3.386389), ("hPa", "inHg", 1 / 33.86389),
    ("hPa", "bar", 1e-3),
)  # fmt: skip


def check_declared_air(air: Air, *, where: str) -> None:
    """Refuse weather that no engine inlet can have.

    Parameters
    ----------
    air : Air
        As declared; parts that are None are not looked at.
    where : str
        Pull or key, for the message.

    Raises
    ------
    OutOfRangeError
        With the unit that was probably meant, where one would make the value possible.
    """
    declared = (
        (Channel.AIR_TEMPERATURE, air.temperature),
        (Channel.AIR_PRESSURE, air.pressure),
        (Channel.AIR_HUMIDITY, air.humidity),
    )
    for channel, value in declared:
        if value is not None:
            check_quantity(channel, value, where)


def check_moist_air(temperature: FloatArray, pressure: FloatArray, vapour: FloatArray, *, where: str) -> None:
    """Refuse more water vapour than air can hold.

    Parameters
    ----------
    temperature : (n,) array of float
        Air temperature; NaN passes. [K]
    pressure : (n,) array of float
        Total pressure; NaN passes. [Pa]
    vapour : (n,) array of float
        Vapour pressure; NaN passes. [Pa]
    where : str
        Pull, for the message.

    Raises
    ------
    OutOfRangeError
        If the vapour pressure reaches the total pressure, or lies more than 2 per cent above saturation.
    """
    remedy = "look at the units of humidity, vapour pressure and air pressure"
    above = np.flatnonzero(vapour >= pressure)
    if above.size:
        value = f"{vapour[above[0]] / 1000:.4g} kPa"
        raise OutOfRangeError("the vapour pressure reaches the total pressure", where=where, value=value, remedy=remedy)
    wet = np.flatnonzero(vapour > 1.02 * saturation_pressure(temperature))
    if wet.size:
        value = f"{vapour[wet[0]] / 1000:.4g} kPa"
        limit = float(saturation_pressure(temperature[wet[0]])) / 1000
        raise OutOfRangeError(
            f"the vapour pressure is above saturation ({limit:.4g} kPa at this temperature)",
            where=where, value=value, remedy=remedy,
        )  # fmt: skip


def check_quantity(channel: Channel, value: float, where: str) -> None:
    """Refuse a value of one air channel outside the range of `CHANNELS`.

    Parameters
    ----------
    channel : Channel
        Air temperature, air pressure, air humidity or vapour pressure.
    value : float
        Value. [SI unit of the channel]
    where : str
        Pull or key, for the message.

    Raises
    ------
    OutOfRangeError
        With the unit that was probably meant, where one would make the value possible.
    """
    kind = CHANNELS[channel]
    if kind.low <= value <= kind.high:
        return
    shown, limits, remedy = _words(channel, value)
    raise OutOfRangeError(
        f"the {QUANTITY_NAMES[channel]} is outside what an engine can breathe ({limits})",
        where=where,
        value=shown,
        remedy=remedy,
    )


def _words(channel: Channel, value: float) -> tuple[str, str, str]:
    """Value, limits and remedy in the units of the trade."""
    kind = CHANNELS[channel]
    if channel is Channel.AIR_TEMPERATURE:
        limits = f"{kind.low - 273.15:g} to {kind.high - 273.15:g} degC"
        return f"{value:.5g} K", limits, _temperature_remedy(value, kind.low, kind.high)
    if channel is Channel.AIR_HUMIDITY:
        meant = f"if {value:g} % was meant, write '{value:g} %'" if 1.0 < value <= 100.0 else "look at the sensor"
        return f"{value:g}", "0 to 1, that is 0 % to 100 %", meant
    limits = f"{kind.low / 1000:g} to {kind.high / 1000:g} kPa"
    return f"{value / 1000:.6g} kPa", limits, _pressure_remedy(value, kind.low, kind.high)


def _temperature_remedy(value: float, low: float, high: float) -> str:
    celsius, fahrenheit = value + 273.15, (value - 273.15 + 459.67) / 1.8
    if low <= celsius <= high:
        return f"if {value:g} degC was meant, write '{value:g} degC'"
    if low <= fahrenheit <= high:
        return f"if {value - 273.15:.4g} degF was meant, write '{value - 273.15:.4g} degF'"
    return "look at the unit and at the sensor"


def _pressure_remedy(value: float, low: float, high: float) -> str:
    for meant, written, ratio in _PRESSURE_SLIPS:
        if low <= value * ratio <= high:
            return (
                f"{meant} was probably meant where {written} was written, which makes it {value * ratio / 1000:.4g} kPa"
            )
    return "write the absolute pressure at the engine inlet, about 100 kPa at sea level"
