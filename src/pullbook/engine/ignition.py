"""Timing of the burning for the charge that each cylinder has trapped, set anew before each cycle."""

from __future__ import annotations

from functools import partial
from math import pi
from typing import TYPE_CHECKING, Final

from pullbook.engine.best_spark import BestSpark
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
    from collections.abc import Sequence

    from pullbook.engine.combustion import Timing
    from pullbook.engine.operating import Operating
    from pullbook.gas.burn import FlameState
    from pullbook.gas.engine_arrays import EngineArrays

__all__ = ["Ignition"]

_DEG: Final = pi / 180.0
# Where the charge is looked at, whatever the spark, so that a spark that is held, given by the half burned angle or
# searched is the same spark. Looked at where it is lit, an early spark would burn more slowly and call for an earlier
# one, without end: the correlation does not know that most of the charge burns near top dead centre in either case.
_SEEN_DEG: Final = -25.0


class Ignition:
    """Spark and burning of all cylinders, cycle after cycle.

    Parameters
    ----------
    arrays : EngineArrays
        The engine as it runs; timing and settings of its cylinders are written. [SI]
    operating : Operating
        How it is run.
    """

    def __init__(self, arrays: EngineArrays, operating: Operating) -> None:
        self._cylinders = arrays.cylinders
        self._operating = operating
        self._search = BestSpark(arrays, operating)

    def begin_at(self, ca50_deg: Sequence[float]) -> None:
        """Search the spark from where another run of the same engine has found it.

        Parameters
        ----------
        ca50_deg : sequence of float
            Angle of half burned charge of each cylinder. [deg]
        """
        self._search.begin_at(ca50_deg)

    def set_burning(self) -> tuple[Timing, ...]:
        """Set start, duration and efficiency of the next burning; spark and burning of each cylinder."""
        return tuple(self._set(c) for c in range(self._cylinders.state.shape[1]))

    def still_moves(self, limit_deg: float) -> str:
        """What still moves by more than a limit; empty where nothing does.

        Parameters
        ----------
        limit_deg : float
            Largest move of a spark that is searched, from one cycle to the next. [deg]
        """
        move = self._search.farthest_move_deg
        if not self._operating.burn.searched or move <= limit_deg:
            return ""
        return f"the spark of best torque still moves by {move:.2g} deg from cycle to cycle, more than {limit_deg:.2g}"

    def _set(self, c: int) -> Timing:
        cylinders, operating = self._cylinders, self._operating
        burn = operating.burn
        shape = (burn.completeness, burn.form)
        charge = self._charge(c)
        burned = min(burn.efficiency * combustion_efficiency(charge[3], operating.lambda_), 1.0)
        cylinders.settings[rows.FUEL_ENERGY, c] = burned * operating.chemistry.fuel_energy
        speed = float(cylinders.settings[rows.PISTON_SPEED, c])
        factor = burn.duration * burn_factor(charge, speed, flame_of(operating.fuel.name))
        if burn.spark_deg is not None:
            timing = timing_of_spark(factor, shape, burn.spark_deg)
        elif burn.ca50_deg is not None:
            timing = timing_of_ca50(factor, shape, burn.ca50_deg)
        else:
            timing = self._search.seek(c, partial(timing_of_ca50, factor, shape))
        cylinders.timing[BURN_START, c] = timing.start_deg * _DEG
        cylinders.timing[BURN_DURATION, c] = timing.duration_deg * _DEG
        return timing

    def _charge(self, c: int) -> FlameState:
        """Charge of a cylinder near the spark; the reference before the first cycle."""
        cylinders = self._cylinders
        mass = cylinders.totals[TRAPPED_MASS, c]
        if not mass > 0.0:
            return REFERENCE_CHARGE
        settings = cylinders.settings
        closing = tuple(
            float(settings[row, c]) for row in (rows.CLOSING_PRESSURE, rows.CLOSING_VOLUME, rows.CLOSING_TEMPERATURE)
        )
        volume = cylinder_volume(_SEEN_DEG * _DEG, cylinders.crank[c])
        residual = float(cylinders.totals[TRAPPED_BURNED, c] / mass)
        return charge_at((closing[0], closing[1], closing[2]), volume, 1.0 / self._operating.lambda_, residual)
