"""The kernels of the mixture as numerics: they invert each other, keep their heads, and do rows of cells alike."""

from __future__ import annotations

from typing import Final

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.gas.fuels import FUELS
from pullbook.gas.mixture import cv_of, energy_of, gas_constant, gas_table, temperature_of, thermal, thermal_rows

TABLES: Final = {name: gas_table(FUELS[name], lambda_) for name, lambda_ in (("petrol", 0.88), ("methanol", 1.2))}
fuels = st.sampled_from(sorted(TABLES))
shares = st.floats(0.0, 1.0)
kelvins = st.floats(200.0, 3500.0)


@given(fuel=fuels, kelvin=kelvins, guess=st.floats(100.0, 6000.0), yb=shares, of_rest=shares)
def test_temperature_of_the_energy_of_any_mixture_is_found_from_any_guess(
    fuel: str, kelvin: float, guess: float, yb: float, of_rest: float
) -> None:
    yf = of_rest * (1.0 - yb)
    energy = energy_of(TABLES[fuel], kelvin, yb, yf)
    assert temperature_of(TABLES[fuel], energy, yb, yf, guess) == pytest.approx(kelvin, rel=1e-10)


@given(fuel=fuels, kelvin=kelvins, off=st.floats(-50.0, 50.0), yb=shares, yf=st.floats(0.0, 0.15))
def test_two_steps_are_enough_for_what_a_time_step_changes(
    fuel: str, kelvin: float, off: float, yb: float, yf: float
) -> None:
    table, rest = TABLES[fuel], yb * (1.0 - yf)
    energy = energy_of(table, kelvin, rest, yf)
    temperature, constant, gamma = thermal(table, energy, rest, yf, kelvin + off)
    assert temperature == pytest.approx(kelvin, abs=2e-3)
    assert constant == gas_constant(table, rest, yf)
    assert gamma == pytest.approx(1.0 + constant / cv_of(table, kelvin, rest, yf), rel=1e-6)


@given(kelvin=kelvins, guess=st.floats(50.0, 8000.0), yb=shares)
def test_two_steps_from_a_wild_guess_are_near_already(kelvin: float, guess: float, yb: float) -> None:
    table = TABLES["petrol"]
    temperature, _, _ = thermal(table, energy_of(table, kelvin, yb, 0.0), yb, 0.0, guess)
    assert temperature == pytest.approx(kelvin, rel=0.02)


@given(fuel=fuels, yb=shares, of_rest=shares)
def test_energy_rises_with_temperature_from_absolute_cold_to_beyond_all_flames(
    fuel: str, yb: float, of_rest: float
) -> None:
    yf = of_rest * (1.0 - yb)
    energies = [energy_of(TABLES[fuel], float(kelvin), yb, yf) for kelvin in np.arange(1.0, 9000.0, 37.0)]
    assert np.all(np.diff(energies) > 0.0)
    assert energy_of(TABLES[fuel], 298.15, yb, yf) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("kelvin", [20.0, 150.0, 5500.0, 20000.0])
def test_outside_the_data_the_heat_capacity_is_held_and_the_energy_still_inverted(kelvin: float) -> None:
    table = TABLES["petrol"]
    edge = 200.0 if kelvin < 200.0 else 5000.0
    assert cv_of(table, kelvin, 0.4, 0.02) == cv_of(table, edge, 0.4, 0.02)
    energy = energy_of(table, kelvin, 0.4, 0.02)
    assert energy - energy_of(table, edge, 0.4, 0.02) == pytest.approx(
        cv_of(table, edge, 0.4, 0.02) * (kelvin - edge), rel=1e-9
    )
    assert temperature_of(table, energy, 0.4, 0.02, 1000.0) == pytest.approx(kelvin, rel=1e-10)
    assert thermal(table, energy, 0.4, 0.02, edge)[0] == pytest.approx(kelvin, rel=1e-10)


@given(kelvin=st.floats(210.0, 4900.0), yb=shares, yf=st.floats(0.0, 0.15))
def test_heat_capacity_is_the_slope_of_the_energy(kelvin: float, yb: float, yf: float) -> None:
    table, rest = TABLES["petrol"], yb * (1.0 - yf)
    rise = energy_of(table, kelvin + 0.5, rest, yf) - energy_of(table, kelvin - 0.5, rest, yf)
    assert cv_of(table, kelvin, rest, yf) == pytest.approx(rise, rel=2e-5)


def test_energy_and_heat_capacity_go_smoothly_through_1000_kelvin() -> None:
    for table in TABLES.values():
        for yb, yf in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)):
            below, above = 1000.0 - 1e-7, 1000.0 + 1e-7
            assert energy_of(table, below, yb, yf) == pytest.approx(energy_of(table, above, yb, yf), rel=1e-9)
            assert cv_of(table, below, yb, yf) == pytest.approx(cv_of(table, above, yb, yf), rel=1e-5)


def test_a_row_of_cells_gets_what_single_cells_get() -> None:
    draw = np.random.default_rng(7)
    for count in (1, 3, 8, 1001):
        kelvin, yb, yf = draw.uniform(220, 3000, count), draw.uniform(0, 0.9, count), draw.uniform(0, 0.1, count)
        table = TABLES["petrol"]
        energy = np.array([energy_of(table, *cell) for cell in zip(kelvin, yb, yf, strict=True)])
        temperature, outcome = kelvin + draw.uniform(-30, 30, count), np.zeros((2, count))
        expected = np.array([thermal(table, *cell) for cell in zip(energy, yb, yf, temperature, strict=True)])
        thermal_rows(table, (energy, yb, yf), temperature, outcome)
        assert temperature == pytest.approx(expected[:, 0], rel=1e-13)
        assert outcome == pytest.approx(expected[:, 1:].T, rel=1e-13)


def test_a_state_that_is_not_a_number_stays_so_and_stays_where_it_is() -> None:
    table = TABLES["petrol"]
    assert np.isnan(temperature_of(table, np.nan, 0.1, 0.0, 300.0))
    assert np.isnan(thermal(table, np.nan, 0.1, 0.0, 300.0)[0])
    energy, yb, yf = np.full(16, 2e5), np.zeros(16), np.zeros(16)
    energy[5] = np.nan
    temperature, outcome = np.full(16, 500.0), np.zeros((2, 16))
    thermal_rows(table, (energy, yb, yf), temperature, outcome)
    assert list(np.flatnonzero(np.isnan(temperature))) == [5]


def test_a_guess_that_is_not_a_number_is_forgotten() -> None:
    table = TABLES["petrol"]
    energy = energy_of(table, 700.0, 0.2, 0.0)
    assert thermal(table, energy, 0.2, 0.0, np.nan)[0] == pytest.approx(700.0, rel=0.02)
