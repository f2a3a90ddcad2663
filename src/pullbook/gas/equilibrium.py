"""Burned gas in chemical equilibrium, with dissociation: composition and properties at given temperature and density.

With the potential of each element as the unknown, the amount of a species in a kilogram of gas of density rho is::

    n_j = p0 / (rho Ru T) exp(-g_j(T) / RuT + sum_i a_ij pi_i),      sum_j a_ij n_j = b_i

The balances of the elements are the gradient of a convex function of the potentials, so that Newton's method with
limited steps finds the one answer; at given density (instead of pressure) nothing else is unknown. All points of a
table are solved together.

References
----------
.. [1] S. Gordon, B. J. McBride, Computer Program for Calculation of Complex Chemical Equilibrium Compositions, NASA
   RP-1311, 1994, chapter 2 (from memory): equilibrium by element potentials.
.. [2] C. Olikara, G. L. Borman, A computer program for calculating properties of equilibrium combustion products, SAE
   750468 (from memory): the species that matter in a petrol engine.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.errors import OutOfRangeError, RefusalError
from pullbook.gas.molar import enthalpies, entropies, heat_capacities
from pullbook.gas.species import MOLAR_GAS_CONSTANT, STANDARD_PRESSURE, atoms_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray

__all__ = ["PRODUCTS", "Equilibrium", "equilibrium"]

PRODUCTS: Final = ("CO2", "H2O", "CO", "H2", "O2", "N2", "OH", "O", "H", "NO", "N", "Ar")
_ELEMENTS: Final = ("C", "H", "O", "N", "Ar")
_ATOMS: Final = np.array([atoms_of(PRODUCTS, element) for element in _ELEMENTS])
_RANGE: Final = (1000.0, 5000.0)  # K
_CLOSE: Final = 1e-11  # of each element
_MOST_STEPS: Final = 200
_LONGEST_STEP: Final = 3.0  # of the logarithm of an amount
_FIRST_TRACE: Final = 1e-5  # oxygen or monoxide to start from where there is none


@dataclass(frozen=True, slots=True, kw_only=True)
class Equilibrium:
    """Equilibrium at each of some temperatures and densities.

    Attributes
    ----------
    temperature : (m,) array of float
        Temperature. [K]
    density : (m,) array of float
        Density. [kg/m3]
    amounts : (12, m) array of float
        Amount of each species of ``PRODUCTS``. [mol/kg]
    energy : (m,) array of float
        Internal energy with the heat of formation. [J/kg]
    gas_constant : (m,) array of float
        Specific gas constant. [J/(kg K)]
    cv : (m,) array of float
        Heat capacity at constant volume, with what dissociation takes up. [J/(kg K)]
    pressure_by_temperature : (m,) array of float
        Logarithmic derivative of pressure by temperature at constant density. [1]
    pressure_by_density : (m,) array of float
        Logarithmic derivative of pressure by density at constant temperature. [1]
    """

    temperature: FloatArray
    density: FloatArray
    amounts: FloatArray
    energy: FloatArray
    gas_constant: FloatArray
    cv: FloatArray
    pressure_by_temperature: FloatArray
    pressure_by_density: FloatArray

    @property
    def pressure(self) -> FloatArray:
        """Pressure. [Pa]."""
        return self.density * self.gas_constant * self.temperature

    @property
    def isentropic_exponent(self) -> FloatArray:
        """Logarithmic derivative of pressure by density at constant entropy. [1]."""
        extra = self.gas_constant * self.pressure_by_temperature**2 / self.cv
        return self.pressure_by_density + extra

    @property
    def sound_speed(self) -> FloatArray:
        """Speed of sound that is slow enough for equilibrium. [m/s]."""
        return np.sqrt(self.isentropic_exponent * self.gas_constant * self.temperature)

    @property
    def cp(self) -> FloatArray:
        """Heat capacity at constant pressure, with what dissociation takes up. [J/(kg K)]."""
        return self.cv + self.gas_constant * self.pressure_by_temperature**2 / self.pressure_by_density


def equilibrium(atoms: Mapping[str, float], temperature: FloatArray, density: FloatArray) -> Equilibrium:
    """Equilibrium of the products of combustion.

    Parameters
    ----------
    atoms : dict of str to float
        Amount of C, H, O, N and Ar in a kilogram. [mol/kg]
    temperature : (m,) array of float
        Temperatures. [K]
    density : (m,) array of float
        Densities, one for each temperature. [kg/m3]

    Returns
    -------
    found : Equilibrium
        Composition and properties.

    Raises
    ------
    OutOfRangeError
        When a temperature is outside 1000 to 5000 K or a density is not positive.
    RefusalError
        When the balances of the elements cannot be met: the mixture would form soot.

    Notes
    -----
    Composition to 1e-11 of each element; the species left out (soot, hydrocarbons, N2O, HO2 ...) have less than
    1e-4 of the molecules for lambda above 0.6.

    Examples
    --------
    >>> from pullbook.gas.burned import element_amounts
    >>> from pullbook.gas.fuels import FUELS
    >>> atoms = element_amounts(FUELS["petrol"], 1.0)
    >>> found = equilibrium(atoms, np.array([2500.0]), np.array([0.14]))
    >>> round(float(found.amounts[PRODUCTS.index("CO"), 0] / found.amounts.sum()), 3)
    0.04
    """
    kelvin, dense = np.broadcast_arrays(np.atleast_1d(temperature), np.atleast_1d(density))
    low, high = _RANGE
    if not (np.all((kelvin >= low) & (kelvin <= high)) and np.all(dense > 0.0)):
        raise OutOfRangeError(
            f"an equilibrium is asked for outside {low:g} to {high:g} K, or without density", where="burned gas"
        )
    return _with_properties(kelvin, dense, _balanced(atoms, kelvin, dense))


def _balanced(atoms: Mapping[str, float], kelvin: FloatArray, density: FloatArray) -> FloatArray:
    """Amounts of the species whose elements add up. [mol/kg]."""
    wanted = np.array([atoms[element] for element in _ELEMENTS])[:, np.newaxis]
    at_no_potential = (
        np.log(STANDARD_PRESSURE / (density * MOLAR_GAS_CONSTANT * kelvin))
        - enthalpies(PRODUCTS, kelvin)
        + entropies(PRODUCTS, kelvin)
    )
    potentials = _first_potentials(wanted[:, 0], at_no_potential)
    for _ in range(_MOST_STEPS):
        amounts: FloatArray = np.exp(at_no_potential + _ATOMS.T @ potentials)
        missing = wanted - _ATOMS @ amounts
        if np.all(np.abs(missing) <= _CLOSE * wanted):
            return amounts
        step = np.linalg.solve(_curvature(amounts), missing.T[:, :, np.newaxis])[:, :, 0].T
        longest = np.abs(_ATOMS.T @ step).max(axis=0)
        potentials = potentials + step * np.minimum(1.0, _LONGEST_STEP / np.maximum(longest, _CLOSE))
    raise RefusalError(
        "the burned gas has no equilibrium without soot", where="burned gas", remedy="give a leaner mixture"
    )


def _first_potentials(wanted: FloatArray, at_no_potential: FloatArray) -> FloatArray:
    """Potentials of the elements when the mixture burns as completely as its oxygen allows."""
    carbon, hydrogen, oxygen, nitrogen, argon = wanted
    spare = oxygen - 2.0 * carbon - hydrogen / 2.0

    def of(name: str, amount: float) -> FloatArray:
        """Sum of the potentials of the atoms of a species."""
        potential: FloatArray = np.log(amount) - at_no_potential[PRODUCTS.index(name)]
        return potential

    if spare > 0.0:
        of_oxygen = of("O2", max(spare / 2.0, _FIRST_TRACE * oxygen)) / 2.0
    else:
        monoxide = min(max(-spare / 2.0, _FIRST_TRACE * carbon), carbon / 2.0)
        of_oxygen = of("CO2", carbon - monoxide) - of("CO", monoxide)
    return np.array(
        [
            of("CO2", carbon) - 2.0 * of_oxygen,
            (of("H2O", hydrogen / 2.0) - of_oxygen) / 2.0,
            of_oxygen,
            of("N2", nitrogen / 2.0) / 2.0,
            of("Ar", argon),
        ]
    )


def _curvature(amounts: FloatArray) -> FloatArray:
    """Derivative of the elements by their potentials, (m, 5, 5)."""
    curvature: FloatArray = np.einsum("ij,jm,kj->mik", _ATOMS, amounts, _ATOMS)
    return curvature


def _shifted(amounts: FloatArray, drive: FloatArray) -> FloatArray:
    """Logarithmic change of the amounts that a drive causes while the elements stay."""
    lost = _ATOMS @ (amounts * drive)
    potentials = np.linalg.solve(_curvature(amounts), -lost.T[:, :, np.newaxis])[:, :, 0].T
    shifted: FloatArray = drive + _ATOMS.T @ potentials
    return shifted


def _with_properties(kelvin: FloatArray, density: FloatArray, amounts: FloatArray) -> Equilibrium:
    """Properties of a composition, and how it shifts with temperature and density."""
    internal = enthalpies(PRODUCTS, kelvin) - 1.0  # u/RT
    total = amounts.sum(axis=0)
    # The amounts at given potentials go as 1/T and 1/density, and with the energy of the species by temperature.
    by_temperature = amounts * _shifted(amounts, internal)
    by_density = amounts * _shifted(amounts, -np.ones_like(amounts))
    frozen = (amounts * (heat_capacities(PRODUCTS, kelvin) - 1.0)).sum(axis=0)
    return Equilibrium(
        temperature=kelvin,
        density=density,
        amounts=amounts,
        energy=MOLAR_GAS_CONSTANT * kelvin * (amounts * internal).sum(axis=0),
        gas_constant=MOLAR_GAS_CONSTANT * total,
        cv=MOLAR_GAS_CONSTANT * (frozen + (internal * by_temperature).sum(axis=0)),
        pressure_by_temperature=1.0 + by_temperature.sum(axis=0) / total,
        pressure_by_density=1.0 + by_density.sum(axis=0) / total,
    )
