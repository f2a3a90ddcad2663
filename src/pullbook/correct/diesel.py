"""Correction standards for diesels: ISO 1585 / UN R85 with the engine factor fm, and ISO 3046-1."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from pullbook.correct.humid_air import saturation_pressure
from pullbook.correct.rule import Need, Reference, StandardFactor, StandardRule, gate, mean_step
from pullbook.errors import OutOfRangeError, Remedy, Way
from pullbook.records.build import Ignition, Induction
from pullbook.records.corrected import CorrectionStep
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from pullbook.correct.rule import Conditions
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.build import Engine

__all__ = ["DIESEL", "engine_factor", "fuel_per_cycle"]

_GATE: Final = (0.9, 1.1)
_FM_LOW: Final = (37.2, 0.3)  # mg/(L cycle), engine factor below it
_FM_HIGH: Final = (65.0, 1.2)
_FM_UNSURE: Final = 40.0
_UNSURE: Final = "ISO 1585 diesel: below 40 mg of fuel per litre and cycle the texts differ on fm, by up to 0.1."
_ZERO_C: Final = 273.15
_SOURCE: Final = "ISO 1585 / UN R85, compression ignition (exponents from memory)"
# Exponents of dry pressure and of temperature in the atmospheric factor fa.
_FA: Final = {
    Induction.NATURAL: (1.0, 0.7),
    Induction.SUPERCHARGED: (1.0, 0.7),
    Induction.TURBOCHARGED: (0.7, 1.5),
    Induction.TURBOCHARGED_AIR_COOLED: (0.7, 1.5),
    Induction.TURBOCHARGED_WATER_COOLED: (0.7, 0.7),
}
_GAUGE: Final = 0.8  # a charged engine at full load cannot have less than this share of the outside pressure


def fuel_per_cycle(fuel_flow: FloatArray, speed_rpm: FloatArray, displacement: float, strokes: int) -> FloatArray:
    """Fuel mass per cycle and litre swept, ``q = Z fuel / (Vd n)`` with Z = 120 000 (four-stroke) or 60 000.

    Parameters
    ----------
    fuel_flow : (n,) array of float
        Fuel flow. [kg/s]
    speed_rpm : (n,) array of float
        Engine speed. [rpm]
    displacement : float
        Swept volume. [m3]
    strokes : int
        4 or 2.

    Returns
    -------
    (n,) array of float
        Fuel per cycle and litre. [mg/L]

    Examples
    --------
    >>> float(fuel_per_cycle(np.array([5e-3]), np.array([4000.0]), 0.002, 4)[0])
    75.0
    """
    z = 60_000.0 if strokes == 2 else 120_000.0
    return np.asarray(z * fuel_flow / (displacement * speed_rpm))


def engine_factor(fuel: FloatArray, boost_ratio: FloatArray) -> FloatArray:
    """Exponent fm of a diesel: 0.036 qc - 1.14 between qc of 37.2 and 65, else 0.3 or 1.2.

    Parameters
    ----------
    fuel : (n,) array of float
        Fuel per cycle and litre q. [mg/L]
    boost_ratio : (n,) array of float
        Boost pressure over the pressure of the inlet air; 1 when naturally aspirated. [1]

    Returns
    -------
    (n,) array of float
        fm, with qc = q / r. [1]

    Notes
    -----
    The line gives 0.2 at the lower limit, where the constant is 0.3: a jump that looks like two editions mixed (0.2
    below 37.2, or 0.3 below 40), and that is kept as it was read. Full load of a diesel lies above 40.

    References
    ----------
    .. [1] ISO 1585, 1992, and UN Regulation 85 with Supplement 8, 2018, where fm is printed as an exponent (as
       summarised; limits also in an engine maker's service text).

    Examples
    --------
    >>> [float(value) for value in engine_factor(np.array([30.0, 50.0, 80.0]), np.ones(3))]
    [0.3, 0.66, 1.2]
    """
    corrected = fuel / boost_ratio
    line = 0.036 * corrected - 1.14
    return np.asarray(
        np.where(corrected < _FM_LOW[0], _FM_LOW[1], np.where(corrected > _FM_HIGH[0], _FM_HIGH[1], line))
    )


def _iso_1585_diesel(conditions: Conditions) -> StandardFactor:
    """alpha_d = fa ** fm."""
    engine = conditions.engine
    on_pressure, on_temperature = _FA[engine.induction]
    pressures = Reference.DRY_PRESSURE / conditions.dry_pressure
    temperatures = conditions.temperature / Reference.TEMPERATURE
    fa = np.asarray(pressures**on_pressure * temperatures**on_temperature)
    boost = _boost_ratio(conditions)
    fuel = fuel_per_cycle(conditions.fuel_flow, conditions.speed_rpm, engine.displacement or np.nan, engine.strokes)
    fm = engine_factor(fuel, boost)
    alpha = np.asarray(fa**fm)
    form = f"(99 kPa / dry-air pressure)^{on_pressure:g} (T / 298.15 K)^{on_temperature:g}, {engine.induction}"
    celsius = np.asarray(conditions.temperature - _ZERO_C)
    dry_kpa = np.asarray(conditions.dry_pressure / 1000.0)
    return StandardFactor(
        gain=alpha, offset=np.zeros(alpha.shape),
        steps=(
            mean_step("atmospheric factor fa", fa, "1", f"{form}; {_SOURCE}"),
            mean_step("fuel per cycle and litre q", fuel, "mg/L", "Z fuel / (Vd n)"),
            mean_step("boost ratio r", boost, "1", "manifold pressure over air pressure; 1 when naturally aspirated"),
            mean_step("engine factor fm", fm, "1", "0.036 q/r - 1.14, held at 0.3 below 37.2 and at 1.2 above 65 mg/L"),
            mean_step("correction factor", alpha, "1", f"fa to the power fm; {_SOURCE}"),
            CorrectionStep(name="factor valid from", value=_GATE[0], unit="1", source=_SOURCE),
            CorrectionStep(name="factor valid to", value=_GATE[1], unit="1", source=_SOURCE),
        ),
        flags=(
            *gate("ISO 1585 diesel: the factor", alpha, _GATE),
            *gate("ISO 1585 diesel: the air temperature", celsius, (9.85, 39.85), "degC"),
            *gate("ISO 1585 diesel: the dry-air pressure", dry_kpa, (80.0, 110.0), "kPa"),
            *((_UNSURE,) if np.any(fuel / boost < _FM_UNSURE) else ()),
        ),
    )  # fmt: skip


def _boost_ratio(conditions: Conditions) -> FloatArray:
    if conditions.engine.induction is Induction.NATURAL:
        return np.ones(conditions.speed_rpm.shape)
    ratio = np.asarray(conditions.manifold_pressure / conditions.pressure)
    if float(np.median(ratio)) < _GAUGE:
        raise OutOfRangeError(
            "the manifold pressure of a charged engine is below the outside pressure", where=conditions.where,
            value=f"{float(np.median(conditions.manifold_pressure)) / 1000:.4g} kPa",
            remedy="record absolute pressure, not pressure above the atmosphere",
        )  # fmt: skip
    return ratio


def _diesel_misfit(engine: Engine) -> tuple[str, str | Remedy]:
    if engine.ignition is Ignition.COMPRESSION:
        return "", ""
    return "is for diesels, and this engine has spark ignition", Way.STANDARD.said(
        'use standard = "ISO 1585" or "SAE J1349"', "ISO 1585 or SAE J1349"
    )


def _diesel_needs(engine: Engine) -> tuple[Need, ...]:
    always = (Need.TEMPERATURE, Need.PRESSURE, Need.HUMIDITY, Need.FUEL_FLOW, Need.DISPLACEMENT)
    return always if engine.induction is Induction.NATURAL else (*always, Need.BOOST)


class _Adjustment(NamedTuple):
    """Exponents of ISO 3046-1: of pressure, of temperature, of the charge coolant; weight of the vapour; class."""

    m: float
    n: float
    s: float
    a: float
    name: str


# From memory, the least certain table of all standards here.
_ISO_3046: Final = {
    (Ignition.COMPRESSION, Induction.NATURAL): _Adjustment(1.0, 0.75, 0.0, 1.0, "A, limited by excess air"),
    (Ignition.COMPRESSION, Induction.TURBOCHARGED): _Adjustment(0.7, 2.0, 0.0, 0.0, "C, turbocharged without cooler"),
    (Ignition.COMPRESSION, Induction.TURBOCHARGED_AIR_COOLED): _Adjustment(0.7, 1.2, 1.0, 0.0, "D, with charge cooler"),
    (Ignition.SPARK, Induction.NATURAL): _Adjustment(1.0, 0.5, 0.0, 1.0, "spark ignition, liquid fuel"),
}
_SITE_PRESSURE: Final = 100_000.0
_SITE_HUMIDITY: Final = 0.30
_ISO_3046_EFFICIENCY: Final = 0.80
_ISO_3046_SOURCE: Final = "ISO 3046-1 (formula and exponents from memory)"


def _iso_3046(conditions: Conditions) -> StandardFactor:
    """Observed power over alpha = k - 0.7 (1 - k) (1 / eta_m - 1)."""
    engine = conditions.engine
    row = _ISO_3046[engine.ignition, engine.induction]
    reference_vapour = _SITE_HUMIDITY * float(saturation_pressure(Reference.TEMPERATURE))
    pressures = (conditions.pressure - row.a * conditions.vapour) / (_SITE_PRESSURE - row.a * reference_vapour)
    temperatures = Reference.TEMPERATURE / conditions.temperature
    k = np.asarray(pressures**row.m * temperatures ** (row.n + row.s))
    efficiency = engine.mechanical_efficiency or _ISO_3046_EFFICIENCY
    alpha = np.asarray(k - 0.7 * (1.0 - k) * (1.0 / efficiency - 1.0))
    gain = np.asarray(1.0 / alpha)
    whose = "as declared" if engine.mechanical_efficiency else "ISO 3046-1 where none is declared (from memory)"
    of_class = f"class {row.name}, from memory"
    cooler = ("ISO 3046-1: the cooler is taken to be cooled by the inlet air, whose temperature was used for it.",)
    return StandardFactor(
        gain=gain, offset=np.zeros(gain.shape),
        steps=(
            CorrectionStep(name="exponent of pressure", value=row.m, unit="1", source=of_class),
            CorrectionStep(name="exponent of temperature", value=row.n, unit="1", source=of_class),
            mean_step("indicated power ratio k", k, "1", _ISO_3046_SOURCE),
            CorrectionStep(name="mechanical efficiency", value=efficiency, unit="1", source=whose),
            mean_step("power adjustment alpha", alpha, "1", "k - 0.7 (1 - k) (1 / efficiency - 1), from memory"),
            mean_step("correction factor", gain, "1", "1 / alpha, because alpha leads from reference to site"),
        ),
        flags=(
            "ISO 3046-1: the exponents are from memory; check them in the printed standard before quoting the result.",
            *(cooler if row.s else ()),
        ),
    )  # fmt: skip


def _iso_3046_misfit(engine: Engine) -> tuple[str, str | Remedy]:
    if (engine.ignition, engine.induction) in _ISO_3046:
        return "", ""
    if engine.ignition is Ignition.COMPRESSION:
        why = f"needs a charge-coolant temperature or a class that pullbook does not have for one {engine.induction}"
        return why, Way.STANDARD.said('use standard = "ISO 1585 diesel"', "ISO 1585 diesel")
    return "has no class for a charged spark-ignition engine", 'use standard = "ISO 1585" with boost_controlled = true'


DIESEL: Final[tuple[StandardRule, ...]] = (
    StandardRule(
        standard=Standard.ISO_1585_DIESEL, title="net power of road vehicles with diesels (also UN R85)",
        source=_SOURCE, misfit=_diesel_misfit, needs=_diesel_needs, compute=_iso_1585_diesel,
    ),
    StandardRule(
        standard=Standard.ISO_3046, title="reciprocating engines of gensets and ships, 25 degC and 100 kPa",
        source=_ISO_3046_SOURCE, misfit=_iso_3046_misfit,
        needs=lambda _: (Need.TEMPERATURE, Need.PRESSURE, Need.HUMIDITY), compute=_iso_3046,
    ),
)  # fmt: skip
