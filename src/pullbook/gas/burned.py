"""Burned gas: what a fuel and air become, by the balance of the atoms and the water-gas equilibrium.

In an exhaust the gas cools faster than carbon monoxide, hydrogen, carbon dioxide and water can follow their
equilibrium: the composition stays what it was at about 1500 K. Without dissociation, which is below 0.1 % of the
molecules there, that composition follows from::

    CO2 + H2 = CO + H2O,    K(1500 K) = x_CO x_H2O / (x_CO2 x_H2)

References
----------
.. [1] J. B. Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill 1988, section 4.9.2 (from memory): the
   water-gas reaction freezes at about 1500 to 1740 K.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.errors import OutOfRangeError
from pullbook.gas.fuels import AIR
from pullbook.gas.molar import enthalpies, entropies
from pullbook.gas.properties import formation_enthalpy, molar_mass, specific_gas_constant
from pullbook.gas.species import SPECIES, STANDARD_TEMPERATURE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.gas.fuels import Fuel

__all__ = ["FROZEN_TEMPERATURE", "LAMBDA_RANGE", "burned_composition", "element_amounts", "released_energy"]

FROZEN_TEMPERATURE: Final = 1500.0  # K
LAMBDA_RANGE: Final = (0.5, 5.0)
_TRACE: Final = 1e-12  # mole fraction below which a species is left out
_WATER_GAS: Final = ("CO", "H2O", "CO2", "H2")


def element_amounts(fuel: Fuel, lambda_: float, air: Mapping[str, float] = AIR) -> dict[str, float]:
    """Atoms in a kilogram of a mixture of fuel and air, burned or not.

    Parameters
    ----------
    fuel : Fuel
        The fuel.
    lambda_ : float
        Air of the mixture over the air that burns the fuel completely. [1]
    air : dict of str to float
        Mole fractions of the air, dry or moist. [1]

    Returns
    -------
    amounts : dict of str to float
        Amount of each element. [mol/kg]

    Raises
    ------
    OutOfRangeError
        When the mixture is so rich that soot would form, or so lean that it does not burn.

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> element_amounts(FUELS["petrol"], 1.0)["C"]
    4.62
    """
    low, high = LAMBDA_RANGE
    if not low <= lambda_ <= high:
        raise OutOfRangeError(
            f"lambda {lambda_:g} is outside {low:g} to {high:g}",
            where=fuel.name,
            remedy="give the air-fuel ratio over the stoichiometric one",
        )
    per_fuel = lambda_ * fuel.air_needed(air)  # kg a kg of fuel
    fuel_moles = 1.0 / (1.0 + per_fuel) / fuel.molar_mass
    air_moles = per_fuel / (1.0 + per_fuel) / molar_mass(air) / sum(air.values())
    return {
        element: fuel_moles * fuel.atoms(element)
        + air_moles * sum(share * SPECIES[name].atoms.get(element, 0) for name, share in air.items())
        for element in ("C", "H", "O", "N", "Ar")
    }


def burned_composition(fuel: Fuel, lambda_: float, air: Mapping[str, float] = AIR) -> dict[str, float]:
    """Mole fractions of burned gas in a pipe, frozen at 1500 K.

    Parameters
    ----------
    fuel : Fuel
        The fuel.
    lambda_ : float
        Air of the mixture over the air that burns the fuel completely. [1]
    air : dict of str to float
        Mole fractions of the air, dry or moist. [1]

    Returns
    -------
    composition : dict of str to float
        Mole fractions by species. [1]

    Raises
    ------
    OutOfRangeError
        When lambda is outside 0.5 to 5.

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> round(burned_composition(FUELS["petrol"], 0.9)["CO"], 3)
    0.03
    """
    atoms = element_amounts(fuel, lambda_, air)
    carbon, hydrogen, oxygen = atoms["C"], atoms["H"], atoms["O"]
    spare = oxygen - 2.0 * carbon - hydrogen / 2.0
    monoxide = _monoxide(carbon, hydrogen, oxygen) if spare < 0.0 else 0.0
    water = oxygen - 2.0 * carbon + monoxide if spare < 0.0 else hydrogen / 2.0
    amounts = {
        "N2": atoms["N"] / 2.0,
        "CO2": carbon - monoxide,
        "H2O": water,
        "CO": monoxide,
        "H2": hydrogen / 2.0 - water,
        "O2": max(spare, 0.0) / 2.0,
        "Ar": atoms["Ar"],
    }
    total = sum(amounts.values())
    return {name: amount / total for name, amount in amounts.items() if amount > _TRACE * total}


def released_energy(fuel: Fuel, lambda_: float, air: Mapping[str, float] = AIR) -> float:
    """Internal energy that a kilogram of mixture releases when it burns at 25 degC, fuel evaporated before.

    What a rich mixture keeps as carbon monoxide and hydrogen is not released.

    Parameters
    ----------
    fuel : Fuel
        The fuel.
    lambda_ : float
        Air of the mixture over the air that burns the fuel completely. [1]
    air : dict of str to float
        Mole fractions of the air, dry or moist. [1]

    Returns
    -------
    energy : float
        Energy released in a kilogram of fuel and air together. [J/kg]

    Raises
    ------
    OutOfRangeError
        When lambda is outside 0.5 to 5.

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> released_energy(FUELS["petrol"], 1.0) / 1e6
    2.8
    """
    products = burned_composition(fuel, lambda_, air)
    share = 1.0 / (1.0 + lambda_ * fuel.air_needed(air))
    reactants = share * _formation_energy(fuel.composition) + (1.0 - share) * _formation_energy(air)
    return reactants - _formation_energy(products)


def _formation_energy(composition: Mapping[str, float]) -> float:
    """Internal energy of formation at 298.15 K. [J/kg]."""
    return formation_enthalpy(composition) - specific_gas_constant(composition) * STANDARD_TEMPERATURE


def _monoxide(carbon: float, hydrogen: float, oxygen: float) -> float:
    """Carbon monoxide of a rich mixture, from the balance of atoms and the water-gas equilibrium. [as the atoms]."""
    gibbs = enthalpies(_WATER_GAS, FROZEN_TEMPERATURE) - entropies(_WATER_GAS, FROZEN_TEMPERATURE)
    constant = float(np.exp(gibbs[2] + gibbs[3] - gibbs[0] - gibbs[1]))
    # x monoxide; carbon - x dioxide; base + x water; free - x hydrogen.  x (base + x) = K (carbon - x)(free - x)
    base = oxygen - 2.0 * carbon
    free = hydrogen / 2.0 - base
    second, first, zeroth = constant - 1.0, -(constant * (carbon + free) + base), constant * carbon * free
    return 2.0 * zeroth / (-first + float(np.sqrt(first * first - 4.0 * second * zeroth)))
