"""End gas and its self-ignition."""

from __future__ import annotations

import numpy as np
import pytest
from constant_gas import constant_gas

from pullbook.gas.components import gas_table
from pullbook.gas.end_gas import end_gas_temperature, ignition_delay, two_zones
from pullbook.gas.fuels import FUELS


def test_delay_at_forty_atmospheres_is_that_of_the_formula_worked_by_hand() -> None:
    # Douaud and Eyzat 1978 (from memory): 17.68 ms * 0.95^3.402 * 40^-1.7 * e^(3800/850)
    # = 17.68 * 0.83989 * 1.8905e-3 * 87.41 = 2.4538 ms.
    assert ignition_delay(40.0 * 101325.0, 850.0, 95.0) == pytest.approx(2.4538e-3, rel=3e-4)


def test_more_octane_less_heat_and_less_pressure_put_knock_off() -> None:
    usual = ignition_delay(40e5, 850.0, 95.0)
    assert ignition_delay(40e5, 850.0, 98.0) > usual
    assert ignition_delay(40e5, 830.0, 95.0) > usual
    assert ignition_delay(35e5, 850.0, 95.0) > usual


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("gas_ratio", [1.0, 1.06])
def test_two_zones_fill_the_cylinder_at_its_pressure(share: float, gas_ratio: float) -> None:
    # p V = m R T of the mixture = sum over the zones of m R T, per R of the unburned gas.
    end_gas, burned = two_zones(50e5, 2000.0, share, (620.0, 12e5, 1.33), gas_ratio)
    whole = (1.0 - share + share * gas_ratio) * 2000.0
    assert (1.0 - share) * end_gas + share * gas_ratio * burned == pytest.approx(whole, rel=1e-12)
    # 620 K * (50/12)^(0.33/1.33) = 883.4 K, by hand.
    assert end_gas == pytest.approx(883.4, abs=0.1)


def test_zone_without_mass_has_the_mean_temperature() -> None:
    end_gas, burned = two_zones(12e5, 620.0, 0.0, (620.0, 12e5, 1.33), 1.05)
    assert (end_gas, burned) == pytest.approx((620.0, 620.0))
    assert two_zones(30e5, 2200.0, 1.0, (620.0, 12e5, 1.33), 1.05) == (2200.0, 2200.0)


def test_gas_of_constant_heat_capacity_follows_the_isentrope() -> None:
    # (60)^(0.4/1.4) = 3.22136, by hand.
    pressure = 1e5 * np.geomspace(1.0, 60.0, 81)
    assert end_gas_temperature(pressure, 300.0, constant_gas(1.4), 0.0, 0.0)[-1] == pytest.approx(966.41, abs=0.05)


def test_compressed_air_is_as_hot_as_tables_say() -> None:
    # Relative pressures of air (Keenan and Kaye, gas tables, from memory): 1.3860 at 300 K, 60 times that is 83.16,
    # between 82.05 at 920 K and 89.28 at 940 K: 923 K; +-0.5 per cent.
    pressure = 1e5 * np.geomspace(1.0, 60.0, 81)
    table = gas_table(FUELS["petrol"], 0.9)
    assert end_gas_temperature(pressure, 300.0, table, 0.0, 0.0)[-1] == pytest.approx(923.0, rel=5e-3)


def test_fuel_vapour_keeps_the_charge_cooler() -> None:
    pressure = 1e5 * np.geomspace(1.0, 60.0, 81)
    table = gas_table(FUELS["petrol"], 0.9)
    air = end_gas_temperature(pressure, 345.0, table, 0.0, 0.0)[-1]
    charge = end_gas_temperature(pressure, 345.0, table, 0.05, 0.07)[-1]
    assert 60.0 < air - charge < 160.0
    # Coarser steps change nothing that matters.
    assert end_gas_temperature(pressure[::2], 345.0, table, 0.05, 0.07)[-1] == pytest.approx(charge, abs=0.05)
