"""Fuels: the air they need, what they release, what they take to evaporate."""

from __future__ import annotations

import pytest

from pullbook.errors import OutOfRangeError
from pullbook.gas.fuels import AIR, FUELS, blend, moist_air, stoichiometric_air
from pullbook.gas.properties import molar_mass


# Element balances with 20.946 % of oxygen and 28.9645 g/mol (worked by hand; handbooks give petrol 14.6, ethanol 9.0,
# methanol 6.4 to 6.5, E85 9.7 to 9.8).
@pytest.mark.parametrize(
    ("name", "ratio"),
    [
        ("petrol", 14.603),
        ("iso-octane", 15.132),
        ("toluene", 13.507),
        ("ethanol", 9.005),
        ("methanol", 6.473),
        ("E10", 14.014),
        ("E85", 9.805),
    ],
)
def test_stoichiometric_air_fuel_ratio_follows_from_the_atoms(name: str, ratio: float) -> None:
    assert FUELS[name].stoichiometric_air == pytest.approx(ratio, rel=2e-4)


def test_blends_by_volume_need_the_air_of_their_parts() -> None:
    # E85 as sold has 51 to 83 % of ethanol; worked by hand with 745 and 789 kg/m3.
    for share, ratio in ((0.83, 9.912), (0.74, 10.40), (0.51, 11.67)):
        mixed = blend("pump", FUELS["petrol"], FUELS["ethanol"], share)
        assert mixed.stoichiometric_air == pytest.approx(ratio, rel=5e-4)
        assert mixed.density == pytest.approx(745.0 * (1 - share) + 789.0 * share, rel=1e-12)


def test_a_blend_of_nothing_added_is_the_base() -> None:
    mixed = blend("same", FUELS["petrol"], FUELS["ethanol"], 0.0)
    assert dict(mixed.composition) == pytest.approx(dict(FUELS["petrol"].composition), rel=1e-12)


def test_a_share_above_one_is_refused_with_the_value() -> None:
    with pytest.raises(OutOfRangeError, match="E85: the share 85 of ethanol"):
        blend("E85", FUELS["petrol"], FUELS["ethanol"], 85.0)


# Handbook values (petrol 42.7 to 44.0, ethanol 26.8, methanol 19.9 to 20.1, E85 29.2 MJ/kg); iso-octane 44.3, toluene
# 40.5 (Heywood, table D.4, from memory).
@pytest.mark.parametrize(
    ("name", "megajoule", "within"),
    [
        ("petrol", 43.35, 0.65),
        ("ethanol", 26.8, 0.1),
        ("methanol", 20.0, 0.1),
        ("E85", 29.2, 0.1),
        ("iso-octane", 44.3, 0.1),
        ("toluene", 40.5, 0.1),
    ],
)
def test_heating_value_of_the_liquid_is_that_of_the_handbook(name: str, megajoule: float, within: float) -> None:
    assert FUELS[name].heating_value / 1e6 == pytest.approx(megajoule, abs=within)


# Petrol: 325 to 375 kJ/kg (Christensen, Ratcliff, McCormick, NREL 2016). Automotive handbook (as quoted on a
# public page): ethanol 904, methanol 1110 kJ/kg at the boiling point, which is 2 to 5 % less than at 25 degC.
@pytest.mark.parametrize(
    ("name", "low", "high"), [("petrol", 325, 375), ("ethanol", 904, 950), ("methanol", 1110, 1180)]
)
def test_heat_of_vaporisation_is_that_of_the_handbook(name: str, low: float, high: float) -> None:
    assert low <= FUELS[name].heat_of_vaporisation / 1e3 <= high


def test_petrol_has_187_hydrogens_on_100_carbons_and_the_molar_mass_of_petrol() -> None:
    petrol = FUELS["petrol"]
    assert petrol.atoms("H") / petrol.atoms("C") == pytest.approx(1.87, rel=1e-12)
    assert 0.100 < petrol.molar_mass < 0.110  # Heywood, table D.4: about 110 g/mol; real petrols 100 to 110


def test_nitromethane_needs_little_air() -> None:
    # CH3NO2 of 61.04 g/mol: 1.699 by hand; its nitrogen counts in the mass only.
    assert stoichiometric_air(1.0, 3.0, 2.0, 61.04e-3) == pytest.approx(1.699, abs=1e-3)


def test_air_weighs_what_air_weighs() -> None:
    # 28.9644 g/mol, U.S. Standard Atmosphere 1976.
    assert molar_mass(AIR) * 1e3 == pytest.approx(28.9644, abs=0.002)


# Vapour pressures of IAPWS-IF97: 2.5480 kPa at 30 degC and 60 %, 3.1698 kPa at 25 degC when saturated, 1.2282 kPa at
# 10 degC when saturated (from memory).
@pytest.mark.parametrize(
    ("celsius", "pressure", "humidity", "vapour"),
    [(30.0, 98000.0, 0.6, 2548.0), (25.0, 99000.0, 1.0, 3169.8), (10.0, 101325.0, 1.0, 1228.2)],
)
def test_moist_air_holds_the_vapour_of_its_humidity(
    celsius: float, pressure: float, humidity: float, vapour: float
) -> None:
    air = moist_air(celsius + 273.15, pressure, humidity)
    assert air["H2O"] * pressure == pytest.approx(vapour, rel=4e-3)
    assert sum(air.values()) == pytest.approx(1.0, rel=1e-14)
    assert air["O2"] / air["N2"] == pytest.approx(0.20946 / 0.78084, rel=1e-12)


def test_moist_air_must_be_more_by_the_mass_of_its_vapour() -> None:
    # Mixing ratio 18.015/28.966 x 2548/95452 = 0.01660 kg of vapour a kg of dry air.
    air = moist_air(303.15, 98000.0, 0.6)
    petrol = FUELS["petrol"]
    assert petrol.air_needed(air) / petrol.stoichiometric_air == pytest.approx(1.01660, rel=1e-4)
    assert molar_mass(air) < molar_mass(AIR)


def test_dry_air_is_moist_air_without_humidity() -> None:
    dry = moist_air(293.15, 1e5, 0.0)
    assert dry == pytest.approx(dict(AIR), rel=1e-12)


@pytest.mark.parametrize(("celsius", "humidity"), [(20.0, 1.2), (20.0, -0.1), (95.0, 1.0), (20.0, float("nan"))])
def test_humidity_that_no_air_has_is_refused(celsius: float, humidity: float) -> None:
    with pytest.raises(OutOfRangeError, match="is not that of air"):
        moist_air(celsius + 273.15, 1e5, humidity)
