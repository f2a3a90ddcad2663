"""Correction standards for spark-ignition engines: SAE J1349, SAE J607, ISO 1585 / UN R85, JIS D 1001, DIN 70020."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.correct.friction import friction_torque
from pullbook.correct.rule import (
    Need,
    Reference,
    StandardFactor,
    StandardRule,
    gate,
    mean_step,
    spark_misfit,
)
from pullbook.records.build import Induction
from pullbook.records.corrected import CorrectionStep
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from pullbook.correct.rule import Conditions
    from pullbook.errors import Remedy
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.build import Engine

__all__ = ["J1349_CONSTANT", "J1349_GAIN", "SPARK_IGNITION"]

J1349_GAIN: Final = 1.180  # published rounding of 1 / 0.85, the assumed mechanical efficiency being 85 per cent
J1349_CONSTANT: Final = 0.180  # published rounding of 0.15 / 0.85

_GATE: Final = (0.93, 1.07)
_J607_TEMPERATURE: Final = (60.0 + 459.67) / 1.8  # 60 degF
_ATMOSPHERE: Final = 101_325.0  # 29.92 inHg
_DIN_TEMPERATURE: Final = 293.15  # 20 degC
_ZERO_C: Final = 273.15
_WET: Final = (Need.TEMPERATURE, Need.PRESSURE, Need.HUMIDITY)


def _reference_ratios(conditions: Conditions) -> tuple[FloatArray, FloatArray]:
    """Reference over actual dry pressure, and actual over reference temperature."""
    pressures = np.asarray(Reference.DRY_PRESSURE / conditions.dry_pressure)
    return pressures, np.asarray(conditions.temperature / Reference.TEMPERATURE)


def _air_gates(
    name: str, conditions: Conditions, kelvin: tuple[float, float], dry: tuple[float, float]
) -> tuple[str, ...]:
    celsius = np.asarray(conditions.temperature - _ZERO_C)
    limits = (round(kelvin[0] - _ZERO_C, 2), round(kelvin[1] - _ZERO_C, 2))
    return (
        *gate(f"{name}: the air temperature", celsius, limits, "degC"),
        *gate(f"{name}: the dry-air pressure", np.asarray(conditions.dry_pressure / 1000.0), dry, "kPa"),
    )


def _limits(low: float, high: float, source: str) -> tuple[CorrectionStep, CorrectionStep]:
    return (
        CorrectionStep(name="factor valid from", value=low, unit="1", source=source),
        CorrectionStep(name="factor valid to", value=high, unit="1", source=source),
    )


def _sae_j1349(conditions: Conditions) -> StandardFactor:
    """CF = 1.180 CA - 0.18, or with measured friction CA (T + Tf) - Tf."""
    pressures, temperatures = _reference_ratios(conditions)
    ca = np.asarray(pressures * np.sqrt(temperatures))
    ca_step = mean_step("CA", ca, "1", "(99 kPa / dry-air pressure) sqrt(T / 298.15 K), SAE J1349")
    friction = friction_torque(conditions.engine, conditions.speed_rpm) if conditions.use_friction else None
    if friction is None:
        gain = np.asarray(J1349_GAIN * ca - J1349_CONSTANT)
        offset = np.zeros(ca.shape)
        steps: tuple[CorrectionStep, ...] = (
            CorrectionStep(
                name="assumed mechanical efficiency", value=0.85, unit="1",
                source="SAE J1349 where friction was not measured (from memory); 1.180 and 0.18 are its roundings",
            ),
            mean_step("correction factor", gain, "1", "1.180 CA - 0.18, SAE J1349, text of June 1990 (as quoted)"),
        )  # fmt: skip
        flags: tuple[str, ...] = ()
    else:
        gain, offset = ca, np.asarray((ca - 1.0) * friction.torque)
        steps = (
            mean_step("friction torque", friction.torque, "N m", "measured friction power over speed, interpolated"),
            mean_step("factor of indicated torque", ca, "1", "CA (T + Tf) - Tf, SAE J1349 general form (from memory)"),
        )
        flags = friction.flags
    checked = (*flags, *gate("SAE J1349: the factor (range of ISO 1585, borrowed)", gain, _GATE))
    air = _air_gates("SAE J1349", conditions, (288.15, 308.15), (90.0, 105.0))
    return StandardFactor(
        gain=gain, offset=offset, flags=(*checked, *air),
        steps=(ca_step, *steps, *_limits(*_GATE, "range of ISO 1585 (from memory), customary for SAE J1349 too")),
    )  # fmt: skip


def _sae_j607(conditions: Conditions) -> StandardFactor:
    """CF = (101.325 kPa / pd) sqrt(T / 288.71 K), no friction term."""
    gain = np.asarray(_ATMOSPHERE / conditions.dry_pressure * np.sqrt(conditions.temperature / _J607_TEMPERATURE))
    source = "(101.325 kPa / dry-air pressure) sqrt(T / 288.71 K), SAE J607 (as quoted)"
    return StandardFactor(
        gain=gain, offset=np.zeros(gain.shape), steps=(mean_step("correction factor", gain, "1", source),),
        flags=(
            "SAE J607 was withdrawn and reads about 4 % more than SAE J1349; never compare the two.",
            *_air_gates("SAE J607 (range of SAE J1349, borrowed)", conditions, (288.15, 308.15), (90.0, 105.0)),
        ),
    )  # fmt: skip


def _alpha_a(conditions: Conditions, name: str, source: str) -> StandardFactor:
    """alpha_a = (99 kPa / pd)^1.2 (T / 298 K)^0.6."""
    pressures, temperatures = _reference_ratios(conditions)
    gain = np.asarray(pressures**1.2 * temperatures**0.6)
    return StandardFactor(
        gain=gain, offset=np.zeros(gain.shape),
        steps=(
            mean_step("correction factor", gain, "1", f"(99 kPa / dry-air pressure)^1.2 (T / 298.15 K)^0.6, {source}"),
            *_limits(*_GATE, source),
        ),
        flags=(
            *gate(f"{name}: the factor", gain, _GATE),
            *_air_gates(name, conditions, (288.15, 308.15), (80.0, 110.0)),
        ),
    )  # fmt: skip


def _iso_1585(conditions: Conditions) -> StandardFactor:
    if _holds_boost(conditions.engine):
        one = np.ones(conditions.speed_rpm.shape)
        source = "UN R85, Supplement 7 to the series: a controller holds the boost (as summarised)"
        return StandardFactor(
            gain=one, offset=np.zeros(one.shape), steps=(mean_step("correction factor", one, "1", source),),
            flags=("ISO 1585: the boost is held by a controller, so the factor is 1; the air still matters.",),
        )  # fmt: skip
    return _alpha_a(conditions, "ISO 1585", "ISO 1585 / UN R85 spark ignition (from memory)")


def _jis_d1001(conditions: Conditions) -> StandardFactor:
    return _alpha_a(
        conditions, "JIS D 1001", "JIS D 1001, same form as ISO 1585 (from a handbook's summary, from memory)"
    )


def _din_70020(conditions: Conditions) -> StandardFactor:
    """CF = (101.325 kPa / p) sqrt(T / 293.15 K), with the total pressure."""
    gain = np.asarray(_ATMOSPHERE / conditions.pressure * np.sqrt(conditions.temperature / _DIN_TEMPERATURE))
    source = "(101.325 kPa / air pressure) sqrt(T / 293.15 K), DIN 70020 (from memory)"
    celsius = np.asarray(conditions.temperature - _ZERO_C)
    name = "DIN 70020 (range of SAE J1349, borrowed)"
    return StandardFactor(
        gain=gain, offset=np.zeros(gain.shape), steps=(mean_step("correction factor", gain, "1", source),),
        flags=(
            *gate(f"{name}: the air temperature", celsius, (15.0, 35.0), "degC"),
            *gate(f"{name}: the air pressure", np.asarray(conditions.pressure / 1000.0), (90.0, 105.0), "kPa"),
        ),
    )  # fmt: skip


def _holds_boost(engine: Engine) -> bool:
    return engine.induction is not Induction.NATURAL and engine.boost_controlled


def _iso_1585_misfit(engine: Engine) -> tuple[str, str | Remedy]:
    why, remedy = spark_misfit(engine)
    is_held = why.startswith("is for naturally aspirated") and _holds_boost(engine)
    return ("", "") if is_held else (why, remedy)


SPARK_IGNITION: Final[tuple[StandardRule, ...]] = (
    StandardRule(
        standard=Standard.SAE_J1349, title="net power, 25 degC and 99 kPa dry, with mechanical efficiency",
        source="SAE J1349, June 1990 text as quoted; general form from memory", misfit=spark_misfit,
        needs=lambda _: _WET, compute=_sae_j1349,
    ),
    StandardRule(
        standard=Standard.SAE_J607, title="older practice, 60 degF and 29.92 inHg dry",
        source="SAE J607 as quoted", misfit=spark_misfit, needs=lambda _: _WET, compute=_sae_j607,
    ),
    StandardRule(
        standard=Standard.ISO_1585, title="net power of road vehicles, 25 degC and 99 kPa dry (also UN R85)",
        source="ISO 1585 / UN R85, from memory", misfit=_iso_1585_misfit,
        needs=lambda engine: () if _holds_boost(engine) else _WET, compute=_iso_1585,
    ),
    StandardRule(
        standard=Standard.JIS_D1001, title="power of road-vehicle engines, 25 degC and 99 kPa dry",
        source="JIS D 1001, as summarised by a handbook; from memory", misfit=spark_misfit,
        needs=lambda _: _WET, compute=_jis_d1001,
    ),
    StandardRule(
        standard=Standard.DIN_70020, title="older practice, 20 degC and 101.325 kPa, humidity ignored",
        source="DIN 70020, from memory", misfit=spark_misfit,
        needs=lambda _: (Need.TEMPERATURE, Need.PRESSURE), compute=_din_70020,
    ),
)  # fmt: skip
