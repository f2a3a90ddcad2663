"""Every correction standard against published and worked values; each row says where its value comes from."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from builders_air import conditions

from pullbook.correct.rule import Conditions, Need, StandardFactor
from pullbook.correct.standards import STANDARDS, rule_of
from pullbook.errors import InputError
from pullbook.records.build import Engine, Ignition, Induction
from pullbook.records.declaration import Standard

S = Standard
DIESEL = Engine(ignition=Ignition.COMPRESSION, displacement=0.002)
# 5 g/s at 4000 rpm in 2 litres: q = 120 000 x 5e-3 / (0.002 x 4000) = 75 mg per litre and cycle (by hand).
FUEL: dict[str, Any] = {"fuel_flow": np.array([5e-3])}


def factor(standard: Standard, given: Conditions) -> float:
    return float(rule_of(standard).factor(given).gain[0])


def engine_for(standard: Standard) -> Engine:
    return DIESEL if standard is S.ISO_1585_DIESEL else Engine()


def given_for(standard: Standard, *air: float, **changes: Any) -> Conditions:
    return conditions(*air, engine=engine_for(standard), **{**FUEL, **changes})


# Worked examples, computed from the formulas with the saturation pressure of the iapws package; the formulas:
# SAE J1349 (June 1990 text as quoted), ISO 1585 / UN R85 (from memory), SAE J607 (as quoted), DIN 70020 (from memory).
WORKED = pytest.mark.parametrize(
    ("air", "j1349", "iso1585", "j607", "din"),
    [
        pytest.param((25.0, 99.0, 0.0), 1.00000, 1.00000, 1.04009, 1.03218, id="A reference"),
        pytest.param((20.0, 100.0, 0.50), 0.99207, 0.99194, 1.03310, 1.01325, id="B mild"),
        pytest.param((30.0, 98.0, 0.60), 1.05409, 1.05525, 1.08776, 1.05142, id="C warm"),
        pytest.param((35.0, 95.0, 0.40), 1.10049, 1.10304, 1.12866, 1.09353, id="D hot"),
        pytest.param((10.0, 102.0, 0.40), 0.94150, 0.94082, 0.98854, 0.97629, id="E cold"),
        pytest.param((15.0, 101.325, 0.0), 0.95341, 0.95282, 0.99904, 0.99144, id="F ISA sea level"),
        pytest.param((15.556, 101.325, 0.0), 0.95451, 0.95393, 1.00000, 0.99239, id="G 60 degF"),
        pytest.param((29.444, 97.6973, 0.85), 1.06933, 1.07090, 1.10119, 1.05371, id="H 85 degF"),
        pytest.param((12.778, 101.9303, 0.35), 0.94805, 0.94741, 0.99431, 0.98174, id="I 55 degF"),
        pytest.param((25.0, 83.4, 0.20), 1.23145, 1.23977, 1.24410, 1.22525, id="J altitude"),
    ],
)


@WORKED
def test_spark_ignition_standards_meet_the_worked_examples(
    air: tuple[float, float, float], j1349: float, iso1585: float, j607: float, din: float
) -> None:
    given = conditions(*air)
    assert factor(S.SAE_J1349, given) == pytest.approx(j1349, abs=2e-5)
    assert factor(S.ISO_1585, given) == pytest.approx(iso1585, abs=2e-5)
    assert factor(S.JIS_D1001, given) == pytest.approx(iso1585, abs=2e-5)  # JIS D 1001 shares the form of ISO 1585
    assert factor(S.SAE_J607, given) == pytest.approx(j607, abs=2e-5)
    assert factor(S.DIN_70020, given) == pytest.approx(din, abs=2e-5)


# Factor by dry pressure in kPa (rows) and temperature in degC, computed from the same formulas; whether 25 degC is
# written 298 K or 298.15 K moves the last digit.
TABLES: list[tuple[Standard, tuple[int, ...], dict[int, tuple[float, ...]]]] = [
    (S.SAE_J1349, (0, 10, 15, 20, 25, 30, 35, 40), {
        90: (1.0624, 1.0849, 1.0960, 1.1071, 1.1180, 1.1288, 1.1396, 1.1503),
        94: (1.0095, 1.0311, 1.0417, 1.0523, 1.0628, 1.0731, 1.0834, 1.0937),
        96: (0.9847, 1.0059, 1.0163, 1.0266, 1.0369, 1.0470, 1.0571, 1.0671),
        98: (0.9609, 0.9817, 0.9919, 1.0020, 1.0120, 1.0220, 1.0319, 1.0417),
        99: (0.9494, 0.9699, 0.9800, 0.9901, 1.0000, 1.0099, 1.0196, 1.0293),
        100: (0.9381, 0.9584, 0.9684, 0.9784, 0.9882, 0.9980, 1.0076, 1.0172),
        102: (0.9162, 0.9361, 0.9459, 0.9556, 0.9653, 0.9749, 0.9844, 0.9938),
    }),
    (S.ISO_1585, (0, 10, 15, 20, 25, 30, 35, 40), {
        94: (1.0097, 1.0317, 1.0426, 1.0534, 1.0642, 1.0748, 1.0854, 1.0960),
        98: (0.9604, 0.9814, 0.9917, 1.0020, 1.0123, 1.0224, 1.0325, 1.0425),
        100: (0.9374, 0.9579, 0.9680, 0.9780, 0.9880, 0.9979, 1.0078, 1.0175),
        102: (0.9154, 0.9354, 0.9453, 0.9551, 0.9648, 0.9745, 0.9841, 0.9936),
    }),
    (S.SAE_J607, (10, 15, 20, 25, 30, 35), {
        94: (1.0675, 1.0769, 1.0862, 1.0954, 1.1046, 1.1136),
        98: (1.0239, 1.0329, 1.0419, 1.0507, 1.0595, 1.0682),
        100: (1.0035, 1.0123, 1.0210, 1.0297, 1.0383, 1.0468),
        102: (0.9838, 0.9924, 1.0010, 1.0095, 1.0179, 1.0263),
    }),
]  # fmt: skip
CELLS = [
    pytest.param(standard, celsius, dry, value, id=f"{standard} {dry} kPa {celsius} degC")
    for standard, columns, rows in TABLES
    for dry, values in rows.items()
    for celsius, value in zip(columns, values, strict=True)
]


@pytest.mark.parametrize(("standard", "celsius", "dry", "value"), CELLS)
def test_factor_meets_the_tables_by_dry_pressure_and_temperature(
    standard: Standard, celsius: float, dry: float, value: float
) -> None:
    assert factor(standard, conditions(celsius, dry)) == pytest.approx(value, abs=1e-4)


def test_inches_of_mercury_and_fahrenheit_give_the_same_factor_and_catch_both_misprints_seen_in_print() -> None:
    # CF = 1.18 (29.235 / inHg) sqrt((F + 459.67) / 536.67) - 0.18 for 85 degF and 27.8176 inHg dry: 1.06933. With the
    # misprint 505 for 537 it would be 1.10808, with 29.38 for 29.235 it would be 1.07552.
    dry = 27.8176 * 3.386389
    value = factor(S.SAE_J1349, conditions((85.0 - 32.0) / 1.8, dry))
    assert value == pytest.approx(1.06933, abs=2e-5)
    assert abs(value - 1.10808) > 0.03
    assert abs(value - 1.07552) > 0.005


def test_j607_reads_four_per_cent_more_than_j1349_at_its_own_reference() -> None:
    # 101.325 / 99 x sqrt(298.15 / 288.706) = 1.04009, by hand; a trade page states "approximately 4 %".
    assert factor(S.SAE_J607, conditions(25.0, 99.0)) == pytest.approx(1.04009, abs=1e-5)


@pytest.mark.parametrize(
    ("changed", "per_cent"),
    # Derivatives of 1.180 CA - 0.18 at 25 degC and 99 kPa dry: 1.180 / 99 per kPa, 1.180 / (2 x 298.15) per K,
    # and 10 per cent of the saturation pressure at 25 degC (0.317 kPa) by the first.
    [((25.0, 98.999, 0.0), 1.192e-3), ((25.001, 99.0, 0.0), 0.198e-3), ((25.0, 99.0, 0.0001), 0.378e-3)],
    ids=["1 kPa", "1 K", "10 per cent humidity"],
)
def test_sensitivities_of_j1349_at_the_reference(changed: tuple[float, float, float], per_cent: float) -> None:
    step = factor(S.SAE_J1349, conditions(*changed)) - 1.0
    assert 100 * step == pytest.approx(per_cent, rel=1e-2)


def friction_of(watt: float) -> Engine:
    return Engine(friction=((4000.0, watt), (5000.0, watt * 1.25)))


def test_measured_friction_gives_the_general_form_of_j1349() -> None:
    # Worked example: 300 kW brake and 45 kW friction in air C: 345 x 1.045831 - 45 = 315.8117 kW.
    omega = 4000.0 * np.pi / 30
    result = rule_of(S.SAE_J1349).factor(conditions(30.0, 98.0, 0.60, engine=friction_of(45_000.0)))
    corrected = float(result.gain[0] * 300_000.0 / omega + result.offset[0]) * omega
    assert corrected == pytest.approx(315_812.0, abs=5.0)
    assert float(result.gain[0]) == pytest.approx(1.045831, abs=2e-6)


@pytest.mark.parametrize(
    ("air", "exact"),
    # Worked examples with em = 0.85 exactly instead of the rounded 1.180 and 0.18: (CA - 0.15) / 0.85.
    [
        ((20.0, 100.0, 0.50), 0.99210), ((30.0, 98.0, 0.60), 1.05392), ((35.0, 95.0, 0.40), 1.10018),
        ((10.0, 102.0, 0.40), 0.94169), ((29.444, 97.6973, 0.85), 1.06911), ((25.0, 83.4, 0.20), 1.23076),
    ],
)  # fmt: skip
def test_friction_of_15_per_cent_of_indicated_power_gives_the_exact_form_with_85_per_cent_efficiency(
    air: tuple[float, float, float], exact: float
) -> None:
    brake = 100_000.0
    result = rule_of(S.SAE_J1349).factor(conditions(*air, engine=friction_of(brake * 0.15 / 0.85)))
    torque = brake / (4000.0 * np.pi / 30)
    assert float(result.gain[0] * torque + result.offset[0]) / torque == pytest.approx(exact, abs=1e-5)


@pytest.mark.parametrize(
    ("q", "boost", "natural", "turbocharged"),
    # Worked examples at 97 kPa dry and 30 degC (ISO 1585 / UN R85; exponents from memory, fm as an exponent after
    # Supplement 8): fa 1.03258 and 1.04003; fm 0.66, 0.3, 1.2; with r = 1.8, q = 110: qc 61.111, fm 1.06.
    [
        (50.0, 1.0, 1.02138, 1.02624), (30.0, 1.0, 1.00966, 1.01184), (80.0, 1.0, 1.03922, 1.04822),
        (110.0, 1.8, 1.03456, 1.04248),
    ],
)  # fmt: skip
def test_diesel_factor_meets_the_worked_examples(q: float, boost: float, natural: float, turbocharged: float) -> None:
    fuel = np.array([q * 0.002 * 4000.0 / 120_000.0])
    changes: dict[str, Any] = {"fuel_flow": fuel, "manifold_pressure": np.array([97_000.0 * boost])}
    blown = replace(DIESEL, induction=Induction.SUPERCHARGED if boost > 1 else Induction.NATURAL)
    turbo = replace(DIESEL, induction=Induction.TURBOCHARGED)
    assert factor(S.ISO_1585_DIESEL, conditions(30.0, 97.0, engine=blown, **changes)) == pytest.approx(
        natural, abs=3e-5
    )
    assert factor(S.ISO_1585_DIESEL, conditions(30.0, 97.0, engine=turbo, **changes)) == pytest.approx(
        turbocharged, abs=3e-5
    )


def test_diesel_with_water_cooled_charge_has_its_own_atmospheric_factor() -> None:
    # UN R85 (from memory), 97 kPa dry and 30 degC: fa = (99/97)^0.7 (303.15/298.15)^0.7 = 1.026273.
    engine = replace(DIESEL, induction=Induction.TURBOCHARGED_WATER_COOLED)
    given = conditions(30.0, 97.0, engine=engine, fuel_flow=np.array([8e-3]), manifold_pressure=np.array([97_000.0]))
    steps = {step.name: step.value for step in rule_of(S.ISO_1585_DIESEL).factor(given).steps}
    assert steps["atmospheric factor fa"] == pytest.approx(1.026273, abs=1e-5)
    # q = 120 000 x 8e-3 / (0.002 x 4000) = 120 lies above 65, so that fm is 1.2.
    assert steps["engine factor fm"] == 1.2


def test_two_stroke_diesel_counts_fuel_per_revolution() -> None:
    # Z is 60 000 for two-strokes: 5 g/s, 2 L, 4000 rpm give q = 60 000 x 5e-3 / 8 = 37.5 and fm = 0.036 x 37.5 - 1.14.
    given = conditions(30.0, 97.0, engine=replace(DIESEL, strokes=2), **FUEL)
    steps = {step.name: step.value for step in rule_of(S.ISO_1585_DIESEL).factor(given).steps}
    assert steps["fuel per cycle and litre q"] == pytest.approx(37.5)
    assert steps["engine factor fm"] == pytest.approx(0.21)


@pytest.mark.parametrize(
    ("engine", "k", "alpha"),
    # ISO 3046-1 (from memory), site D 95 kPa 35 degC 40 %: SI row k 0.92107, alpha 0.90726; diesel class A k .913506,
    # alpha .898369.
    [(Engine(), 0.92107, 0.90726), (DIESEL, 0.913506, 0.898369)],
    ids=["spark ignition", "diesel, class A"],
)
def test_iso_3046_meets_the_worked_examples(engine: Engine, k: float, alpha: float) -> None:
    result = rule_of(S.ISO_3046).factor(conditions(35.0, 95.0, 0.40, engine=engine))
    steps = {step.name: step.value for step in result.steps}
    assert steps["indicated power ratio k"] == pytest.approx(k, abs=1e-5)
    assert steps["power adjustment alpha"] == pytest.approx(alpha, abs=1e-5)
    assert float(result.gain[0]) == pytest.approx(1.0 / alpha, rel=2e-5)


@pytest.mark.parametrize(
    ("induction", "k"),
    # ISO 3046-1 (from memory): class C (px/pr)^0.7 (Tr/Tx)^2, class D (px/pr)^0.7 (Tr/Tx)^1.2 (Tcr/Tcx)^1 with the
    # coolant at inlet temperature, both without vapour; 95 kPa, 35 degC: .95^.7 = .964730, 298.15/308.15 = .967548.
    [(Induction.TURBOCHARGED, 0.964730 * 0.967548**2), (Induction.TURBOCHARGED_AIR_COOLED, 0.964730 * 0.967548**2.2)],
)
def test_iso_3046_classes_of_turbocharged_diesels(induction: Induction, k: float) -> None:
    engine = replace(DIESEL, induction=induction)
    result = rule_of(S.ISO_3046).factor(conditions(35.0, 95.0, 0.40, engine=engine))
    assert {step.name: step.value for step in result.steps}["indicated power ratio k"] == pytest.approx(k, rel=2e-5)


def test_iso_3046_uses_the_declared_mechanical_efficiency() -> None:
    # alpha = 0.92107 - 0.7 x 0.07893 x (1/0.9 - 1) = 0.914930, by hand from the worked k.
    engine = Engine(mechanical_efficiency=0.90)
    result = rule_of(S.ISO_3046).factor(conditions(35.0, 95.0, 0.40, engine=engine))
    assert float(result.gain[0]) == pytest.approx(1 / 0.914930, rel=2e-5)


# One test for all standards: the same signature, the same promises.
EVERY = pytest.mark.parametrize("rule", STANDARDS, ids=lambda rule: str(rule.standard))


@EVERY
def test_every_standard_gives_arrays_steps_and_a_source(rule: Any) -> None:
    result = rule.factor(given_for(rule.standard, 22.0, 98.5, 0.4))
    assert isinstance(result, StandardFactor)
    assert result.gain.shape == result.offset.shape == (1,)
    assert result.steps
    assert rule.title
    assert rule.source
    assert all(step.source and step.unit and np.isfinite(step.value) for step in result.steps)
    names = [step.name for step in result.steps]
    assert "correction factor" in names
    assert len(names) == len(set(names))


@EVERY
def test_every_standard_but_none_rises_as_dry_pressure_falls(rule: Any) -> None:
    factors = [factor(rule.standard, given_for(rule.standard, 25.0, 99.0 - fall)) for fall in (0.0, 2.0, 4.0)]
    rising = np.diff(factors)
    assert np.all(rising == 0.0) if rule.standard is S.NONE else np.all(rising > 0.01)


@EVERY
def test_every_standard_names_what_it_needs_and_refuses_without_it(rule: Any) -> None:
    unknown = {
        Need.TEMPERATURE: "temperature", Need.PRESSURE: "pressure", Need.HUMIDITY: "vapour",
        Need.FUEL_FLOW: "fuel_flow",
    }  # fmt: skip
    for need in rule.needs(engine_for(rule.standard)):
        if need not in unknown:
            continue
        given = given_for(rule.standard, 25.0, 99.0, 0.4, **{unknown[need]: np.array([np.nan])})
        with pytest.raises(InputError) as refused:
            rule.factor(given)
        message = str(refused.value)
        assert need.value in message
        assert "write" in message or "map" in message
        assert "a1.csv" in message


def test_needs_are_as_the_standards_say() -> None:
    wet = (Need.TEMPERATURE, Need.PRESSURE, Need.HUMIDITY)
    needs = {rule.standard: rule.needs(engine_for(rule.standard)) for rule in STANDARDS}
    assert needs == {
        S.NONE: (), S.SAE_J1349: wet, S.SAE_J607: wet, S.ISO_1585: wet, S.JIS_D1001: wet, S.ISO_3046: wet,
        S.DIN_70020: (Need.TEMPERATURE, Need.PRESSURE),
        S.ISO_1585_DIESEL: (*wet, Need.FUEL_FLOW, Need.DISPLACEMENT),
    }  # fmt: skip


def test_every_standard_of_the_session_file_is_in_the_list_once() -> None:
    assert sorted(rule.standard for rule in STANDARDS) == sorted(Standard)
