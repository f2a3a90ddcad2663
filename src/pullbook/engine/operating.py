"""Operating: how the engine is run at one speed, as numbers that the kernels take."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.engine.chemistry import chemistry_of
from pullbook.gas.fuels import moist_air
from pullbook.gas.mixture import energy_of, gas_constant, thermal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.engine.chemistry import Chemistry
    from pullbook.gas.fuels import Fuel
    from pullbook.quantities.arrays import FloatArray

__all__ = ["Air", "Burn", "Operating"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """Air outside.

    Attributes
    ----------
    pressure : float
        Absolute pressure. [Pa]
    temperature : float
        Temperature. [K]
    humidity : float
        Relative humidity. [1]
    """

    pressure: float
    temperature: float
    humidity: float = 0.0

    @property
    def composition(self) -> Mapping[str, float]:
        """Mole fractions by species. [1]."""
        return moist_air(self.temperature, self.pressure, self.humidity)


@dataclass(frozen=True, slots=True, kw_only=True)
class Burn:
    """How the charge burns: a Wiebe function of crank angle whose duration follows the charge.

    Attributes
    ----------
    ca50_deg : float or None
        Half burned after top dead centre, where that is given. [deg]
    spark_deg : float or None
        Spark after top dead centre, so mostly negative, where it is held; where neither is given, the spark of best
        torque is searched. [deg]
    completeness : float
        Number a of the Wiebe function, which is stretched by 1 / (1 - exp(-a)) to burn everything. [1]
    form : float
        Number m of the Wiebe function. [1]
    duration : float
        Multiplies the correlated duration. [1]
    efficiency : float
        Multiplies the correlated share of the heat that is released. [1]
    friction_by_pressure : float
        What friction takes of the peak pressure, for the search. [1]
    """

    ca50_deg: float | None
    spark_deg: float | None = None
    completeness: float = 5.0
    form: float = 2.0
    duration: float = 1.0
    efficiency: float = 1.0
    friction_by_pressure: float = 0.0

    @property
    def searched(self) -> bool:
        """Whether the spark of best torque is searched."""
        return self.ca50_deg is None and self.spark_deg is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Operating:
    """The engine at one speed.

    Attributes
    ----------
    speed_rpm : float
        Engine speed. [rpm]
    air : Air
        Air outside.
    fuel : Fuel
        Fuel.
    lambda_ : float
        Air of the mixture over the air that burns its fuel completely. [1]
    evaporated : float
        Share of the fuel whose heat of evaporation the charge gives in the cylinder. [1]
    burn : Burn
        Burning.
    heat_model : int
        Selector of `pullbook.gas.wall_heat`.
    heat_factor : float
        Multiplies the heat to the walls of the cylinder. [1]
    """

    speed_rpm: float
    air: Air
    fuel: Fuel
    lambda_: float
    evaporated: float
    burn: Burn
    heat_model: int
    heat_factor: float

    @property
    def chemistry(self) -> Chemistry:
        """What follows from fuel, mixture and air."""
        return chemistry_of(self.fuel, self.lambda_, self.air.composition)

    @property
    def fuel_share(self) -> float:
        """Mass of fuel in a unit mass of fresh mixture. [1]."""
        return 1.0 / (1.0 + self.chemistry.air_per_fuel)

    @property
    def latent(self) -> float:
        """Heat that a unit mass of fuel takes from the charge to evaporate. [J/kg]."""
        return self.evaporated * self.chemistry.latent

    def reservoir(self, table: FloatArray, burned: float, fuel: float) -> tuple[float, ...]:
        """Air outside with some burned gas and fuel in it, as the ends of pipes take it. [SI].

        Parameters
        ----------
        table : (3, 14) array of float
            Table of the gas. [SI]
        burned, fuel : float
            Mass fractions. [1]
        """
        pressure, temperature = self.air.pressure, self.air.temperature
        energy = energy_of(table, temperature, burned, fuel)
        constant = gas_constant(table, burned, fuel)
        gamma = thermal(table, energy, burned, fuel, temperature)[2]
        return pressure, temperature, constant, gamma, energy + constant * temperature, burned, fuel
