"""Properties of ideal mixtures of species, straight from the data: the reference that faster tables are made from.

A composition is a mapping of species to mole fractions (or to any amounts in proportion to them).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.molar import enthalpies, heat_capacities
from pullbook.gas.species import MOLAR_GAS_CONSTANT, STANDARD_TEMPERATURE, molar_masses

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "formation_enthalpy",
    "heat_capacity_ratio",
    "mass_fractions",
    "molar_mass",
    "sensible_enthalpy",
    "sound_speed",
    "specific_gas_constant",
    "specific_heat",
]


def molar_mass(composition: Mapping[str, float]) -> float:
    """Mass of one mole of a mixture.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]

    Returns
    -------
    mass : float
        Molar mass. [kg/mol]

    Examples
    --------
    >>> molar_mass({"H2": 1.0, "O2": 1.0}) * 1000
    17.007
    """
    amounts = _amounts(composition)
    return float(amounts @ molar_masses(composition) / amounts.sum())


def mass_fractions(composition: Mapping[str, float]) -> dict[str, float]:
    """Share of each species in the mass of a mixture.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]

    Returns
    -------
    fractions : dict of str to float
        Mass fractions, of sum one. [1]

    Examples
    --------
    >>> round(mass_fractions({"H2": 2.0, "O2": 1.0})["O2"], 4)
    0.8881
    """
    masses = _amounts(composition) * molar_masses(composition)
    return dict(zip(composition, (float(share) for share in masses / masses.sum()), strict=True))


def specific_gas_constant(composition: Mapping[str, float]) -> float:
    """Gas constant of a kilogram of a mixture.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]

    Returns
    -------
    constant : float
        Specific gas constant. [J/(kg K)]

    Examples
    --------
    >>> specific_gas_constant({"N2": 1.0})
    296.8
    """
    return MOLAR_GAS_CONSTANT / molar_mass(composition)


def specific_heat(composition: Mapping[str, float], temperature: FloatArray | float) -> FloatArray:
    """Heat capacity of a mixture at constant pressure and composition.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]
    temperature : (...) array of float
        Temperature. [K]

    Returns
    -------
    capacity : (...) array of float
        Specific heat capacity. [J/(kg K)]

    Examples
    --------
    >>> float(specific_heat({"O2": 0.21, "N2": 0.79}, 300.0))
    1011.
    """
    return specific_gas_constant(composition) * _mean(composition, heat_capacities(composition, temperature))


def sensible_enthalpy(composition: Mapping[str, float], temperature: FloatArray | float) -> FloatArray:
    """Enthalpy of a mixture above that at 298.15 K, without the heat of formation.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]
    temperature : (...) array of float
        Temperature. [K]

    Returns
    -------
    enthalpy : (...) array of float
        Specific enthalpy. [J/kg]

    Examples
    --------
    >>> float(sensible_enthalpy({"N2": 1.0}, 298.15))
    0.0
    """
    hot = _mean(composition, enthalpies(composition, temperature)) * temperature
    cold = _mean(composition, enthalpies(composition, STANDARD_TEMPERATURE)) * STANDARD_TEMPERATURE
    return specific_gas_constant(composition) * (hot - cold)


def formation_enthalpy(composition: Mapping[str, float]) -> float:
    """Enthalpy of formation of a mixture from the elements at 298.15 K.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]

    Returns
    -------
    enthalpy : float
        Specific enthalpy of formation. [J/kg]

    Examples
    --------
    Water vapour, -241.83 kJ/mol (CODATA key values, from memory).

    >>> formation_enthalpy({"H2O": 1.0}) * molar_mass({"H2O": 1.0}) / 1000
    -241.8
    """
    per_mole = _mean(composition, enthalpies(composition, STANDARD_TEMPERATURE))
    return float(specific_gas_constant(composition) * STANDARD_TEMPERATURE * per_mole)


def heat_capacity_ratio(composition: Mapping[str, float], temperature: FloatArray | float) -> FloatArray:
    """Ratio of the heat capacities at constant pressure and at constant volume, at constant composition.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]
    temperature : (...) array of float
        Temperature. [K]

    Returns
    -------
    ratio : (...) array of float
        Ratio of heat capacities. [1]

    Examples
    --------
    >>> float(heat_capacity_ratio({"Ar": 1.0}, 900.0))
    1.667
    """
    capacity = _mean(composition, heat_capacities(composition, temperature))
    return capacity / (capacity - 1.0)


def sound_speed(composition: Mapping[str, float], temperature: FloatArray | float) -> FloatArray:
    """Speed of sound of a mixture of constant composition.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]
    temperature : (...) array of float
        Temperature. [K]

    Returns
    -------
    speed : (...) array of float
        Speed of sound. [m/s]

    Examples
    --------
    >>> float(sound_speed({"Ar": 1.0}, 300.0))
    322.6
    """
    ratio = heat_capacity_ratio(composition, temperature)
    return np.sqrt(ratio * specific_gas_constant(composition) * temperature)


def _amounts(composition: Mapping[str, float]) -> FloatArray:
    return np.array(list(composition.values()), dtype=np.float64)


def _mean(composition: Mapping[str, float], of_species: FloatArray) -> FloatArray:
    """Mean over the species, weighted with the mole fractions."""
    amounts = _amounts(composition)
    return np.asarray(np.tensordot(amounts / amounts.sum(), of_species, axes=1), dtype=np.float64)
