"""The channels that pullbook knows, with the unit that each has inside.

The names that benches give them, in several languages, are in `pullbook.quantities.channel_names`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from pullbook.quantities.units import Dimension

__all__ = ["CHANNELS", "Channel", "ChannelKind"]


class Channel(StrEnum):
    """Key of a channel in records, in ``session.toml`` and in the findings."""

    TIME = "time"
    SPEED = "speed"
    TORQUE = "torque"
    POWER = "power"
    LOAD_SIGNAL = "load_signal"
    THROTTLE = "throttle"
    MANIFOLD_PRESSURE = "manifold_pressure"
    AIR_PRESSURE = "air_pressure"
    AIR_TEMPERATURE = "air_temperature"
    AIR_HUMIDITY = "air_humidity"
    VAPOUR_PRESSURE = "vapour_pressure"
    MIXTURE = "mixture"
    SPARK = "spark"
    FUEL_FLOW = "fuel_flow"
    AIR_FLOW = "air_flow"
    OIL_TEMPERATURE = "oil_temperature"
    COOLANT_TEMPERATURE = "coolant_temperature"
    FUEL_TEMPERATURE = "fuel_temperature"
    EXHAUST_TEMPERATURE = "exhaust_temperature"
    OIL_PRESSURE = "oil_pressure"
    FUEL_PRESSURE = "fuel_pressure"
    EXHAUST_PRESSURE = "exhaust_pressure"
    VEHICLE_SPEED = "vehicle_speed"
    TRACTIVE_FORCE = "tractive_force"
    SWEEP_RATE = "sweep_rate"
    CORRECTION_FACTOR = "correction_factor"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelKind:
    """What a channel measures and what is plausible for an engine on a bench.

    Attributes
    ----------
    channel : Channel
        Its key.
    dimension : Dimension
        What it measures; the values inside are SI (rpm for speed, degrees for angles).
    low, high : float
        Physically possible range; beyond it a sensor or a unit is wrong. [SI unit of the dimension]
    symbol_metric, symbol_us : str
        Units that a reader is shown.
    """

    channel: Channel
    dimension: Dimension
    low: float
    high: float
    symbol_metric: str
    symbol_us: str


_D = Dimension
_ROWS: Final[tuple[tuple[Channel, Dimension, float, float, str, str], ...]] = (
    (Channel.TIME, _D.TIME, -1e6, 1e7, "s", "s"),
    (Channel.SPEED, _D.SPEED, 0.0, 25_000.0, "rpm", "rpm"),
    (Channel.TORQUE, _D.TORQUE, -2000.0, 10_000.0, "N m", "lb ft"),
    (Channel.POWER, _D.POWER, -1e6, 5e6, "kW", "hp"),
    (Channel.LOAD_SIGNAL, _D.VOLTAGE, -30.0, 30.0, "V", "V"),
    (Channel.THROTTLE, _D.RATIO, -0.1, 1.1, "%", "%"),
    (Channel.MANIFOLD_PRESSURE, _D.PRESSURE, 5e3, 6e5, "kPa", "inHg"),
    (Channel.AIR_PRESSURE, _D.PRESSURE, 5e4, 1.1e5, "kPa", "inHg"),
    (Channel.AIR_TEMPERATURE, _D.TEMPERATURE, 233.15, 343.15, "degC", "degF"),
    (Channel.AIR_HUMIDITY, _D.RATIO, 0.0, 1.0, "%", "%"),
    (Channel.VAPOUR_PRESSURE, _D.PRESSURE, 0.0, 12_400.0, "kPa", "inHg"),
    (Channel.MIXTURE, _D.MIXTURE, 0.4, 3.0, "lambda", "lambda"),
    (Channel.SPARK, _D.ANGLE, -30.0, 80.0, "deg", "deg"),
    (Channel.FUEL_FLOW, _D.MASS_FLOW, 0.0, 1.0, "g/s", "lb/h"),
    (Channel.AIR_FLOW, _D.MASS_FLOW, 0.0, 10.0, "g/s", "lb/min"),
    (Channel.OIL_TEMPERATURE, _D.TEMPERATURE, 233.15, 473.15, "degC", "degF"),
    (Channel.COOLANT_TEMPERATURE, _D.TEMPERATURE, 233.15, 423.15, "degC", "degF"),
    (Channel.FUEL_TEMPERATURE, _D.TEMPERATURE, 233.15, 373.15, "degC", "degF"),
    (Channel.EXHAUST_TEMPERATURE, _D.TEMPERATURE, 233.15, 1500.0, "degC", "degF"),
    (Channel.OIL_PRESSURE, _D.PRESSURE, -1e5, 2e6, "bar", "psi"),
    (Channel.FUEL_PRESSURE, _D.PRESSURE, -1e5, 4e7, "bar", "psi"),
    (Channel.EXHAUST_PRESSURE, _D.PRESSURE, -1e5, 1e6, "kPa", "psi"),
    (Channel.VEHICLE_SPEED, _D.VELOCITY, -5.0, 150.0, "km/h", "mph"),
    (Channel.TRACTIVE_FORCE, _D.FORCE, -5e4, 5e4, "N", "lbf"),
    (Channel.SWEEP_RATE, _D.SWEEP_RATE, -1e4, 1e4, "rpm/s", "rpm/s"),
    (Channel.CORRECTION_FACTOR, _D.RATIO, 0.5, 2.0, "1", "1"),
)
CHANNELS: Final[dict[Channel, ChannelKind]] = {
    channel: ChannelKind(channel=channel, dimension=dimension, low=low, high=high, symbol_metric=metric, symbol_us=us)
    for channel, dimension, low, high, metric, us in _ROWS
}
