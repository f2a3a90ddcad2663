"""Power identity and plausibility: whether these numbers can come from this engine."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.identity import UnitSet, power_identity
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem, show
from pullbook.quantities.units import UNITS
from pullbook.records.build import Ignition, Induction
from pullbook.records.check import Level

if TYPE_CHECKING:
    from pullbook.check.asked import Asked
    from pullbook.records.build import Engine
    from pullbook.records.check import Check

__all__ = ["check_exhaust", "check_identity", "check_mean_pressure", "check_mixture"]

_SCATTERED: Final = 0.02  # of the ratio of power to torque times speed at the worst point
# Four-stroke petrol engines at full throttle; common practice, from memory. [Pa, 1, K]
_NATURAL: Final = (5e5, 16e5)
_CHARGED: Final = (5e5, 45e5)
_MIXTURES: Final = (0.70, 1.05)
_HOTTEST: Final = 1253.15  # 980 degC in the primary


def check_identity(asked: Asked) -> list[Check]:
    """Whether power is torque times speed."""
    power = asked.pull.channels.get(Channel.POWER)
    if power is None or asked.relative:
        return []
    stated = (
        UnitSet(torque="N m", power="kW") if asked.system is UnitSystem.METRIC else UnitSet(torque="lb ft", power="hp")
    )
    inside = asked.inside
    found = power_identity(asked.speed_rpm[inside], asked.torque[inside], power[inside], stated=stated)
    if found is None:
        return []
    says = f"{found.says[:1].upper()}{found.says[1:]}."
    if not found.agrees:
        remedy = "check the units of torque, power and speed in [columns]"
        return [asked.answer("power_identity", Level.LOOK, says, remedy=remedy)]
    if found.worst > _SCATTERED:
        remedy = "take torque and power from one record: one of them was smoothed or corrected alone"
        return [asked.answer("power_identity", Level.LOOK, says, remedy=remedy)]
    return [asked.answer("power_identity", Level.OK, says)]


def check_mean_pressure(asked: Asked, engine: Engine) -> list[Check]:
    r"""Whether the brake mean effective pressure is possible for the engine.

    .. math:: p_{me} = 2 \pi n_R T / V_d

    with 2 revolutions a cycle for a four-stroke and 1 for a two-stroke (J. B. Heywood, "Internal Combustion Engine
    Fundamentals", 1988, equation 2.20; from memory).
    """
    torque = asked.values(Channel.TORQUE)
    if asked.relative or engine.displacement is None or not torque.size:
        return []
    most = float(np.percentile(torque, 98.0))
    pressure = math.pi * engine.strokes * most / engine.displacement
    a_litre = most / (1000.0 * engine.displacement)
    bar = UNITS["bar"] if asked.system is UnitSystem.METRIC else UNITS["psi"]
    per_litre = (
        f"{a_litre:.0f} N m a litre" if asked.system is UnitSystem.METRIC else _per_inch(most, engine.displacement)
    )
    says = f"The highest torque is a mean effective pressure of {show(pressure, bar, decimals=1)} ({per_litre})"
    natural = engine.induction is Induction.NATURAL
    low, high = _NATURAL if natural else _CHARGED
    if low <= pressure <= high:
        return [asked.answer("plausibility", Level.OK, f"{says}, which such an engine can have.")]
    usual = f"{show(low, bar, decimals=0)} to {show(high, bar, decimals=0)}"
    kind = "naturally aspirated" if natural else "charged"
    says = f"{says}; {kind} engines have {usual} at full throttle."
    remedy = "check the unit of torque, the displacement, and whether torque is at the wheels"
    return [asked.answer("plausibility", Level.LOOK, says, remedy=remedy)]


def _per_inch(torque: float, displacement: float) -> str:
    value = torque / UNITS["lb ft"].factor / (displacement / UNITS["in3"].factor)
    return f"{value:.2f} lb ft a cubic inch"


def check_mixture(asked: Asked, engine: Engine) -> list[Check]:
    """Whether the mixture is one that a spark-ignition engine is run on at full throttle."""
    mixture = asked.values(Channel.MIXTURE)
    if not mixture.size or engine.ignition is not Ignition.SPARK:
        return []
    middle = float(np.median(mixture))
    shown = show(middle, Channel.MIXTURE, asked.system)
    if _MIXTURES[0] <= middle <= _MIXTURES[1]:
        return [asked.answer("mixture", Level.OK, f"The mixture was {shown} in the middle of the samples.")]
    if middle > _MIXTURES[1]:
        says = f"The mixture was {shown}: lean for full throttle."
        remedy = "stop and look at the fuelling: a lean mixture at full throttle can destroy an engine"
    else:
        says, remedy = f"The mixture was {shown}: very rich.", "check the sensor and the fuelling"
    return [asked.answer("mixture", Level.LOOK, says, remedy=remedy)]


def check_exhaust(asked: Asked) -> list[Check]:
    """Whether the exhaust gas is hotter than engines bear."""
    temperatures = asked.values(Channel.EXHAUST_TEMPERATURE)
    if not temperatures.size:
        return []
    hottest = float(np.percentile(temperatures, 95.0))
    shown = show(hottest, Channel.EXHAUST_TEMPERATURE, asked.system, decimals=0)
    if hottest <= _HOTTEST:
        return [asked.answer("exhaust", Level.OK, f"The exhaust gas reached {shown}.")]
    says = f"The exhaust gas reached {shown}, more than valves and turbines bear for long."
    return [asked.answer("exhaust", Level.LOOK, says, remedy="stop and look at mixture and spark before the next pull")]
