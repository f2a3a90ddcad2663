"""What follows from fuel, mixture and air alone; computed once, since every speed and cycle of a curve asks for it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from pullbook.gas.burned import released_energy
from pullbook.gas.components import gas_table
from pullbook.gas.dissociation_table import dissociation_table
from pullbook.gas.fuels import Fuel

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import TypeAlias

    from pullbook.quantities.arrays import FloatArray

    Composition: TypeAlias = tuple[tuple[str, float], ...]

__all__ = ["Chemistry", "chemistry_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chemistry:
    """Mixture of one fuel and one air.

    Attributes
    ----------
    air_per_fuel : float
        Mass of air that comes with a unit mass of fuel. [1]
    fuel_energy : float
        Energy that a unit mass of fuel releases where everything burns that has air. [J/kg]
    latent : float
        Heat that a unit mass of fuel takes to evaporate. [J/kg]
    table : (3, 14) array of float
        Table of the gas for the kernels; read only. [SI]
    dissociation : (21, 51, 4) array of float
        What dissociation adds to the burned gas; read only. [SI]
    """

    air_per_fuel: float
    fuel_energy: float
    latent: float
    table: FloatArray
    dissociation: FloatArray


def chemistry_of(fuel: Fuel, lambda_: float, air: Mapping[str, float]) -> Chemistry:
    """Mixture of a fuel and an air.

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
    Chemistry
        The same record for the same arguments.

    Raises
    ------
    OutOfRangeError
        When lambda is outside 0.5 to 5.
    RefusalError
        When the mixture would form soot.

    Examples
    --------
    >>> from pullbook.gas.fuels import AIR, FUELS
    >>> round(chemistry_of(FUELS["petrol"], 1.0, AIR).air_per_fuel, 2)
    14.6
    """
    return _computed((fuel.name, tuple(fuel.composition.items()), fuel.density), lambda_, tuple(air.items()))


@lru_cache(maxsize=64)
def _computed(fuel: tuple[str, Composition, float], lambda_: float, air: Composition) -> Chemistry:
    """The same from arguments that can be compared."""
    own, around = Fuel(name=fuel[0], composition=dict(fuel[1]), density=fuel[2]), dict(air)
    air_per_fuel = lambda_ * own.air_needed(around)
    table, dissociation = gas_table(own, lambda_, around), dissociation_table(own, lambda_, around)
    # Shared by all runs, also those of other threads.
    table.flags.writeable = dissociation.flags.writeable = False
    return Chemistry(
        air_per_fuel=air_per_fuel,
        fuel_energy=released_energy(own, lambda_, around) * (1.0 + air_per_fuel),
        latent=own.heat_of_vaporisation,
        table=table,
        dissociation=dissociation,
    )
