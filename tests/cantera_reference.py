"""Gases in Cantera, from its own copy of NASA's data: what our numbers are compared with.

Cantera takes the entropies of these data as those at 1 atm; NASA states them at 1 bar (the entropy of oxygen, 205.15
J/(mol K), is that at 1 bar: CODATA key values, from memory). Species are therefore set to 1 bar here.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, Final

import cantera

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["NAMES", "gas_of", "ideal_gas", "moving_gas"]

# Our names, and those of the file.
NAMES: Final = {
    "O2": "O2", "N2": "N2", "Ar": "Ar", "CO2": "CO2", "H2O": "H2O", "CO": "CO", "H2": "H2", "OH": "OH", "O": "O",
    "H": "H", "NO": "NO", "N": "N", "C8H18": "C8H18,isooctane", "C7H8": "C7H8", "C2H6O": "C2H5OH", "CH4O": "CH3OH",
}  # fmt: skip


@cache
def _species() -> dict[str, Any]:
    by_name = {species.name: species for species in cantera.Species.list_from_file("nasa_gas.yaml")}
    made: dict[str, Any] = {}
    for ours, theirs in NAMES.items():
        thermo = by_name[theirs].thermo
        made[ours] = cantera.Species(ours, by_name[theirs].composition)
        made[ours].thermo = cantera.NasaPoly2(thermo.min_temp, thermo.max_temp, 1e5, thermo.coeffs)
    return made


def ideal_gas(*names: str) -> Any:
    """Ideal gas of some species, without transport."""
    return cantera.Solution(thermo="ideal-gas", species=[_species()[name] for name in names])


def gas_of(composition: Mapping[str, float], temperature: float, pressure: float = 1e5) -> Any:
    """Ideal gas of a composition at temperature and pressure."""
    gas = ideal_gas(*composition)
    gas.TPX = temperature, pressure, dict(composition)
    return gas


@cache
def _moving() -> Any:
    gas = cantera.Solution("gri30.yaml")
    gas.transport_model = "multicomponent"
    return gas


def moving_gas(composition: Mapping[str, float], temperature: float) -> Any:
    """Gas with viscosity and conductivity by kinetic theory, molecular data of GRI-Mech 3.0."""
    gas = _moving()
    gas.TPX = temperature, 1e5, {("AR" if name == "Ar" else name): share for name, share in composition.items()}
    return gas
