"""StandardRule: what every correction standard offers, with one signature, and what it is given."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.errors import InputError, Remedy, Way
from pullbook.quantities.arrays import frozen_floats
from pullbook.records.build import Ignition, Induction
from pullbook.records.corrected import CorrectionStep

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.build import Engine
    from pullbook.records.declaration import Standard

__all__ = ["Conditions", "Need", "Reference", "StandardFactor", "StandardRule", "gate", "mean_step", "spark_misfit"]


class Reference:
    """Reference air of the standards that share it: 25 degC, 99 kPa dry (100 kPa with 1 kPa of vapour).

    Texts write the temperature as 298 K or as 298.15 K; pullbook reckons 25 degC as 298.15 K, so that every factor is
    exactly 1 at 25 degC and 99 kPa.
    """

    TEMPERATURE: Final = 298.15  # K
    DRY_PRESSURE: Final = 99_000.0  # Pa


class Need(StrEnum):
    """What a standard has to know besides speed and torque; the value is the sentence when it is missing."""

    TEMPERATURE = "the temperature of the inlet air is not known"
    PRESSURE = "the pressure of the inlet air is not known"
    HUMIDITY = "the humidity of the inlet air is not known"
    FUEL_FLOW = "the fuel flow is not known"
    BOOST = "the manifold pressure of this charged engine is not known"
    DISPLACEMENT = "the displacement of the engine is not known"


_REMEDIES: Final = {
    Need.TEMPERATURE: Way.TEMPERATURE.said(
        'write air = { temperature = "24.1 degC" } for the pull, or map a column to air_temperature'
    ),
    Need.PRESSURE: Way.PRESSURE.said(
        'write air = { pressure = "99.2 kPa" } for the pull, the absolute pressure at the inlet and not the '
        "sea-level pressure of a weather service, or map a column to air_pressure"
    ),
    Need.HUMIDITY: Way.HUMIDITY.said(
        'write air = { humidity = "46 %" } for the pull, "0 %" if the air is to be taken as dry, or use '
        'standard = "DIN 70020", which needs none'
    ),
    Need.FUEL_FLOW: Way.COLUMN_OR_NO_STANDARD.said('map a column to fuel_flow, or use standard = "none"', "fuel flow"),
    Need.BOOST: Way.COLUMN_OR_NO_STANDARD.said(
        'map a column to manifold_pressure, or use standard = "none"', "manifold pressure"
    ),
    Need.DISPLACEMENT: Way.DISPLACEMENT.said('write displacement = "2.0 L" under [engine]'),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conditions:
    """What a correction may depend on, at each sample.

    Attributes
    ----------
    engine : Engine
        The engine.
    speed_rpm : (n,) array of float
        Engine speed. [rpm]
    temperature : (n,) array of float
        Inlet air temperature; NaN where not known. [K]
    pressure : (n,) array of float
        Absolute pressure of the inlet air, water vapour included; NaN where not known. [Pa]
    vapour : (n,) array of float
        Vapour pressure; NaN where not known. [Pa]
    fuel_flow : (n,) array of float
        Fuel flow; NaN where not known. [kg/s]
    manifold_pressure : (n,) array of float
        Absolute manifold pressure; NaN where not known. [Pa]
    use_friction : bool
        Use the measured friction of the engine where there is any; false for numbers that somebody else corrected,
        and for a signal that is no torque.
    where : str
        Pull, for messages.
    """

    engine: Engine
    speed_rpm: FloatArray
    temperature: FloatArray
    pressure: FloatArray
    vapour: FloatArray
    fuel_flow: FloatArray
    manifold_pressure: FloatArray
    use_friction: bool = True
    where: str = ""

    def __post_init__(self) -> None:
        for name in ("speed_rpm", "temperature", "pressure", "vapour", "fuel_flow", "manifold_pressure"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))

    @property
    def dry_pressure(self) -> FloatArray:
        """Pressure of the air without its water vapour [Pa]."""
        return np.asarray(self.pressure - self.vapour)

    def knows(self, need: Need) -> bool:
        """Whether every sample has what is needed."""
        if need is Need.DISPLACEMENT:
            return self.engine.displacement is not None
        values = {
            Need.TEMPERATURE: self.temperature,
            Need.PRESSURE: self.pressure,
            Need.HUMIDITY: self.vapour,
            Need.FUEL_FLOW: self.fuel_flow,
            Need.BOOST: self.manifold_pressure,
        }[need]
        return bool(np.isfinite(values).all())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StandardFactor:
    """Corrected torque is ``gain * observed + offset``; only measured friction makes an offset.

    Attributes
    ----------
    gain : (n,) array of float
        Multiplies observed torque. [1]
    offset : (n,) array of float
        Added after that. [N m]
    steps : tuple of CorrectionStep
        Intermediate values.
    flags : tuple of str
        Validity exceeded, defaults assumed.
    """

    gain: FloatArray
    offset: FloatArray
    steps: tuple[CorrectionStep, ...] = ()
    flags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "gain", frozen_floats(self.gain))
        object.__setattr__(self, "offset", frozen_floats(self.offset))


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardRule:
    """One correction standard.

    Attributes
    ----------
    standard : Standard
        Its name.
    title : str
        What it is, in words.
    source : str
        Where formula and constants come from.
    misfit : callable of Engine to (str, str)
        Why it cannot be used for an engine, and the remedy; two empty texts when it can.
    needs : callable of Engine to tuple of Need
        What has to be known.
    compute : callable of Conditions to StandardFactor
        The formula.
    """

    standard: Standard
    title: str
    source: str
    misfit: Callable[[Engine], tuple[str, str | Remedy]]
    needs: Callable[[Engine], tuple[Need, ...]]
    compute: Callable[[Conditions], StandardFactor]

    def factor(self, conditions: Conditions) -> StandardFactor:
        """Gain and offset at each sample.

        Raises
        ------
        InputError
            If the standard is not meant for this engine, or something that it needs is not known.
        """
        why, remedy = self.misfit(conditions.engine)
        if why:
            raise InputError(f"{self.standard} {why}", where=conditions.where, remedy=remedy)
        for need in self.needs(conditions.engine):
            if not conditions.knows(need):
                raise InputError(
                    f"{need}, and {self.standard} needs it", where=conditions.where, remedy=_REMEDIES[need]
                )
        return self.compute(conditions)


def spark_misfit(engine: Engine) -> tuple[str, str | Remedy]:
    """Why a standard for naturally aspirated spark-ignition engines cannot be used, and the remedy.

    Examples
    --------
    >>> from pullbook.records.build import Engine
    >>> spark_misfit(Engine(ignition=Ignition.COMPRESSION))[0]
    'is for spark-ignition engines, and this one is a diesel'
    """
    if engine.ignition is Ignition.COMPRESSION:
        return "is for spark-ignition engines, and this one is a diesel", Way.STANDARD.said(
            'use standard = "ISO 1585 diesel"', "ISO 1585 diesel"
        )
    if engine.induction is Induction.NATURAL:
        return "", ""
    why = f"is for naturally aspirated engines, and this one is {engine.induction}"
    if engine.boost_controlled:
        says = 'use standard = "ISO 1585", whose factor is 1 where a controller holds the boost'
        return why, Way.STANDARD.said(says, "ISO 1585")
    return why, (
        'if a controller holds the boost, write boost_controlled = true under [engine] and use standard = "ISO 1585"; '
        'if not, use standard = "none" and compare only pulls made in the same air'
    )


def mean_step(name: str, values: FloatArray, unit: str, source: str) -> CorrectionStep:
    """Step with the mean over the pull.

    Parameters
    ----------
    name : str
        Name of the step.
    values : (n,) array of float
        Value at each sample. [as `unit`]
    unit : str
        Unit.
    source : str
        Where it comes from.
    """
    return CorrectionStep(name=name, value=float(np.mean(values)), unit=unit, source=source)


def gate(says: str, values: FloatArray, limits: tuple[float, float], unit: str = "") -> tuple[str, ...]:
    """Flag when any value lies outside the limits, empty when none does.

    Parameters
    ----------
    says : str
        Beginning of the sentence, as in "SAE J1349: the factor".
    values : (n,) array of float
        Values, in the unit of the limits. [as `unit`]
    limits : tuple of (float, float)
        Lowest and highest allowed value. [as `unit`]
    unit : str
        Unit, for the sentence.

    Examples
    --------
    >>> gate("The factor", np.array([1.101]), (0.93, 1.07))
    ('The factor reaches 1.101, outside 0.93 to 1.07; quote the result only together with the air.',)
    """
    low, high = limits
    lowest, highest = float(np.min(values)), float(np.max(values))
    if low <= lowest and highest <= high:
        return ()
    worst = lowest if low - lowest > highest - high else highest
    of = f" {unit}" if unit else ""
    beyond = f"{says} reaches {worst:.4g}{of}, outside {low:g} to {high:g}{of}"
    return (f"{beyond}; quote the result only together with the air.",)
