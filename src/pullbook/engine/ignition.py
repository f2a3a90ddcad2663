"""Timing of the burning for the charge that each cylinder has trapped, set anew after each cycle."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from pullbook.engine.combustion import (
    REFERENCE_CHARGE,
    burn_factor,
    charge_at,
    combustion_efficiency,
    flame_of,
    timing_of_ca50,
    timing_of_spark,
)
from pullbook.gas import cylinder_settings as rows
from pullbook.gas.crank import cylinder_volume
from pullbook.gas.engine_arrays import BURN_DURATION, BURN_START, TRAPPED_BURNED, TRAPPED_MASS

if TYPE_CHECKING:
    from pullbook.engine.combustion import Timing
    from pullbook.engine.operating import Operating
    from pullbook.gas.burn import FlameState
    from pullbook.gas.engine_arrays import Cylinders

__all__ = ["set_burning"]

_DEG = pi / 180.0
_TYPICAL_SPARK_DEG = -25.0  # where the charge is looked at: it changes by a few per cent between -35 and -15


def _charge(cylinders: Cylinders, c: int, operating: Operating) -> FlameState:
    """Charge of a cylinder at the spark; the reference before the first cycle."""
    mass = cylinders.totals[TRAPPED_MASS, c]
    if not mass > 0.0:
        return REFERENCE_CHARGE
    settings = cylinders.settings
    closing = tuple(
        float(settings[row, c]) for row in (rows.CLOSING_PRESSURE, rows.CLOSING_VOLUME, rows.CLOSING_TEMPERATURE)
    )
    spark = operating.burn.spark_deg if operating.burn.spark_deg is not None else _TYPICAL_SPARK_DEG
    volume = cylinder_volume(spark * _DEG, cylinders.crank[c])
    residual = float(cylinders.totals[TRAPPED_BURNED, c] / mass)
    return charge_at((closing[0], closing[1], closing[2]), volume, 1.0 / operating.lambda_, residual)


def set_burning(cylinders: Cylinders, operating: Operating) -> tuple[Timing, ...]:
    """Set start, duration and efficiency of the next burning of every cylinder.

    Parameters
    ----------
    cylinders : Cylinders
        Their timing and settings are written. [SI]
    operating : Operating
        How the engine is run.

    Returns
    -------
    tuple of Timing
        One for each cylinder. [deg]
    """
    burn = operating.burn
    shape = (burn.completeness, burn.form)
    timings: list[Timing] = []
    for c in range(cylinders.state.shape[1]):
        charge = _charge(cylinders, c, operating)
        speed = float(cylinders.settings[rows.PISTON_SPEED, c])
        factor = burn.duration * burn_factor(charge, speed, flame_of(operating.fuel.name))
        if burn.spark_deg is not None:
            timing = timing_of_spark(factor, shape, burn.spark_deg)
        else:
            timing = timing_of_ca50(factor, shape, burn.ca50_deg if burn.ca50_deg is not None else 8.0)
        cylinders.timing[BURN_START, c] = timing.start_deg * _DEG
        cylinders.timing[BURN_DURATION, c] = timing.duration_deg * _DEG
        burned = min(burn.efficiency * combustion_efficiency(charge[3], operating.lambda_), 1.0)
        cylinders.settings[rows.FUEL_ENERGY, c] = burned * operating.fuel_energy
        timings.append(timing)
    return tuple(timings)
