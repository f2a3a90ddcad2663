"""The air that a pull breathed: channels of the file where there are any, the declared weather where there are not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.correct.channel_trace import MEDIAN_OF, bridged, running_median
from pullbook.correct.humid_air import air_density, density_altitude, saturation_pressure
from pullbook.correct.plausible_air import QUANTITY_NAMES, check_moist_air, check_quantity
from pullbook.quantities.arrays import frozen_floats
from pullbook.quantities.channels import Channel
from pullbook.records.corrected import CorrectionStep

if TYPE_CHECKING:
    from pullbook.quantities.arrays import BoolArray, FloatArray
    from pullbook.records.declaration import Air
    from pullbook.records.pull import Pull

__all__ = ["AirTrace", "trace_air"]

_DECLARED: Final = "as given for the pull"
# A channel that moves by less is one number, its median; each limit is worth about 0.4 per cent of torque.
_STEADY: Final = {
    Channel.AIR_TEMPERATURE: (2.0, "K"),
    Channel.AIR_PRESSURE: (300.0, "Pa"),
    Channel.AIR_HUMIDITY: (0.10, "1"),
    Channel.VAPOUR_PRESSURE: (300.0, "Pa"),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AirTrace:
    """Air at each kept sample; NaN where nobody measured it.

    Attributes
    ----------
    temperature : (n,) array of float
        Inlet air temperature. [K]
    pressure : (n,) array of float
        Absolute pressure, water vapour included. [Pa]
    vapour : (n,) array of float
        Vapour pressure. [Pa]
    steps : tuple of CorrectionStep
        Where each value came from.
    flags : tuple of str
        What moved during the pull.
    """

    temperature: FloatArray
    pressure: FloatArray
    vapour: FloatArray
    steps: tuple[CorrectionStep, ...] = ()
    flags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in ("temperature", "pressure", "vapour"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Reading:
    values: FloatArray
    steps: tuple[CorrectionStep, ...] = ()
    flags: tuple[str, ...] = ()


def trace_air(pull: Pull, keep: BoolArray, declared: Air) -> AirTrace:
    """Air at the kept samples of a pull.

    A channel of the file wins over the declared weather, and a vapour-pressure channel over humidity. A channel that
    moves little is replaced by its median (2 K, 0.3 kPa, 10 per cent relative humidity); one that moves more is
    followed with a running median over 9 samples, and flagged.

    Parameters
    ----------
    pull : Pull
        As measured.
    keep : (m,) array of bool
        Samples to keep.
    declared : Air
        Weather as written down.

    Returns
    -------
    AirTrace
        Air, with a step for each value.

    Raises
    ------
    OutOfRangeError
        If a value is impossible; the unit that was probably meant is named.
    """
    temperature = _read(pull, keep, Channel.AIR_TEMPERATURE, declared.temperature)
    pressure = _read(pull, keep, Channel.AIR_PRESSURE, declared.pressure)
    vapour = _vapour(pull, keep, declared.humidity, temperature)
    check_moist_air(temperature.values, pressure.values, vapour.values, where=pull.name)
    parts = (temperature, pressure, vapour)
    return AirTrace(
        temperature=temperature.values, pressure=pressure.values, vapour=vapour.values,
        steps=(*(step for part in parts for step in part.steps), *_derived(*(part.values for part in parts))),
        flags=tuple(flag for part in parts for flag in part.flags),
    )  # fmt: skip


def _vapour(pull: Pull, keep: BoolArray, humidity: float | None, temperature: _Reading) -> _Reading:
    direct = _read(pull, keep, Channel.VAPOUR_PRESSURE, None)
    if direct.steps:
        return direct
    relative = _read(pull, keep, Channel.AIR_HUMIDITY, humidity)
    if not relative.steps:
        return relative
    saturation = saturation_pressure(temperature.values)
    values = relative.values * saturation
    steps = (
        *relative.steps,
        _step("saturation pressure", saturation, "Pa", "IAPWS-IF97, equation 30; below 0 degC the Magnus form"),
        _step("vapour pressure", values, "Pa", "relative humidity times saturation pressure"),
    )
    return _Reading(values=values, steps=steps if np.isfinite(values).all() else relative.steps, flags=relative.flags)


def _derived(temperature: FloatArray, pressure: FloatArray, vapour: FloatArray) -> tuple[CorrectionStep, ...]:
    """Dry-air pressure, density and density altitude, for whoever reads along; the factor needs only the first."""
    if not np.isfinite(pressure - vapour).all():
        return ()
    steps = [_step("dry-air pressure", pressure - vapour, "Pa", "air pressure less vapour pressure")]
    if np.isfinite(temperature).all():
        density = air_density(temperature, pressure, vapour)
        steps += [
            _step("air density", density, "kg/m3", "ideal gases (ISO 2533, from memory); not used by the factor"),
            _step("density altitude", density_altitude(density), "m", "ISO 2533, from memory; not used by the factor"),
        ]
    return tuple(steps)


def _read(pull: Pull, keep: BoolArray, channel: Channel, declared: float | None) -> _Reading:
    """One quantity: from the file, else as declared, else NaN without a step."""
    recorded = pull.channels.get(channel)
    size = int(np.count_nonzero(keep))
    if recorded is not None and np.isfinite(recorded[keep]).any():
        return _from_channel(pull, channel, bridged(recorded[keep]))
    if declared is None:
        return _Reading(values=np.full(size, np.nan))
    check_quantity(channel, declared, pull.name)
    values = np.full(size, declared)
    return _Reading(values=values, steps=(_step(QUANTITY_NAMES[channel], values, _STEADY[channel][1], _DECLARED),))


def _from_channel(pull: Pull, channel: Channel, values: FloatArray) -> _Reading:
    limit, unit = _STEADY[channel]
    name = QUANTITY_NAMES[channel]
    middle = float(np.median(values))
    check_quantity(channel, middle, f"{pull.name}: {name} in the file")
    smooth = running_median(values)
    moved = float(np.ptp(smooth))
    if moved <= limit:
        source = f"median of the file's channel, which moves by {moved:.3g} {unit} (not more than {limit:g} {unit})"
        steady = np.full(values.shape, middle)
        return _Reading(values=steady, steps=(_step(name, steady, unit, source),))
    for extreme in (float(smooth.min()), float(smooth.max())):
        check_quantity(channel, extreme, f"{pull.name}: {name} in the file")
    source = (
        f"the file's channel sample by sample (running median of {MEDIAN_OF}), because it moves by {moved:.3g} {unit}"
    )
    flag = f"The {name} moves by {moved:.3g} {unit} during the pull; each sample is corrected with its own."
    return _Reading(values=smooth, steps=(_step(name, smooth, unit, source),), flags=(flag,))


def _step(name: str, values: FloatArray, unit: str, source: str) -> CorrectionStep:
    return CorrectionStep(name=name, value=float(np.mean(values)), unit=unit, source=source)
