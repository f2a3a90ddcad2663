"""One pull of the demo, sample by sample: the sweep, the torque that the cell sees, and the channels beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.bench.demo_air import air_at, j1349_factor
from pullbook.bench.demo_curves import full_load
from pullbook.bench.demo_plan import DemoPull, Mishap

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["INERTIA", "Sweep", "make_channels", "make_sweep"]

INERTIA: Final = 0.21  # kg m^2, seen by the torque cell
_RATE: Final = 300.0  # rpm/s
_SAMPLE_TIME: Final = 0.05  # s
_FINE: Final = 10  # integration steps a sample
_START_RPM: Final = 1950.0
_END_RPM: Final = 7000.0
_COLD_OIL_LOSS: Final = 1.8  # % of torque at 55 degC oil, an invented figure


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sweep:
    """How the engine was led through one pull.

    Attributes
    ----------
    time : (n,) array of float
        From the start of the record. [s]
    speed_rpm : (n,) array of float
        Engine speed. [rpm]
    acceleration : (n,) array of float
        Angular acceleration. [rad/s2]
    throttle : (n,) array of float
        Throttle. [1]
    """

    time: FloatArray
    speed_rpm: FloatArray
    acceleration: FloatArray
    throttle: FloatArray


def make_sweep(rng: np.random.Generator) -> Sweep:
    """A second at steady speed, throttle open, a sweep at about 300 rpm/s, throttle closed, and the fall after it.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of randomness: no two sweeps have exactly the same rate.

    Returns
    -------
    sweep : Sweep
        The record, 20 samples a second.
    """
    rate = _RATE * (1.0 + 0.006 * rng.standard_normal())
    top = 1.25 + (_END_RPM - _START_RPM) / rate
    step = _SAMPLE_TIME / _FINE
    fine = np.arange(0.0, top + 0.9, step)
    fine_rate = np.interp(fine, [0.0, 1.0, 1.5, top, top + 0.3], [0.0, 0.0, rate, rate, -400.0])
    fine_speed = _START_RPM + np.cumsum(fine_rate) * step
    throttle = np.interp(fine, [0.0, 0.5, 0.7, top, top + 0.15], [0.16, 0.16, 1.0, 1.0, 0.02])
    kept = slice(None, None, _FINE)
    return Sweep(
        time=fine[kept],
        speed_rpm=fine_speed[kept],
        acceleration=fine_rate[kept] * np.pi / 30.0,
        throttle=throttle[kept],
    )


def make_channels(
    planned: DemoPull, sweep: Sweep, error: FloatArray, rng: np.random.Generator
) -> dict[str, FloatArray]:
    r"""What the bench records of one pull.

    Parameters
    ----------
    planned : DemoPull
        Line of the run sheet.
    sweep : Sweep
        How the engine was led.
    error : (n,) array of float
        Scatter of torque. [% of torque]
    rng : numpy.random.Generator
        Source of randomness of the other channels.

    Returns
    -------
    channels : dict of str to (n,) array of float
        Name with unit as a bench writes it, and values in that unit. [as named]

    Notes
    -----
    The torque cell sees :math:`T / CF - J \alpha`: torque of the virtual engine, brought from reference air to the air
    of the day by the factor of the standard, without the share that the engine's own acceleration takes. Torque, fuel
    and mixture come from the virtual engine; every other channel is invented.
    """
    air = air_at(planned.minutes)
    count = len(sweep.time)
    engine = full_load(planned.build, sweep.speed_rpm)
    true = engine.torque
    oil = _oil_temperature(planned, sweep)
    if planned.mishap is Mishap.COLD_OIL:
        true = true * (1.0 - _COLD_OIL_LOSS / 100.0)
    factor = j1349_factor(air)
    opening = np.clip((sweep.throttle - 0.05) / 0.95, 0.0, 1.0) ** 0.5
    fired = opening * (true / factor) * (1.0 + error / 100.0) - (1.0 - opening) * 22.0
    torque = fired - INERTIA * sweep.acceleration
    if planned.mishap is Mishap.GLITCH:
        torque = _with_glitch(torque, sweep.speed_rpm)
    mixture = engine.mixture + 0.003 * rng.standard_normal(count)
    fuel_flow = engine.fuel_flow * (engine.mixture / mixture) * opening / factor
    noise = rng.standard_normal((6, count))
    return {
        "Time (s)": sweep.time,
        "Engine speed (rpm)": sweep.speed_rpm + 0.8 * noise[0],
        "Torque (Nm)": torque,
        "Throttle (%)": 100.0 * sweep.throttle,
        "Lambda (-)": mixture,
        "Oil temperature (degC)": oil + 0.15 * noise[1],
        "Coolant temperature (degC)": 84.0 + 0.12 * sweep.time + 0.2 * noise[2],
        "Inlet air temperature (degC)": air.temperature - 273.15 + 0.1 * noise[3],
        "Barometer (hPa)": air.pressure / 100.0 + 0.05 * noise[4],
        "Relative humidity (%)": 100.0 * air.humidity + 0.2 * noise[5],
        "Fuel flow (kg/h)": 3600.0 * fuel_flow,
        "Spark advance (deg)": np.interp(sweep.speed_rpm, [1500.0, 3000.0, 5000.0, 7200.0], [20.0, 27.0, 30.0, 31.5]),
    }


def _oil_temperature(planned: DemoPull, sweep: Sweep) -> FloatArray:
    """Oil warms by some degrees in a pull; the first pull of the day was made too early."""
    start = 55.0 if planned.mishap is Mishap.COLD_OIL else 92.0
    return start + 0.25 * sweep.time


def _with_glitch(torque: FloatArray, speed_rpm: FloatArray) -> FloatArray:
    """A loose plug at the load cell: eight samples that jump about."""
    torn = torque.copy()
    first = int(np.searchsorted(speed_rpm[: int(speed_rpm.argmax())], 4350.0))
    torn[first : first + 8] *= np.array([0.15, 1.45, 0.05, 0.30, 1.60, 0.02, 0.85, 0.10])
    return torn
