"""Burning at constant volume against chemical equilibrium in Cantera: chemistry, energy released and gas together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from cantera_reference import NAMES, ideal_gas

from pullbook.gas import cylinder_settings as rows
from pullbook.gas.burned import released_energy
from pullbook.gas.components import gas_table
from pullbook.gas.cylinder import EXPANSION, advance_cylinder, cylinder_gas, fill_cylinder
from pullbook.gas.dissociation import dissociation_table
from pullbook.gas.fuels import AIR, FUELS
from pullbook.gas.properties import mass_fractions

if TYPE_CHECKING:
    from pullbook.gas.fuels import Fuel

PRESSURE: Final = 12e5
TEMPERATURE: Final = 700.0
VOLUME: Final = 6e-5
NOTHING: Final = (0.0, 0.0, 0.0, 0.0)


def flame_of_cantera(fuel: Fuel, mixture: float) -> tuple[float, float]:
    """Pressure and temperature after the charge has burned at constant volume and energy. [Pa, K]."""
    per_fuel = mixture * fuel.stoichiometric_air
    shares: dict[str, float] = {}
    for composition, part in ((AIR, per_fuel / (1.0 + per_fuel)), (fuel.composition, 1.0 / (1.0 + per_fuel))):
        for name, share in mass_fractions(composition).items():
            shares[name] = shares.get(name, 0.0) + part * share
    gas = ideal_gas(*NAMES)
    gas.TPY = TEMPERATURE, PRESSURE, shares
    gas.equilibrate("UV")
    return float(gas.P), float(gas.T)


def flame_of_cylinder(fuel: Fuel, mixture: float) -> tuple[float, float]:
    """The same in one step of a cylinder without heat to the walls. [Pa, K]."""
    per_fuel = mixture * fuel.stoichiometric_air
    table, dissociation = gas_table(fuel, mixture), dissociation_table(fuel, mixture)
    fixed = rows.cylinder_settings(1, 0.086, 5e-4, 5.5e-5)
    fixed[rows.HEAT_FACTOR], fixed[rows.AIR_PER_FUEL] = 0.0, per_fuel
    fixed[rows.FUEL_ENERGY] = released_energy(fuel, mixture) * (1.0 + per_fuel)
    state = np.zeros((4, 1))
    fill_cylinder(state, 0, (PRESSURE, TEMPERATURE, 0.0, 1.0 / (1.0 + per_fuel)), VOLUME, table)
    advance_cylinder(state, 0, (VOLUME, VOLUME, 1e-5, 1.0, EXPANSION), NOTHING, fixed, table, dissociation)
    pressure, temperature, _, _ = cylinder_gas(state, 0, VOLUME, fixed, table, dissociation)
    return pressure, temperature


@pytest.mark.parametrize("fuel", ["petrol", "iso-octane", "ethanol"])
@pytest.mark.parametrize("mixture", [0.80, 0.88, 1.00, 1.10])
def test_charge_burned_at_constant_volume_is_as_hot_as_equilibrium_says(fuel: str, mixture: float) -> None:
    # Cantera, its own minimiser on its own copy of the NASA polynomials, with NO, OH, O, H and N among the products.
    assert flame_of_cylinder(FUELS[fuel], mixture) == pytest.approx(flame_of_cantera(FUELS[fuel], mixture), rel=5e-4)
