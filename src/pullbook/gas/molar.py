"""Molar properties of single species, from the fits of the data."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.species import BREAK_TEMPERATURE, SPECIES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pullbook.quantities.arrays import FloatArray

__all__ = ["enthalpies", "entropies", "heat_capacities"]


def heat_capacities(names: Iterable[str], temperature: FloatArray | float) -> FloatArray:
    """Molar heat capacities at constant pressure, divided by the gas constant.

    Parameters
    ----------
    names : iterable of str
        The species.
    temperature : (...) array of float
        Temperature. [K]

    Returns
    -------
    capacities : (s, ...) array of float
        Heat capacities cp/R. [1]

    Examples
    --------
    >>> heat_capacities(["Ar"], 500.0)
    array([2.5])
    """
    return np.array([a[0] + t * (a[1] + t * (a[2] + t * (a[3] + t * a[4]))) for a, t in _fits(names, temperature)])


def enthalpies(names: Iterable[str], temperature: FloatArray | float) -> FloatArray:
    """Molar enthalpies with the heat of formation, divided by gas constant and temperature.

    Parameters
    ----------
    names : iterable of str
        The species.
    temperature : (...) array of float
        Temperature. [K]

    Returns
    -------
    enthalpies : (s, ...) array of float
        Enthalpies h/RT. [1]

    Examples
    --------
    Heat of formation of carbon dioxide, -393.51 kJ/mol (CODATA key values, from memory).

    >>> from pullbook.gas.species import MOLAR_GAS_CONSTANT
    >>> float(enthalpies(["CO2"], 298.15)[0]) * MOLAR_GAS_CONSTANT * 298.15 / 1000
    -393.5
    """
    return np.array(
        [
            a[0] + t * (a[1] / 2 + t * (a[2] / 3 + t * (a[3] / 4 + t * a[4] / 5))) + a[5] / t
            for a, t in _fits(names, temperature)
        ]
    )


def entropies(names: Iterable[str], temperature: FloatArray | float) -> FloatArray:
    """Molar entropies at 1 bar, divided by the gas constant.

    Parameters
    ----------
    names : iterable of str
        The species.
    temperature : (...) array of float
        Temperature. [K]

    Returns
    -------
    entropies : (s, ...) array of float
        Entropies s/R. [1]

    Examples
    --------
    Entropy of oxygen at 298.15 K, 205.15 J/(mol K) (CODATA key values, from memory).

    >>> from pullbook.gas.species import MOLAR_GAS_CONSTANT
    >>> float(entropies(["O2"], 298.15)[0]) * MOLAR_GAS_CONSTANT
    205.1
    """
    return np.array(
        [
            a[0] * np.log(t) + t * (a[1] + t * (a[2] / 2 + t * (a[3] / 3 + t * a[4] / 4))) + a[6]
            for a, t in _fits(names, temperature)
        ]
    )


def _fits(names: Iterable[str], temperature: FloatArray | float) -> list[tuple[FloatArray, FloatArray]]:
    """For each species its seven numbers at each temperature, and the temperatures."""
    kelvin = np.asarray(temperature, dtype=np.float64)
    is_low = kelvin <= BREAK_TEMPERATURE
    chosen = []
    for name in names:
        low, high = (np.reshape(fit, (7,) + (1,) * kelvin.ndim) for fit in (SPECIES[name].low, SPECIES[name].high))
        chosen.append((np.where(is_low, low, high), kelvin))
    return chosen
