"""The table of the gas: air, burned gas and fuel vapour, as the kernels read it.

The table has one row for air and two rows for what burned gas and fuel vapour differ from air, so that a mixture costs
two products a column. The columns are gas constant, internal energy at 1000 K, and two polynomials of the internal
energy in powers of T / 1000 K, six coefficients below 1000 K and six above. They are the published fits themselves,
summed over the species of a component, so the table is as exact as they are. The internal energy is sensible: zero at
298.15 K, no heat of formation.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.burned import burned_composition
from pullbook.gas.fuels import AIR
from pullbook.gas.properties import mass_fractions
from pullbook.gas.species import MOLAR_GAS_CONSTANT, SPECIES, STANDARD_TEMPERATURE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.gas.fuels import Fuel
    from pullbook.quantities.arrays import FloatArray

__all__ = ["component_row", "gas_table"]

_COLUMNS: Final = 14
_SCALE: Final = 1e-3  # 1/K


def gas_table(fuel: Fuel, lambda_: float, air: Mapping[str, float] = AIR) -> FloatArray:
    """Table of the three components that the kernels read.

    Parameters
    ----------
    fuel : Fuel
        Fuel of the run.
    lambda_ : float
        Air of the mixture over the air that burns the fuel completely. [1]
    air : dict of str to float
        Mole fractions of the air, dry or moist. [1]

    Returns
    -------
    table : (3, 14) array of float
        Rows air, burned gas less air, fuel vapour less air. [J/(kg K), then J/kg]

    Raises
    ------
    OutOfRangeError
        When lambda is outside 0.5 to 5.

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> table = gas_table(FUELS["petrol"], 0.9)
    >>> float(table[0, 0])
    287.0
    """
    fresh, burned, vapour = map(component_row, (air, burned_composition(fuel, lambda_, air), fuel.composition))
    return np.array([fresh, burned - fresh, vapour - fresh])


def component_row(composition: Mapping[str, float]) -> FloatArray:
    """One row of the table.

    Parameters
    ----------
    composition : dict of str to float
        Mole fractions by species. [1]

    Returns
    -------
    row : (14,) array of float
        Gas constant, energy at 1000 K, coefficients. [J/(kg K), then J/kg]

    Examples
    --------
    >>> float(component_row({"N2": 1.0})[0])
    296.8
    """
    row = np.zeros(_COLUMNS)
    for name, share in mass_fractions(composition).items():
        species = SPECIES[name]
        constant = MOLAR_GAS_CONSTANT / species.molar_mass
        low = _energy_coefficients(species.low, constant)
        high = _energy_coefficients(species.high, constant)
        powers = (STANDARD_TEMPERATURE * _SCALE) ** np.arange(6)
        zero = low @ powers
        low[0] -= zero
        high[0] -= zero
        # The two fits meet to six digits or so; the upper one is shifted to meet exactly.
        high[0] += low.sum() - high.sum()
        row += share * np.concatenate([[constant, low.sum()], low, high])
    return row


def _energy_coefficients(fit: tuple[float, ...], constant: float) -> FloatArray:
    """Internal energy in powers of T / 1000 K, without the additive constant's zero."""
    first, second, third, fourth, fifth, offset, _ = fit
    powers = np.array([offset, first - 1.0, second / 2.0, third / 3.0, fourth / 4.0, fifth / 5.0])
    return constant * powers / _SCALE ** np.arange(6)
