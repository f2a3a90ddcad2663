"""Cylinders and valves of a network as arrays."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.figures import mean_piston_speed
from pullbook.engine.network_ends import Side
from pullbook.gas import cylinder_settings as rows
from pullbook.gas.crank import SWEPT, crank_arrangement, cylinder_volume
from pullbook.gas.cylinder import fill_cylinder
from pullbook.gas.engine_arrays import (
    BURN_EFFICIENCY,
    BURN_FORM,
    EXHAUST_OPENS,
    FIRING,
    INTAKE_CLOSES,
    STEP_COLUMNS,
    TIMING_ROWS,
    TOTAL_ROWS,
    VALVE_ROWS,
    Cylinders,
    Valves,
)
from pullbook.gas.lift import CYCLE

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.engine.network_cylinders import Cylinder, ValveSet
    from pullbook.engine.operating import Operating
    from pullbook.quantities.arrays import FloatArray

__all__ = ["cylinders_of", "valves_of"]

_DEG: Final = pi / 180.0
_BEND: Final = 2  # points of a table by which its curve may reach beyond its last value above zero


def _settings(cylinder: Cylinder, operating: Operating, crank: FloatArray) -> FloatArray:
    chemistry = operating.chemistry
    settings = rows.cylinder_settings(1, cylinder.bore, float(crank[SWEPT]), cylinder.clearance_volume)
    bore_area = 0.25 * pi * cylinder.bore**2
    values = {
        rows.HEAD_AREA: cylinder.head_area * bore_area, rows.CROWN_AREA: cylinder.piston_area * bore_area,
        rows.HEAD_TEMPERATURE: cylinder.head_temperature, rows.CROWN_TEMPERATURE: cylinder.piston_temperature,
        rows.LINER_TEMPERATURE: cylinder.liner_temperature,
        rows.PISTON_SPEED: mean_piston_speed(cylinder.stroke, operating.speed_rpm),
        rows.HEAT_MODEL: operating.heat_model,
        rows.HEAT_FACTOR: operating.heat_factor, rows.AIR_PER_FUEL: chemistry.air_per_fuel,
        rows.FUEL_ENERGY: chemistry.fuel_energy,
    }  # fmt: skip
    for row, value in values.items():
        settings[row] = value
    return settings[:, 0]


def _timing(cylinder: Cylinder, operating: Operating) -> FloatArray:
    burn = operating.burn
    timing = np.zeros(TIMING_ROWS)
    timing[FIRING] = cylinder.firing_angle_deg * _DEG
    timing[BURN_EFFICIENCY], timing[BURN_FORM] = burn.completeness, burn.form
    timing[EXHAUST_OPENS] = min(one.opens_deg for one in cylinder.valve_sets if one.side is Side.EXHAUST) * _DEG
    timing[INTAKE_CLOSES] = max(one.closes_deg for one in cylinder.valve_sets if one.side is Side.INTAKE) * _DEG
    return timing


def cylinders_of(network: Network, operating: Operating, table: FloatArray) -> Cylinders:
    """Cylinders, filled with fresh gas as the air outside is.

    Parameters
    ----------
    network : Network
        The engine.
    operating : Operating
        How it is run.
    table : (3, 14) array of float
        Table of the gas. [SI]

    Returns
    -------
    Cylinders
        In the order of the network. [SI]
    """
    count = len(network.cylinders)
    fresh = operating.air.pressure, operating.air.temperature, 0.0, operating.fuel_share
    cranks = np.zeros((count, 8))
    settings, timing = np.zeros((rows.SETTINGS, count)), np.zeros((TIMING_ROWS, count))
    state = np.zeros((4, count))
    for c, one in enumerate(network.cylinders):
        cranks[c] = crank_arrangement(one.bore, one.stroke, one.rod, one.compression_ratio, one.pin_offset)
        settings[:, c], timing[:, c] = _settings(one, operating, cranks[c]), _timing(one, operating)
        volume = cylinder_volume(-timing[FIRING, c], cranks[c])
        fill_cylinder(state, c, fresh, volume, table)
    return Cylinders(
        state=state, settings=settings, crank=cranks, timing=timing, gained=np.zeros((4, count)),
        reservoir=np.zeros((count, 7)), start=np.ones((count, STEP_COLUMNS)),
        dissociation=operating.chemistry.dissociation.copy(), totals=np.zeros((TOTAL_ROWS, count)),
    )  # fmt: skip


def valves_of(network: Network, operating: Operating) -> Valves:
    """Valve sets of all cylinders, counted through.

    Parameters
    ----------
    network : Network
        The engine.
    operating : Operating
        Heat that the fuel takes to evaporate.

    Returns
    -------
    Valves
        In the order of the cylinders and their valve sets. [SI]
    """
    sets = [(c, one) for c, cylinder in enumerate(network.cylinders) for one in cylinder.valve_sets]
    finest = max((one.area_in.size for _, one in sets), default=2)
    return Valves(
        cylinder=np.array([c for c, _ in sets], dtype=np.int64),
        intake=np.array([one.side is Side.INTAKE for _, one in sets], dtype=np.int64),
        window=np.array([_window(one) for _, one in sets]).reshape(len(sets), 2),
        area_in=np.array([_even(one.area_in, finest) for _, one in sets]).reshape(len(sets), finest - 1),
        area_out=np.array([_even(one.area_out, finest) for _, one in sets]).reshape(len(sets), finest - 1),
        now=np.zeros((len(sets), 2)),
        latent=operating.latent,
        totals=np.zeros((VALVE_ROWS, len(sets))),
    )


def _window(valves: ValveSet) -> tuple[float, float]:
    """Own angles between which a valve may be open; all of them where it is open at the end of a cycle. [rad]."""
    found = np.flatnonzero(np.maximum(valves.area_in, valves.area_out) > 0.0)
    last = valves.area_in.size - 1
    if not found.size or found[0] < _BEND or found[-1] > last - _BEND:
        return 0.0, CYCLE
    return float(found[0] - _BEND) / last * CYCLE, float(found[-1] + _BEND) / last * CYCLE


def _even(table: FloatArray, size: int) -> FloatArray:
    """Table over 720 degrees without its last point, which repeats the first; all tables get the finest step."""
    return np.interp(np.linspace(0.0, 1.0, size)[:-1], np.linspace(0.0, 1.0, table.size), table)
