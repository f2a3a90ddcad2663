"""Air of the invented test day, and what SAE J1349 makes of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["DayAir", "air_at", "j1349_factor"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayAir:
    """Air at the engine inlet at one moment.

    Attributes
    ----------
    temperature : float
        Temperature. [K]
    pressure : float
        Absolute pressure. [Pa]
    humidity : float
        Relative humidity. [1]
    """

    temperature: float
    pressure: float
    humidity: float


def air_at(minutes: float) -> DayAir:
    """Air at a time of the day: a morning that warms up while a low comes in.

    Parameters
    ----------
    minutes : float
        Time of day. [min after midnight]

    Returns
    -------
    air : DayAir
        Air at the inlet.

    Examples
    --------
    >>> air = air_at(8 * 60 + 40)
    >>> round(air.temperature - 273.15, 1), round(air.pressure / 100), round(air.humidity, 2)
    (18.2, 994, 0.61)
    """
    warmth = float(np.sin(np.pi * (minutes - 6 * 60) / (18 * 60)))
    return DayAir(
        temperature=273.15 + 14.0 + 12.0 * (warmth - 0.10),
        pressure=99_450.0 - 1.6 * (minutes - 8 * 60),
        humidity=0.70 - 0.27 * (warmth - 0.10),
    )


def j1349_factor(air: DayAir) -> float:
    r"""Factor that brings observed torque to the reference air of SAE J1349 (spark ignition, no boost).

    .. math::
        CF = 1.18\, \frac{99\,\mathrm{kPa}}{p_d} \sqrt{\frac{T}{298.15\,\mathrm{K}}} - 0.18

    Parameters
    ----------
    air : DayAir
        Air at the inlet.

    Returns
    -------
    factor : float
        Corrected over observed torque. [1]

    Notes
    -----
    The demo divides by it, and the stage ``correct`` multiplies by its own factor, written by other hands from
    the standard: that the two cancel is a test.

    References
    ----------
    .. [1] SAE J1349, June 1990 text as quoted in secondary sources.
    .. [2] A. L. Buck, "New equations for computing vapor pressure and enhancement factor", J. Appl. Meteorology
       20, 1981, p. 1527 (vapour pressure); coefficients as used in public meteorological code.

    Examples
    --------
    >>> round(j1349_factor(DayAir(temperature=303.15, pressure=98_000.0, humidity=0.60)), 3)
    1.054
    """
    celsius = air.temperature - 273.15
    saturation = 611.21 * float(np.exp(17.502 * celsius / (240.97 + celsius)))
    dry = air.pressure - air.humidity * saturation
    return 1.18 * (99_000.0 / dry) * float(np.sqrt(air.temperature / 298.15)) - 0.18
