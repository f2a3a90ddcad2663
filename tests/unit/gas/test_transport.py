"""Viscosity and conductivity against kinetic theory and against the tables of air."""

from __future__ import annotations

import pytest
from cantera_reference import moving_gas

from pullbook.gas.burned import burned_composition
from pullbook.gas.fuels import AIR, FUELS
from pullbook.gas.mixture import cv_of, gas_constant, gas_table
from pullbook.gas.transport import conductivity, viscosity

TEMPERATURES = (250.0, 300.0, 500.0, 800.0, 1200.0, 1600.0, 2000.0)


# Air at 1 bar: viscosity in 1e-7 Pa s, conductivity in 1e-3 W/(m K) (Incropera and DeWitt, table A.4, from memory).
@pytest.mark.parametrize(
    ("kelvin", "mu", "k"), [(300.0, 184.6, 26.3), (500.0, 270.1, 40.7), (1000.0, 424.4, 66.7), (1500.0, 557.0, 100.0)]
)
def test_air_is_that_of_the_table(kelvin: float, mu: float, k: float) -> None:
    found = viscosity(kelvin, 0.0)
    table = gas_table(FUELS["petrol"], 1.0)
    constant = gas_constant(table, 0.0, 0.0)
    gamma = 1.0 + constant / cv_of(table, kelvin, 0.0, 0.0)
    assert found * 1e7 == pytest.approx(mu, rel=0.03)
    assert conductivity(found, constant, gamma, 0.0) * 1e3 == pytest.approx(k, rel=0.07)


@pytest.mark.parametrize("lambda_", [0.8, 0.9, 1.0, 1.2])
@pytest.mark.parametrize("yb", [0.0, 1.0])
def test_viscosity_and_conductivity_are_those_of_kinetic_theory(lambda_: float, yb: float) -> None:
    table = gas_table(FUELS["petrol"], lambda_)
    constant = gas_constant(table, yb, 0.0)
    for kelvin in TEMPERATURES:
        gas = moving_gas(burned_composition(FUELS["petrol"], lambda_) if yb else AIR, kelvin)
        gamma = 1.0 + constant / cv_of(table, kelvin, yb, 0.0)
        found = viscosity(kelvin, yb)
        assert found == pytest.approx(gas.viscosity, rel=0.026 if lambda_ in {0.9, 1.0} else 0.04)
        assert conductivity(found, constant, gamma, yb) == pytest.approx(gas.thermal_conductivity, rel=0.05)
