"""What is fixed about a cylinder, or remembered from step to step: one array for all cylinders, a row a number."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "AIR_PER_FUEL",
    "BORE",
    "CLEARANCE_VOLUME",
    "CLOSING_PRESSURE",
    "CLOSING_TEMPERATURE",
    "CLOSING_VOLUME",
    "CROWN_AREA",
    "CROWN_TEMPERATURE",
    "FUEL_ENERGY",
    "HEAD_AREA",
    "HEAD_TEMPERATURE",
    "HEAT_FACTOR",
    "HEAT_MODEL",
    "LAST_POWER",
    "LAST_TEMPERATURE",
    "LINER_TEMPERATURE",
    "MOTORED_EXPONENT",
    "PISTON_SPEED",
    "SETTINGS",
    "SWEPT_VOLUME",
    "cylinder_settings",
]

# Rows of the settings.
BORE = 0  # m
SWEPT_VOLUME = 1  # m3
CLEARANCE_VOLUME = 2  # m3
HEAD_AREA = 3  # m2
CROWN_AREA = 4  # of the piston, m2
HEAD_TEMPERATURE = 5  # K
CROWN_TEMPERATURE = 6  # K
LINER_TEMPERATURE = 7  # K
PISTON_SPEED = 8  # mean, m/s
HEAT_MODEL = 9  # selector of gas/wall_heat.py
HEAT_FACTOR = 10  # multiplies the film coefficient
AIR_PER_FUEL = 11  # mass of air that turns to burned gas with a unit mass of fuel
FUEL_ENERGY = 12  # released by a unit mass of fuel, J/kg
MOTORED_EXPONENT = 13
CLOSING_PRESSURE = 14  # when the inlet valve closed, Pa
CLOSING_VOLUME = 15  # m3
CLOSING_TEMPERATURE = 16  # K
LAST_TEMPERATURE = 17  # start of the next search, K
LAST_POWER = 18  # heat to the walls half-way through the last step, W
SETTINGS = 19


def cylinder_settings(count: int, bore: float, swept_volume: float, clearance_volume: float) -> FloatArray:
    """Settings of equal cylinders with plain defaults; the caller overwrites the rows that it knows.

    Parameters
    ----------
    count : int
        Cylinders.
    bore : float
        Bore. [m]
    swept_volume : float
        Of one cylinder. [m3]
    clearance_volume : float
        Volume at top dead centre. [m3]

    Returns
    -------
    (19, count) array of float
        Rows as named in this module. [m, m3, m3, m2, m2, K, K, K, m/s, 1, 1, 1, J/kg, 1, Pa, m3, K, K, W]

    Notes
    -----
    Defaults: head 1.2 and crown 1.0 times the bore's area; head, crown and liner at 460, 500 and 420 K (liquid-cooled,
    full load), Woschni, motored exponent 1.33. No energy per fuel: it has to be given.

    Examples
    --------
    >>> cylinder_settings(4, 0.086, 5e-4, 5.5e-5).shape
    (19, 4)
    """
    settings = np.zeros((SETTINGS, count))
    area = 0.25 * np.pi * bore * bore
    rows = {
        BORE: bore, SWEPT_VOLUME: swept_volume, CLEARANCE_VOLUME: clearance_volume, HEAD_AREA: 1.2 * area,
        CROWN_AREA: area, HEAD_TEMPERATURE: 460.0, CROWN_TEMPERATURE: 500.0, LINER_TEMPERATURE: 420.0,
        PISTON_SPEED: 10.0, HEAT_FACTOR: 1.0, AIR_PER_FUEL: 13.0, MOTORED_EXPONENT: 1.33, CLOSING_PRESSURE: 1e5,
        CLOSING_VOLUME: swept_volume + clearance_volume, CLOSING_TEMPERATURE: 350.0, LAST_TEMPERATURE: 350.0,
    }  # fmt: skip
    for row, value in rows.items():
        settings[row] = value
    return settings
