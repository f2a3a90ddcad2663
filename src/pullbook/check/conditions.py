"""Limits of the session and the air of the day: whether the engine was in the state that was meant."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.check.asked import name_of
from pullbook.check.sweep import sweep_rates
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import show, show_change, show_range
from pullbook.records.check import Level

if TYPE_CHECKING:
    from pullbook.check.asked import Asked
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.check import Check
    from pullbook.records.declaration import Air, Limit

__all__ = ["check_air", "check_limits"]

_RARE: Final = 5.0  # per cent of the samples may be outside: a closing throttle, a lag of the sensor
_OIL_GRACE: Final = 3.0  # K, the usual tolerance for starting a pull (common practice, from memory)
_AIR_TEMPERATURES: Final = (288.15, 308.15)  # K, 15 to 35 degC: SAE J1349 and ISO 1585 for spark ignition, from memory
_AIR_PRESSURES: Final = (90_000.0, 105_000.0)  # Pa, SAE J1349 (dry), from memory
_SOAK: Final = 5.0  # K of inlet air within one pull: 1 per cent of torque at 0.2 per cent a kelvin
_REMEDIES: Final = {
    Channel.OIL_TEMPERATURE: "bring the oil into its range before the pull, and repeat it",
    Channel.COOLANT_TEMPERATURE: "bring the coolant into its range before the pull, and repeat it",
    Channel.MIXTURE: "correct the fuelling before the next pull: a lean mixture at full throttle can destroy an engine",
    Channel.SPARK: "correct the spark map, and watch for knock",
    Channel.AIR_TEMPERATURE: "give the inlet outside air, and let the cell cool down",
    Channel.SWEEP_RATE: "set the dynamometer to the agreed rate, and repeat the pull",
}


def check_limits(asked: Asked, limits: tuple[Limit, ...]) -> list[Check]:
    """Whether the channels keep the ranges that the session declares."""
    answers: list[Check] = []
    for limit in limits:
        values = _values(asked, limit.channel)
        check = f"limit_{limit.channel}"
        wanted = show_range(limit.low, limit.high, limit.channel, asked.system)
        if not values.size:
            says = f"The session wants the {name_of(limit.channel)} within {wanted}, but the file does not have it."
            answers.append(asked.answer(check, Level.LOOK, says, remedy="log this channel, or take the limit out"))
            continue
        answers.append(_limit(asked, limit, values, wanted))
    return answers


def _values(asked: Asked, channel: Channel) -> FloatArray:
    return np.abs(sweep_rates(asked.pull, asked.inside)) if channel is Channel.SWEEP_RATE else asked.values(channel)


def _limit(asked: Asked, limit: Limit, values: FloatArray, wanted: str) -> Check:
    low, high = (float(value) for value in np.percentile(values, (_RARE, 100.0 - _RARE)))
    beyond = max(limit.low - low, high - limit.high)
    seen = show_range(low, high, limit.channel, asked.system)
    if low >= limit.low and high <= limit.high:
        says = f"The {name_of(limit.channel)} was {seen}, within {wanted}."
        return asked.answer(f"limit_{limit.channel}", Level.OK, says)
    over = show_change(beyond, limit.channel, asked.system, signed=False)
    says = f"The {name_of(limit.channel)} was {seen}, {over} outside {wanted}."
    unfit = limit.channel is Channel.MIXTURE or (limit.channel is Channel.OIL_TEMPERATURE and beyond > _OIL_GRACE)
    remedy = _REMEDIES.get(limit.channel, f"bring the {name_of(limit.channel)} into its range, and repeat the pull")
    return asked.answer(f"limit_{limit.channel}", Level.UNFIT if unfit else Level.LOOK, says, remedy=remedy)


def check_air(asked: Asked, air: Air) -> list[Check]:
    """Whether the air is known, within what the standards are meant for, and steady."""
    temperatures = asked.values(Channel.AIR_TEMPERATURE)
    temperature = float(np.median(temperatures)) if temperatures.size else air.temperature
    pressures = asked.values(Channel.AIR_PRESSURE)
    pressure = float(np.median(pressures)) if pressures.size else air.pressure
    unknown = [name for name, value in (("temperature", temperature), ("pressure", pressure)) if value is None]
    if temperature is None or pressure is None:
        says = f"Nobody wrote down the {' and '.join(unknown)} of the inlet air."
        return [asked.answer("air", Level.LOOK, says, remedy="write air = { ... } for the pull, or log the channels")]
    shown = (
        f"{show(temperature, Channel.AIR_TEMPERATURE, asked.system)} and "
        f"{show(pressure, Channel.AIR_PRESSURE, asked.system)}"
    )
    outside = not (
        _AIR_TEMPERATURES[0] <= temperature <= _AIR_TEMPERATURES[1]
        and _AIR_PRESSURES[0] <= pressure <= _AIR_PRESSURES[1]
    )
    if outside:
        meant = (
            f"{show_range(*_AIR_TEMPERATURES, Channel.AIR_TEMPERATURE, asked.system)} and "
            f"{show_range(*_AIR_PRESSURES, Channel.AIR_PRESSURE, asked.system)}"
        )
        says = f"The inlet air was at {shown}; the correction standards are meant for {meant}."
        return [asked.answer("air", Level.LOOK, says, remedy="compare only pulls made in the same air")]
    rise = float(np.ptp(np.percentile(temperatures, (_RARE, 100.0 - _RARE)))) if temperatures.size else 0.0
    if rise > _SOAK:
        change = show_change(rise, Channel.AIR_TEMPERATURE, asked.system, signed=False)
        says = f"The inlet air changed by {change} in the pull, worth about {0.2 * rise:.1f} % of torque."
        return [asked.answer("air", Level.LOOK, says, remedy="give the inlet outside air, or wait between pulls")]
    return [asked.answer("air", Level.OK, f"The inlet air was at {shown}, as the correction standards want it.")]
