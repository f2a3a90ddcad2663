"""Fuels: what they are made of, the air they need, the heat they release and the heat they take to evaporate.

Petrol is a mixture of hundreds of hydrocarbons. It is stood for by two of them, iso-octane and toluene, in the
proportion that gives 1.87 atoms of hydrogen for each of carbon. Its vapour then has a molar mass of 106 g/mol (real
petrol: 100-110 g/mol) and a measured heat capacity and heat of formation.

References
----------
.. [1] NIST Chemistry WebBook (from memory): heats of vaporisation at 298.15 K of iso-octane 35.1, toluene 38.0,
   ethanol 42.3 and methanol 37.6 kJ/mol.
.. [2] E. Christensen, M. Ratcliff, R. McCormick, New analysis methods estimate a critical property of ethanol fuel
   blends, National Renewable Energy Laboratory, 2016: hydrocarbon petrols take 325 to 375 kJ/kg to evaporate.
.. [3] EN 228 (from memory): petrol has a density of 720 to 775 kg/m3 at 15 degC.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from pullbook.errors import OutOfRangeError
from pullbook.gas.properties import formation_enthalpy, molar_mass
from pullbook.gas.species import SPECIES

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["AIR", "FUELS", "Fuel", "blend", "moist_air", "stoichiometric_air"]

# Dry air by moles: nitrogen and argon as in the U.S. Standard Atmosphere 1976, carbon dioxide of about 1995, and oxygen
# as the rest but for traces (from memory); 28.966 g/mol.
AIR: Final[Mapping[str, float]] = MappingProxyType({"O2": 0.20946, "N2": 0.78084, "Ar": 0.00934, "CO2": 0.00036})

_VAPORISATION: Final = {"C8H18": 35.1e3, "C7H8": 38.0e3, "C2H6O": 42.3e3, "CH4O": 37.6e3}  # J/mol at 298.15 K [1]
_H_PER_C: Final = 1.87
# 18 x + 8 (1 - x) hydrogens on 8 x + 7 (1 - x) carbons.
_ISO_OCTANE: Final = (7.0 * _H_PER_C - 8.0) / (10.0 - _H_PER_C)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuel:
    """A fuel by its composition; everything else follows from it.

    Attributes
    ----------
    name : str
        What the trade calls it.
    composition : dict of str to float
        Mole fractions by species. [1]
    density : float
        Density of the liquid at 15 degC. [kg/m3]
    """

    name: str
    composition: Mapping[str, float]
    density: float

    def atoms(self, element: str) -> float:
        """Atoms of an element in the mean molecule. [1].

        Parameters
        ----------
        element : str
            Symbol of the element.
        """
        return sum(share * SPECIES[name].atoms.get(element, 0) for name, share in self.composition.items())

    @property
    def molar_mass(self) -> float:
        """Mass of one mole. [kg/mol]."""
        return molar_mass(self.composition)

    @property
    def stoichiometric_air(self) -> float:
        """Mass of dry air that burns a unit mass of fuel completely. [1]."""
        return self.air_needed(AIR)

    def air_needed(self, air: Mapping[str, float]) -> float:
        """Mass of air, dry or moist, that burns a unit mass of fuel completely. [1].

        Parameters
        ----------
        air : dict of str to float
            Mole fractions of the air. [1]
        """
        return stoichiometric_air(self.atoms("C"), self.atoms("H"), self.atoms("O"), self.molar_mass, air)

    @property
    def heat_of_vaporisation(self) -> float:
        """Heat that evaporates the liquid at 25 degC, mixing neglected. [J/kg]."""
        return sum(share * _VAPORISATION[name] for name, share in self.composition.items()) / self.molar_mass

    @property
    def vapour_heating_value(self) -> float:
        """Lower heating value of the vapour at 25 degC: products are gases. [J/kg]."""
        carbon, hydrogen = self.atoms("C"), self.atoms("H")
        oxygen = carbon + hydrogen / 4.0 - self.atoms("O") / 2.0
        products = {"CO2": carbon, "H2O": hydrogen / 2.0}
        per_fuel = 1.0 + oxygen * SPECIES["O2"].molar_mass / self.molar_mass  # kg of products a kg of fuel
        return formation_enthalpy(self.composition) - per_fuel * formation_enthalpy(products)

    @property
    def heating_value(self) -> float:
        """Lower heating value of the liquid at 25 degC, as it is sold and told. [J/kg]."""
        return self.vapour_heating_value - self.heat_of_vaporisation


def stoichiometric_air(
    carbon: float, hydrogen: float, oxygen: float, mass: float, air: Mapping[str, float] = AIR
) -> float:
    """Mass of air that burns a unit mass of a fuel completely.

    Parameters
    ----------
    carbon : float
        Atoms of carbon in a molecule. [1]
    hydrogen : float
        Atoms of hydrogen in a molecule. [1]
    oxygen : float
        Atoms of oxygen in a molecule. [1]
    mass : float
        Molar mass of the fuel. [kg/mol]
    air : dict of str to float
        Mole fractions of the air. [1]

    Returns
    -------
    ratio : float
        Stoichiometric air-fuel ratio by mass. [1]

    Examples
    --------
    Nitromethane, whose nitrogen has a mass but takes no oxygen.

    >>> stoichiometric_air(1, 3, 2, 61.04e-3)
    1.70
    """
    needed = carbon + hydrogen / 4.0 - oxygen / 2.0
    return needed * sum(air.values()) / air["O2"] * molar_mass(air) / mass


def moist_air(temperature: float, pressure: float, humidity: float) -> dict[str, float]:
    """Mole fractions of air with water vapour in it.

    The saturation pressure is ``610.94 Pa exp(17.625 t / (t + 243.04))`` with t in degrees Celsius [1]_.

    Parameters
    ----------
    temperature : float
        Temperature of the air. [K]
    pressure : float
        Pressure, that of the vapour included. [Pa]
    humidity : float
        Relative humidity. [1]

    Returns
    -------
    composition : dict of str to float
        Mole fractions, of sum one. [1]

    Raises
    ------
    OutOfRangeError
        When the humidity is not between 0 and 1, or the vapour would be a third of the air or more.

    Notes
    -----
    Saturation pressure within 0.4 % from -40 to 50 degC.

    References
    ----------
    .. [1] O. A. Alduchov, R. E. Eskridge, Improved Magnus form approximation of saturation vapor pressure, J. Appl.
       Meteorology 35 (1996) 601, equation 21 (from memory).

    Examples
    --------
    >>> round(moist_air(303.15, 98000.0, 0.6)["H2O"], 4)
    0.026
    """
    celsius = temperature - 273.15
    vapour = humidity * 610.94 * math.exp(17.625 * celsius / (celsius + 243.04))
    if not 0.0 <= humidity <= 1.0 or not 3.0 * vapour < pressure:
        raise OutOfRangeError(
            f"a humidity of {100.0 * humidity:.4g} % at {celsius:.4g} degC and {pressure:.5g} Pa is not that of air",
            where="air",
            remedy="give a humidity between 0 and 100 %",
        )
    share = vapour / pressure
    dry = sum(AIR.values())
    return {name: (1.0 - share) * amount / dry for name, amount in AIR.items()} | ({"H2O": share} if share else {})


def blend(name: str, base: Fuel, added: Fuel, share: float) -> Fuel:
    """Mix two fuels by volume, as a pump does.

    Parameters
    ----------
    name : str
        Name of the blend.
    base : Fuel
        The one fuel.
    added : Fuel
        The other one.
    share : float
        Part of the volume that the other one takes before mixing. [1]

    Returns
    -------
    fuel : Fuel
        The blend.

    Raises
    ------
    OutOfRangeError
        When the share is not between 0 and 1.

    Examples
    --------
    >>> round(blend("E85", FUELS["petrol"], FUELS["ethanol"], 0.85).stoichiometric_air, 2)
    9.8
    """
    if not 0.0 <= share <= 1.0:
        raise OutOfRangeError(
            f"the share {share:g} of {added.name} is outside 0 to 1", where=name, remedy="give the part of the volume"
        )
    amounts: dict[str, float] = {}
    for fuel, volume in ((base, 1.0 - share), (added, share)):
        moles = volume * fuel.density / fuel.molar_mass
        for species, fraction in fuel.composition.items():
            amounts[species] = amounts.get(species, 0.0) + moles * fraction
    total = sum(amounts.values())
    composition = {species: amount / total for species, amount in amounts.items() if amount}
    return Fuel(
        name=name,
        composition=MappingProxyType(composition),
        density=(1.0 - share) * base.density + share * added.density,
    )


def _fuel(name: str, density: float, **composition: float) -> Fuel:
    return Fuel(name=name, composition=MappingProxyType(composition), density=density)


_PETROL: Final = _fuel("petrol", 745.0, C8H18=_ISO_OCTANE, C7H8=1.0 - _ISO_OCTANE)
_ETHANOL: Final = _fuel("ethanol", 789.0, C2H6O=1.0)
_ALL: Final = (
    _PETROL,
    _ETHANOL,
    _fuel("methanol", 792.0, CH4O=1.0),
    _fuel("iso-octane", 692.0, C8H18=1.0),
    _fuel("toluene", 867.0, C7H8=1.0),
    blend("E10", _PETROL, _ETHANOL, 0.10),
    blend("E85", _PETROL, _ETHANOL, 0.85),
)
FUELS: Final[Mapping[str, Fuel]] = MappingProxyType({fuel.name: fuel for fuel in _ALL})
