"""How the engine is run: fuel, mixture, spark, walls, heat, friction, air."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.engine.friction import FrictionGeometry

__all__ = ["Ambient", "Combustion", "FrictionModel", "FuelSupply", "Heat", "Schedule", "Spark", "Walls"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """A number that follows engine speed; it runs straight between the points and stays level beyond them.

    Attributes
    ----------
    speed_rpm : tuple of float
        Engine speeds, rising; one for a constant. [rpm]
    values : tuple of float
        The number there. [unit of the number]

    Examples
    --------
    >>> Schedule(speed_rpm=(2000.0, 6000.0), values=(0.90, 0.86)).at(4000.0)
    0.88
    """

    speed_rpm: tuple[float, ...]
    values: tuple[float, ...]

    def at(self, speed_rpm: float) -> float:
        """Give the number at a speed. [unit of the number].

        Parameters
        ----------
        speed_rpm : float
            Engine speed. [rpm]
        """
        after = bisect_right(self.speed_rpm, speed_rpm)
        if after == 0:
            return self.values[0]
        if after == len(self.speed_rpm):
            return self.values[-1]
        low, high = self.speed_rpm[after - 1], self.speed_rpm[after]
        share = (speed_rpm - low) / (high - low)
        return self.values[after - 1] * (1.0 - share) + self.values[after] * share


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelSupply:
    """Fuel and how it gets into the air.

    Attributes
    ----------
    name : str
        Name in `pullbook.gas.fuels.FUELS`.
    evaporated : float
        Share of the fuel whose heat of evaporation is taken from the charge. [1]
    octane, motor_octane : float
        Research and motor octane number, for the knock estimate. [1]
    mixture : Schedule
        Lambda by speed. [1]
    """

    name: str
    evaporated: float
    octane: float
    motor_octane: float
    mixture: Schedule

    @property
    def octane_number(self) -> float:
        r"""Octane number of the reference fuel that is taken to knock alike, :math:`(RON + MON)/2`. [1].

        The correlation of the knock estimate was made with reference fuels, whose octane number is one and the same in
        all conditions. A fuel with a sensitivity RON - MON knocks like a reference fuel of RON - K (RON - MON): K is 0
        in the research test, 1 in the motor test, and 0.5 is between [1]_, [2]_. Engines that run cool at high pressure
        have a smaller K, so that this is on the safe side for them: the research number alone would call knock late.

        References
        ----------
        .. [1] A. M. Douaud, P. Eyzat, "Four-octane-number method for predicting the anti-knock behavior of fuels and
           engines", SAE paper 780080, 1978 (from memory).
        .. [2] G. T. Kalghatgi, "Fuel anti-knock quality, part I", SAE paper 2001-01-3584, 2001 (K; from memory).
        """
        return 0.5 * (self.octane + self.motor_octane)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spark:
    """When the charge is lit.

    Attributes
    ----------
    mode : str
        "best": searched for best torque; "held": spark as declared; "ca50": half burned at the declared angle.
    advance_deg : Schedule
        Spark before top dead centre, for "held". [deg]
    ca50_deg : Schedule
        Half burned after top dead centre, for "ca50". [deg]
    """

    mode: str
    advance_deg: Schedule
    ca50_deg: Schedule


@dataclass(frozen=True, slots=True, kw_only=True)
class Combustion:
    """How the charge burns.

    Attributes
    ----------
    shape : float
        Exponent m of the Wiebe function. [1]
    efficiency : float
        Share of the fuel's heat that is released where there is air for it. [1]
    duration : float
        Multiplier of the correlated burn duration. [1]
    """

    shape: float
    efficiency: float
    duration: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """Heat from the gas to the walls of the cylinder.

    Attributes
    ----------
    model : str
        "woschni", "annand" or "hohenberg".
    factor : float
        Multiplier. [1]
    """

    model: str
    factor: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionModel:
    """Friction of the engine.

    Attributes
    ----------
    model : str
        "chen-flynn", "components" or "barnes-moss".
    constant : float
        Constant part, for "chen-flynn". [Pa]
    by_pressure : float
        Part of the peak pressure. [1]
    by_speed : float
        Part by mean piston speed. [Pa s/m]
    by_speed_squared : float
        Part by the square of the mean piston speed. [Pa s2/m2]
    factor : float
        Multiplier of the whole. [1]
    geometry : FrictionGeometry or None
        What rubs, for "components".
    """

    model: str
    constant: float
    by_pressure: float
    by_speed: float
    by_speed_squared: float
    factor: float
    geometry: FrictionGeometry | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """Temperatures of walls, and what the pipes are like inside.

    Attributes
    ----------
    piston, head, liner : float
        Walls of the cylinder. [K]
    intake : dict of str to float
        Walls of the intake by group of pipe. [K]
    exhaust : dict of str to float
        Walls of the exhaust by group of pipe. [K]
    balanced : bool
        Walls of exhaust pipes outside the head follow an energy balance.
    outer_coefficient : float
        Heat transfer coefficient to the air outside. [W/m2/K]
    roughness : float
        Roughness of all pipes. [m]
    friction, heat : float
        Multipliers of friction and heat transfer in all pipes. [1]
    """

    piston: float
    head: float
    liner: float
    intake: dict[str, float]
    exhaust: dict[str, float]
    balanced: bool
    outer_coefficient: float
    roughness: float
    friction: float
    heat: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambient:
    """Air outside.

    Attributes
    ----------
    temperature : float
        Temperature. [K]
    pressure : float
        Absolute pressure. [Pa]
    humidity : float
        Relative humidity. [1]
    """

    temperature: float
    pressure: float
    humidity: float
