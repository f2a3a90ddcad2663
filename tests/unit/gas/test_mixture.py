"""Air, burned gas and fuel vapour as the kernels see them, held to tables and to Cantera."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from cantera_reference import gas_of

from pullbook.errors import OutOfRangeError
from pullbook.gas.burned import burned_composition, element_amounts, released_energy
from pullbook.gas.fuels import AIR, FUELS, moist_air
from pullbook.gas.mixture import cv_of, energy_of, gas_constant, gas_table, thermal
from pullbook.gas.properties import (
    formation_enthalpy,
    heat_capacity_ratio,
    mass_fractions,
    molar_mass,
    sensible_enthalpy,
    sound_speed,
    specific_gas_constant,
    specific_heat,
)
from pullbook.gas.species import ATOMIC_WEIGHTS

if TYPE_CHECKING:
    from collections.abc import Mapping

PETROL: Final = FUELS["petrol"]
TEMPERATURES: Final = (250.0, 298.15, 400.0, 600.0, 900.0, 1100.0, 1500.0, 2000.0, 2500.0, 2800.0)


def of_kernels(table: np.ndarray, kelvin: float, yb: float, yf: float) -> tuple[float, float, float, float]:
    """Heat capacity cp, ratio of heat capacities, speed of sound, enthalpy above that at 298.15 K."""
    energy = energy_of(table, kelvin, yb, yf)
    found, constant, gamma = thermal(table, energy, yb, yf, kelvin + 3.0)
    assert found == pytest.approx(kelvin, rel=1e-8)
    return (
        cv_of(table, kelvin, yb, yf) + constant,
        gamma,
        float(np.sqrt(gamma * constant * kelvin)),
        energy + constant * (kelvin - 298.15),
    )


# Air of 20.946 % O2, 78.084 % N2, 0.934 % Ar, 0.036 % CO2; NASA-7 polynomials evaluated by Cantera 3.2.
AIR_TABLE: Final = """
298.15 1004.72 1.39997 346.14   -1.859
300    1004.82 1.39991 347.20    0
400    1014.18 1.39476 400.18  100.892
500    1029.91 1.38640 446.07  203.049
600    1050.48 1.37599 486.81  307.035
800    1098.63 1.35369 557.54  521.884
1000   1140.67 1.33627 619.33  746.089
1200   1171.42 1.32457 675.47  977.385
1500   1208.64 1.31147 751.45 1334.639
2000   1251.92 1.29750 863.06 1950.620
2500   1278.83 1.28942 961.93 2583.837
"""


@pytest.mark.parametrize("row", AIR_TABLE.strip().splitlines())
def test_air_has_the_properties_of_the_table(row: str) -> None:
    kelvin, *expected, enthalpy = map(float, row.split())
    table = gas_table(PETROL, 1.0)
    cp, gamma, speed, found = of_kernels(table, kelvin, 0.0, 0.0)
    assert (cp, gamma, speed) == pytest.approx(tuple(expected), rel=2e-5)
    at_300 = of_kernels(table, 300.0, 0.0, 0.0)[3]
    assert (found - at_300) / 1e3 == pytest.approx(enthalpy, rel=2e-5, abs=1e-3)


# Burned CH1.87 frozen at its 1500 K equilibrium: lambda, then cp, gamma, speed of sound (Cantera 3.2, NASA-7).
BURNED_TABLE: Final = """
300  1095.9 1.37746 352.28 1074.9 1.37427 347.40 1058.1 1.37148 343.39
400  1117.4 1.36756 405.31 1098.4 1.36337 399.55 1083.5 1.35964 394.80
500  1141.9 1.35685 451.38 1124.5 1.35193 444.84 1111.2 1.34756 439.43
600  1169.5 1.34551 492.39 1153.4 1.34014 485.16 1141.1 1.33541 479.20
700  1199.6 1.33395 529.55 1184.1 1.32840 521.74 1172.4 1.32354 515.29
800  1230.6 1.32281 563.74 1215.5 1.31725 555.41 1204.0 1.31239 548.54
900  1260.4 1.31280 595.67 1245.4 1.30729 586.87 1234.0 1.30249 579.62
1000 1286.0 1.30468 625.95 1271.2 1.29917 616.70 1260.1 1.29440 609.07
1100 1309.0 1.29774 654.75 1294.2 1.29231 645.09 1282.9 1.28765 637.13
1200 1330.1 1.29162 682.25 1315.3 1.28629 672.20 1303.9 1.28171 663.93
1300 1349.5 1.28624 708.63 1334.6 1.28098 698.20 1323.1 1.27649 689.63
1400 1367.2 1.28148 734.02 1352.2 1.27630 723.23 1340.7 1.27188 714.37
1500 1383.5 1.27726 758.53 1368.3 1.27216 747.40 1356.7 1.26781 738.26
"""


@pytest.mark.parametrize("row", BURNED_TABLE.strip().splitlines())
def test_burned_petrol_has_the_properties_of_the_table(row: str) -> None:
    kelvin, *expected = map(float, row.split())
    found = [of_kernels(gas_table(PETROL, lambda_), kelvin, 1.0, 0.0)[:3] for lambda_ in (0.8, 0.9, 1.0)]
    assert np.ravel(found) == pytest.approx(expected, rel=3e-4)


def test_gas_in_the_primary_of_a_rich_engine_is_what_practice_reckons_with() -> None:
    # Between the columns of the table for lambda 0.8 and 0.9, at a mean of 850 K: R 294 to 296 J/(kg K), gamma 1.313 to
    # 1.317, 571 to 576 m/s.
    table = gas_table(PETROL, 0.87)
    _, gamma, speed, _ = of_kernels(table, 850.0, 1.0, 0.0)
    assert 294.0 < gas_constant(table, 1.0, 0.0) < 296.0
    assert 1.313 < gamma < 1.317
    assert 571.0 < speed < 576.0
    # Air of 20 degC: 343.232 m/s with constant heat capacities.
    assert of_kernels(table, 293.15, 0.0, 0.0)[2] == pytest.approx(343.232, rel=2e-4)


# Mole fractions of CO2, H2O, CO, H2, N2, and the gas constant, of the same source.
@pytest.mark.parametrize(
    ("lambda_", "shares", "constant"),
    [
        (0.8, (0.0950, 0.1171, 0.0624, 0.0298, 0.6875), 300.314),
        (0.9, (0.1148, 0.1227, 0.0300, 0.0124, 0.7115), 292.736),
        (1.0, (0.1340, 0.1251, 0.0, 0.0, 0.7319), 286.594),
    ],
)
def test_burned_petrol_is_frozen_at_its_equilibrium_of_1500_kelvin(
    lambda_: float, shares: tuple[float, ...], constant: float
) -> None:
    burned = burned_composition(PETROL, lambda_)
    assert [burned.get(name, 0.0) for name in ("CO2", "H2O", "CO", "H2", "N2")] == pytest.approx(shares, abs=3e-4)
    assert gas_constant(gas_table(PETROL, lambda_), 1.0, 0.0) == pytest.approx(constant, rel=3e-4)


@pytest.mark.parametrize("kelvin", TEMPERATURES)
@pytest.mark.parametrize("fuel", ["petrol", "E85", "methanol"])
@pytest.mark.parametrize(("yb", "yf"), [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (0.3, 0.05)])
def test_mixtures_have_the_properties_of_cantera(kelvin: float, fuel: str, yb: float, yf: float) -> None:
    for lambda_ in (0.8, 0.9, 1.0, 1.2):
        parts = [
            (1.0 - yb - yf, mass_fractions(AIR)),
            (yb, mass_fractions(burned_composition(FUELS[fuel], lambda_))),
            (yf, mass_fractions(FUELS[fuel].composition)),
        ]
        masses: dict[str, float] = {}
        for share, fractions in parts:
            for name, fraction in fractions.items():
                masses[name] = masses.get(name, 0.0) + share * fraction
        gas = gas_of(masses, 298.15)
        gas.TPY = 298.15, 1e5, masses
        cold = float(gas.enthalpy_mass)
        gas.TP = kelvin, 1e5
        cp, gamma, speed, enthalpy = of_kernels(gas_table(FUELS[fuel], lambda_), kelvin, yb, yf)
        # Asked for: 0.3 %. The polynomials are the same, so that rounding of their last digits is all that is left.
        assert cp == pytest.approx(gas.cp_mass, rel=1e-9)
        assert gamma == pytest.approx(gas.cp_mass / gas.cv_mass, rel=1e-9)
        assert speed == pytest.approx(gas.sound_speed, rel=1e-9)
        assert enthalpy == pytest.approx(gas.enthalpy_mass - cold, rel=3e-8, abs=0.01)


@pytest.mark.parametrize("air", [AIR, moist_air(308.15, 98000.0, 0.9)], ids=["dry", "moist"])
@pytest.mark.parametrize("lambda_", [0.6, 0.85, 1.0, 1.3])
@pytest.mark.parametrize("fuel", FUELS)
def test_burning_changes_no_element_and_no_mass(fuel: str, lambda_: float, air: Mapping[str, float]) -> None:
    burned = burned_composition(FUELS[fuel], lambda_, air)
    of = {name: burned.get(name, 0.0) / molar_mass(burned) for name in ("CO2", "CO", "H2O", "H2", "O2", "N2", "Ar")}
    found = {
        "C": of["CO2"] + of["CO"],
        "H": 2.0 * (of["H2O"] + of["H2"]),
        "O": 2.0 * (of["CO2"] + of["O2"]) + of["H2O"] + of["CO"],
        "N": 2.0 * of["N2"],
        "Ar": of["Ar"],
    }
    assert found == pytest.approx(element_amounts(FUELS[fuel], lambda_, air), rel=1e-9)
    # A kilogram of atoms is a kilogram.
    assert sum(amount * ATOMIC_WEIGHTS[element] for element, amount in found.items()) == pytest.approx(1.0, rel=1e-9)


def test_moisture_of_the_air_is_in_the_fresh_and_in_the_burned_gas() -> None:
    air = moist_air(308.15, 98000.0, 0.9)
    moist, dry = gas_table(PETROL, 1.0, air), gas_table(PETROL, 1.0)
    assert gas_constant(moist, 0.0, 0.0) == pytest.approx(specific_gas_constant(air), rel=1e-12)
    # CH1.87 + 7.006 air = 7.474 burned gas, of which 0.935 water; vapour of the air comes on top, by hand.
    vapour = 7.006 * air["H2O"] / (1.0 - air["H2O"])
    assert burned_composition(PETROL, 1.0)["H2O"] == pytest.approx(0.935 / 7.474, rel=1e-3)
    assert burned_composition(PETROL, 1.0, air)["H2O"] == pytest.approx((0.935 + vapour) / (7.474 + vapour), rel=1e-3)
    assert released_energy(PETROL, 1.0, air) < 0.975 * released_energy(PETROL, 1.0)
    assert cv_of(moist, 900.0, 1.0, 0.0) > cv_of(dry, 900.0, 1.0, 0.0)


def test_lean_burned_gas_holds_oxygen_and_no_monoxide() -> None:
    burned = burned_composition(PETROL, 1.25)
    # A quarter of the stoichiometric air is left: CO2 and O2 in moles 1 to 0.25 (1 + 1.87/4) a carbon, and the
    # carbon dioxide of the air.
    assert burned["O2"] / burned["CO2"] == pytest.approx(0.25 * (1 + 1.87 / 4), rel=4e-3)
    assert "CO" not in burned


@pytest.mark.parametrize("lambda_", [0.75, 0.9, 1.0, 1.1])
@pytest.mark.parametrize("fuel", ["petrol", "E85", "methanol"])
def test_released_energy_is_the_difference_of_cantera_at_25_degrees(fuel: str, lambda_: float) -> None:
    air = lambda_ * FUELS[fuel].stoichiometric_air
    reactants = {name: share / (1.0 + air) for name, share in mass_fractions(FUELS[fuel].composition).items()}
    reactants |= {name: share * air / (1.0 + air) for name, share in mass_fractions(AIR).items()}
    before = gas_of(reactants, 298.15)
    before.TPY = 298.15, 1e5, reactants
    after = gas_of(burned_composition(FUELS[fuel], lambda_), 298.15)
    expected = float(before.int_energy_mass - after.int_energy_mass)
    assert released_energy(FUELS[fuel], lambda_) == pytest.approx(expected, rel=1e-6)


def test_a_lean_mixture_releases_the_heating_value_of_its_vapour() -> None:
    # The energies differ from the enthalpies by the work of a change in volume, below 1 % of them.
    for fuel in FUELS.values():
        mass = 1.0 + 1.1 * fuel.stoichiometric_air
        assert released_energy(fuel, 1.1) * mass == pytest.approx(fuel.vapour_heating_value, rel=0.01)


def test_a_mixture_that_would_soot_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r"petrol: lambda 0\.3 is outside 0\.5 to 5"):
        gas_table(PETROL, 0.3)


def test_the_python_properties_are_those_of_cantera() -> None:
    burned = burned_composition(PETROL, 0.87)
    kelvin = np.array(TEMPERATURES)
    gases = [gas_of(burned, float(t)) for t in kelvin]
    cold = float(gas_of(burned, 298.15).enthalpy_mass)
    assert specific_gas_constant(burned) == pytest.approx(8314.46261815324 / gases[0].mean_molecular_weight, rel=1e-9)
    assert specific_heat(burned, kelvin) == pytest.approx([gas.cp_mass for gas in gases], rel=1e-8)
    assert heat_capacity_ratio(burned, kelvin) == pytest.approx([g.cp_mass / g.cv_mass for g in gases], rel=1e-8)
    assert sound_speed(burned, kelvin) == pytest.approx([gas.sound_speed for gas in gases], rel=1e-8)
    assert sensible_enthalpy(burned, kelvin) == pytest.approx([g.enthalpy_mass - cold for g in gases], abs=1.0)
    assert formation_enthalpy(burned) == pytest.approx(cold, rel=1e-8)
