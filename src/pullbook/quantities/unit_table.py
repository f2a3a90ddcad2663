"""Each unit once, with its exact definition.

References
----------
.. [1] A. Thompson, B. N. Taylor, "Guide for the Use of the International System of Units", NIST Special
   Publication 811, 2008, appendix B. Values rest on the exact inch, pound and standard gravity.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

__all__ = ["UNITS", "Dimension", "Unit"]


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
    SPECIFIC_ENERGY = "energy per mass"
    FLOW_RESISTIVITY = "flow resistivity"
    HEAT_TRANSFER = "heat transfer coefficient"


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
    ("daN m", _T.TORQUE, 10.0, 0.0),
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
    ("mg/s", _T.MASS_FLOW, 1e-6, 0.0),
    ("kg/min", _T.MASS_FLOW, 1.0 / 60.0, 0.0),
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
    ("J/kg", _T.SPECIFIC_ENERGY, 1.0, 0.0),
    ("kJ/kg", _T.SPECIFIC_ENERGY, 1e3, 0.0),
    ("MJ/kg", _T.SPECIFIC_ENERGY, 1e6, 0.0),
    ("Pa s/m^2", _T.FLOW_RESISTIVITY, 1.0, 0.0),
    ("kPa s/m^2", _T.FLOW_RESISTIVITY, 1e3, 0.0),
    ("W/m^2/K", _T.HEAT_TRANSFER, 1.0, 0.0),
)
UNITS: Final[dict[str, Unit]] = {
    symbol: Unit(symbol=symbol, dimension=dimension, factor=factor, offset=offset)
    for symbol, dimension, factor, offset in _TABLE
}
