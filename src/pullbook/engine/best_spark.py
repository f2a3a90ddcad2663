"""Spark for best torque: the angle of half burned charge that gives each cylinder the most work.

After each cycle the charge that a cylinder has trapped is fired three times without the pipes, with the charge half
burned two degrees earlier, where it was, and two degrees later; the top of the parabola through the three is where the
next cycle burns. So the search settles together with the cycles.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas import cylinder_settings as rows
from pullbook.gas.crank import SWEPT
from pullbook.gas.engine_arrays import (
    BURN_EFFICIENCY,
    BURN_FORM,
    EXHAUST_OPENS,
    INTAKE_CLOSES,
    TRAPPED_BURNED,
    TRAPPED_FUEL,
    TRAPPED_MASS,
)
from pullbook.gas.fired_cycle import fire_cylinder
from pullbook.gas.mixture import energy_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.engine.combustion import Timing
    from pullbook.engine.operating import Operating
    from pullbook.gas.engine_arrays import EngineArrays

__all__ = ["BestSpark"]

_DEG: Final = math.pi / 180.0
_STEP: Final = 3.0 * _DEG
_BESIDE_DEG: Final = 2.0  # its error of third order moves the top by less than 0.02 deg
_FARTHEST_DEG: Final = 6.0  # of one move
_RANGE_DEG: Final = (-10.0, 60.0)
_FIRST_DEG: Final = 8.0  # usual


class BestSpark:
    """Search of the best spark over the cycles of a run.

    Parameters
    ----------
    arrays : EngineArrays
        The engine as it runs. [SI]
    operating : Operating
        How it is run.

    Notes
    -----
    What is greatest is the work from the closing of the intake to bottom dead centre after firing, less what friction
    takes of the peak pressure. What a spark does to breathing, by the heat of the exhaust, is left out: where filling
    hangs on the spark (0.15 to 0.3 per cent a degree, in troughs of the filling at low speed) the torque found was up
    to 0.5 per cent below the best there is; elsewhere less than 0.01 per cent.

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, section 9.1 (spark for best torque; from
       memory).
    """

    def __init__(self, arrays: EngineArrays, operating: Operating) -> None:
        self._arrays = arrays
        self._speed = operating.speed_rpm * math.pi / 30.0
        self._by_pressure = operating.burn.friction_by_pressure
        self._outside = operating.air.pressure
        self._ca50 = np.full(arrays.cylinders.state.shape[1], _FIRST_DEG)
        self._moves = np.full(self._ca50.size, math.inf)
        valves = arrays.valves
        exhausts = [np.flatnonzero((valves.cylinder == c) & (valves.intake == 0)) for c in range(self._ca50.size)]
        self._areas = [np.ascontiguousarray(valves.area_out[one].sum(axis=0)) for one in exhausts]

    def begin_at(self, ca50_deg: Sequence[float]) -> None:
        """Begin with other angles than the usual one.

        Parameters
        ----------
        ca50_deg : sequence of float
            Angle of half burned charge of each cylinder. [deg]
        """
        self._ca50[:] = ca50_deg

    @property
    def farthest_move_deg(self) -> float:
        """Largest move of a cylinder's half burned angle before the last cycle. [deg]."""
        return float(self._moves.max())

    def seek(self, c: int, timing_of: Callable[[float], Timing]) -> Timing:
        """Timing of the next cycle of a cylinder; the usual one before it has trapped anything.

        Parameters
        ----------
        c : int
            Cylinder.
        timing_of : callable
            Timing from the angle at which half of the charge is burned. [Timing of deg]
        """
        now = float(self._ca50[c])
        if not self._arrays.cylinders.totals[TRAPPED_MASS, c] > 0.0:
            return timing_of(now)
        early, middle, late = (self._merit(c, timing_of(now + turn)) for turn in (-_BESIDE_DEG, 0.0, _BESIDE_DEG))
        slope, bend = (late - early) / (2.0 * _BESIDE_DEG), (late - 2.0 * middle + early) / _BESIDE_DEG**2
        move = -slope / bend if bend < 0.0 else math.copysign(_FARTHEST_DEG, slope)
        # A state that has gone wrong gives no number; the run says so itself.
        wanted = now + min(max(move, -_FARTHEST_DEG), _FARTHEST_DEG) if math.isfinite(move) else now
        found = min(max(wanted, _RANGE_DEG[0]), _RANGE_DEG[1])
        self._moves[c] = abs(found - now)
        self._ca50[c] = found
        return timing_of(found)

    def _merit(self, c: int, timing: Timing) -> float:
        """Work by swept volume, less the friction by peak pressure. [Pa]."""
        cylinders, table = self._arrays.cylinders, self._arrays.pipes.gas
        settings = cylinders.settings[:, c : c + 1].copy()
        temperature = float(settings[rows.CLOSING_TEMPERATURE, 0])
        settings[rows.LAST_TEMPERATURE] = temperature
        mass, burned, fuel = (float(cylinders.totals[row, c]) for row in (TRAPPED_MASS, TRAPPED_BURNED, TRAPPED_FUEL))
        energy = mass * energy_of(table, temperature, burned / mass, fuel / mass)
        state = np.array([[mass], [energy], [burned], [fuel]])
        known = cylinders.timing[:, c]
        closing = float(known[INTAKE_CLOSES]) - 4.0 * math.pi
        burn = (
            timing.start_deg * _DEG, timing.duration_deg * _DEG, float(known[BURN_EFFICIENCY]), float(known[BURN_FORM]),
        )  # fmt: skip
        way = closing, math.pi, self._speed, math.ceil((math.pi - closing) / _STEP)
        exhaust = self._areas[c], float(known[EXHAUST_OPENS]), self._outside
        work, peak = fire_cylinder(
            state, settings, cylinders.crank[c], burn, way, exhaust, table, cylinders.dissociation
        )
        return work / float(cylinders.crank[c, SWEPT]) - self._by_pressure * peak
