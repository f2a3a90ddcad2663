"""One firing without the pipes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from constant_gas import constant_gas

from pullbook.engine.closed_cycle import ClosedBurn, run_closed_cycle
from pullbook.gas import cylinder_settings as rows
from pullbook.gas.burned import released_energy
from pullbook.gas.components import gas_table
from pullbook.gas.crank import CLEARANCE, SWEPT, crank_arrangement, cylinder_volume
from pullbook.gas.cylinder import MASS, cylinder_gas, fill_cylinder, note_closing
from pullbook.gas.dissociation import dissociation_table
from pullbook.gas.fired_cycle import fire_cylinder
from pullbook.gas.fuels import FUELS

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

SPEED: Final = 3000.0 * math.pi / 30.0
SHUT: Final = (np.zeros(720), 10.0 * math.pi, 1e5)
CRANK: Final = crank_arrangement(0.086, 0.086, 0.143, 10.0)
FUEL: Final = FUELS["petrol"]
PER_FUEL: Final = 0.88 * FUEL.stoichiometric_air
CHARGE: Final = (1e5, 350.0, 0.05, 0.95 / (1.0 + PER_FUEL))
TABLES: Final = gas_table(FUEL, 0.88), dissociation_table(FUEL, 0.88)


def petrol() -> FloatArray:
    fixed = rows.cylinder_settings(1, 0.086, float(CRANK[SWEPT]), float(CRANK[CLEARANCE]))
    fixed[rows.AIR_PER_FUEL], fixed[rows.FUEL_ENERGY] = PER_FUEL, released_energy(FUEL, 0.88) * (1.0 + PER_FUEL)
    return fixed


def fired(count: int, start_deg: float = -18.0, exhaust: tuple[FloatArray, float, float] = SHUT) -> tuple[float, float]:
    state, fixed = np.zeros((4, 1)), petrol()
    fill_cylinder(state, 0, CHARGE, cylinder_volume(-math.pi, CRANK), TABLES[0])
    note_closing(state, 0, cylinder_volume(-math.pi, CRANK), fixed, *TABLES)
    burn = math.radians(start_deg), math.radians(50.0), 5.0, 2.0
    return fire_cylinder(state, fixed, CRANK, burn, (-math.pi, math.pi, SPEED, count), exhaust, *TABLES)


def test_with_its_valves_shut_it_is_the_closed_cycle() -> None:
    # The closed cycle is held to the efficiencies of air-standard cycles by its own tests.
    closed = run_closed_cycle(CRANK, petrol(), CHARGE, ClosedBurn(start_deg=-18.0, duration_deg=50.0), TABLES)
    work, peak = fired(720)
    assert work == pytest.approx(closed.work, rel=1e-9)
    assert peak == pytest.approx(closed.pressure.max(), rel=2e-4)


def test_steps_of_three_degrees_are_fine_enough_to_find_a_spark() -> None:
    tops, peaks = [], []
    for count in (120, 1440):
        early, middle, late = (fired(count, start)[0] for start in (-26.0, -24.0, -22.0))
        tops.append(-24.0 - (late - early) / (late - 2.0 * middle + early))
        peaks.append(fired(count, -24.0)[1])
    assert -30.0 < tops[1] < -18.0
    assert tops[0] == pytest.approx(tops[1], abs=0.05)
    assert peaks[0] == pytest.approx(peaks[1], rel=5e-3)


def test_sonic_blow_down_of_a_fixed_volume_follows_its_closed_form() -> None:
    # Isentropic discharge of a vessel through a sonic throat: p/p0 = (1 + (g-1)/2 f t)^(-2g/(g-1)) with
    # f = (2/(g+1))^((g+1)/(2(g-1))) A sqrt(g R T0) / V (text-books of gas dynamics, from memory). The piston stands
    # near its bottom.
    gamma, area = 1.4, 2e-4
    table = constant_gas(gamma)
    state, fixed = np.zeros((4, 1)), petrol()
    fixed[rows.HEAT_FACTOR] = 0.0
    start, end, speed = math.pi - 0.01, math.pi + 0.01, 4.0
    volume = cylinder_volume(math.pi, CRANK)
    fill_cylinder(state, 0, (10e5, 1000.0, 0.0, 0.0), volume, table)
    burn = 20.0, 1.0, 5.0, 2.0
    exhaust = np.full(720, area), 0.0, 1e5
    nothing = np.zeros_like(TABLES[1])
    fire_cylinder(state, fixed, CRANK, burn, (start, end, speed, 2000), exhaust, table, nothing)
    pressure, temperature, constant, _ = cylinder_gas(state, 0, volume, fixed, table, nothing)
    rate = (2.0 / (gamma + 1.0)) ** ((gamma + 1.0) / (2.0 * (gamma - 1.0))) * area
    rate *= math.sqrt(gamma * constant * 1000.0) / volume
    shrunk = 1.0 + 0.5 * (gamma - 1.0) * rate * (end - start) / speed
    assert 2.0e5 < pressure < 6e5
    assert pressure == pytest.approx(10e5 * shrunk ** (-2.0 * gamma / (gamma - 1.0)), rel=2e-3)
    assert temperature == pytest.approx(1000.0 / shrunk**2, rel=2e-3)


def test_an_exhaust_that_opens_early_costs_work_and_lets_gas_out() -> None:
    area = np.zeros(720)
    area[120:340] = 5e-4
    early, late = (fired(360, exhaust=(area, math.radians(opens), 1e5))[0] for opens in (120.0, 160.0))
    assert early < late < fired(360)[0]
    state, fixed = np.zeros((4, 1)), petrol()
    fill_cylinder(state, 0, CHARGE, cylinder_volume(-math.pi, CRANK), TABLES[0])
    before = float(state[MASS, 0])
    way = -math.pi, math.pi, SPEED, 360
    fire_cylinder(state, fixed, CRANK, (-0.3, 0.9, 5.0, 2.0), way, (area, math.radians(120.0), 1e5), *TABLES)
    assert 0.2 * before < state[MASS, 0] < 0.8 * before
