"""Which engine a standard is for, and which air it is valid in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders_air import conditions

from pullbook.correct.standards import rule_of
from pullbook.errors import InputError, OutOfRangeError
from pullbook.records.build import Engine, Ignition, Induction
from pullbook.records.declaration import Standard

S = Standard
SPARK = (S.SAE_J1349, S.SAE_J607, S.ISO_1585, S.JIS_D1001, S.DIN_70020)
DIESEL = Engine(ignition=Ignition.COMPRESSION, displacement=0.002)
FUEL = np.array([5e-3])
CHARGED = [induction for induction in Induction if induction is not Induction.NATURAL]


@pytest.mark.parametrize("standard", SPARK)
def test_diesel_is_refused_by_spark_ignition_standards_with_the_one_that_fits(standard: Standard) -> None:
    with pytest.raises(InputError) as refused:
        rule_of(standard).factor(conditions(25.0, 99.0, engine=DIESEL))
    assert str(refused.value) == (
        f'a1.csv: {standard} is for spark-ignition engines, and this one is a diesel; use standard = "ISO 1585 diesel".'
    )


@pytest.mark.parametrize("standard", SPARK)
@pytest.mark.parametrize("induction", CHARGED)
def test_forced_induction_is_refused_by_standards_for_natural_aspiration(
    standard: Standard, induction: Induction
) -> None:
    with pytest.raises(InputError, match="naturally aspirated engines") as refused:
        rule_of(standard).factor(conditions(25.0, 99.0, engine=Engine(induction=induction)))
    assert 'standard = "ISO 1585"' in str(refused.value)
    assert "boost_controlled = true" in str(refused.value)


@pytest.mark.parametrize("standard", [standard for standard in SPARK if standard is not S.ISO_1585])
def test_boost_controlled_engine_is_sent_to_iso_1585(standard: Standard) -> None:
    engine = Engine(induction=Induction.TURBOCHARGED, boost_controlled=True)
    with pytest.raises(InputError) as refused:
        rule_of(standard).factor(conditions(25.0, 99.0, engine=engine))
    assert 'use standard = "ISO 1585", whose factor is 1' in str(refused.value)


@pytest.mark.parametrize("induction", CHARGED)
def test_boost_controlled_spark_ignition_engine_has_factor_1_under_iso_1585_and_needs_no_weather(
    induction: Induction,
) -> None:
    # UN R85, Supplement 7 (as summarised): no double correction where a controller holds the boost.
    engine = Engine(induction=induction, boost_controlled=True)
    unknown = np.array([np.nan])
    result = rule_of(S.ISO_1585).factor(
        conditions(35.0, 90.0, engine=engine, temperature=unknown, pressure=unknown, vapour=unknown)
    )
    assert result.gain.tolist() == [1.0]
    assert "factor is 1" in result.flags[0]


def test_boost_controlled_diesel_is_still_refused_by_iso_1585_for_spark_ignition() -> None:
    engine = replace(DIESEL, induction=Induction.TURBOCHARGED, boost_controlled=True)
    with pytest.raises(InputError, match="is a diesel"):
        rule_of(S.ISO_1585).factor(conditions(25.0, 99.0, engine=engine))


def test_spark_ignition_engine_is_refused_by_the_diesel_standard() -> None:
    with pytest.raises(InputError, match='use standard = "ISO 1585" or "SAE J1349"'):
        rule_of(S.ISO_1585_DIESEL).factor(conditions(25.0, 99.0, fuel_flow=FUEL))


@pytest.mark.parametrize(
    "engine",
    [
        Engine(induction=Induction.TURBOCHARGED),
        replace(DIESEL, induction=Induction.TURBOCHARGED_WATER_COOLED),
        replace(DIESEL, induction=Induction.SUPERCHARGED),
    ],
)
def test_iso_3046_refuses_engines_whose_class_is_not_known(engine: Engine) -> None:
    with pytest.raises(InputError, match="use standard = "):
        rule_of(S.ISO_3046).factor(conditions(25.0, 99.0, engine=engine))


def test_charged_diesel_without_manifold_pressure_is_refused_with_the_column_to_map() -> None:
    engine = replace(DIESEL, induction=Induction.TURBOCHARGED)
    with pytest.raises(InputError, match="map a column to manifold_pressure"):
        rule_of(S.ISO_1585_DIESEL).factor(conditions(25.0, 99.0, engine=engine, fuel_flow=FUEL))


def test_boost_gauge_pressure_taken_for_absolute_is_refused() -> None:
    engine = replace(DIESEL, induction=Induction.TURBOCHARGED)
    given = conditions(25.0, 99.0, engine=engine, fuel_flow=FUEL, manifold_pressure=np.array([60_000.0]))
    with pytest.raises(OutOfRangeError, match="record absolute pressure"):
        rule_of(S.ISO_1585_DIESEL).factor(given)


def test_diesel_without_displacement_is_refused_with_the_line_to_write() -> None:
    with pytest.raises(InputError, match=r"write displacement = \"2\.0 L\" under \[engine\]"):
        rule_of(S.ISO_1585_DIESEL).factor(
            conditions(25.0, 99.0, engine=replace(DIESEL, displacement=None), fuel_flow=FUEL)
        )


def test_missing_humidity_is_not_taken_as_dry_air_and_the_remedy_offers_both_ways_out() -> None:
    with pytest.raises(InputError) as refused:
        rule_of(S.SAE_J1349).factor(conditions(25.0, 99.0, vapour=np.array([np.nan])))
    message = str(refused.value)
    assert '"0 %" if the air is to be taken as dry' in message
    assert '"DIN 70020", which needs none' in message


def test_din_70020_ignores_humidity() -> None:
    # 30 degC and 98 kPa total give 1.05142 whatever the humidity (DIN 70020, from memory).
    dry, wet = (rule_of(S.DIN_70020).factor(conditions(30.0, 98.0, humid)).gain[0] for humid in (0.0, 0.9))
    assert dry == wet == pytest.approx(1.05142, abs=1e-5)


@pytest.mark.parametrize("standard", [S.SAE_J1349, S.ISO_1585, S.JIS_D1001])
def test_factor_outside_0_93_to_1_07_is_flagged_and_still_given(standard: Standard) -> None:
    # Case D of the worked examples: ISO 1585 gives 1.10304, which its text does not allow without saying so.
    result = rule_of(standard).factor(conditions(35.0, 95.0, 0.40))
    assert float(result.gain[0]) > 1.10
    assert any("outside 0.93 to 1.07" in flag for flag in result.flags)
    mild = rule_of(standard).factor(conditions(20.0, 100.0, 0.50))
    assert mild.flags == ()


def test_gates_of_temperature_and_dry_pressure_are_flagged_each() -> None:
    # ISO 1585 (from memory): 288 to 308 K and 80 to 110 kPa dry. SAE J1349: 15 to 35 degC, 90 to 105 kPa (from memory).
    cold = rule_of(S.ISO_1585).factor(conditions(10.0, 96.0))
    assert [flag for flag in cold.flags if "air temperature reaches 10 degC, outside 15 to 35 degC" in flag]
    high = rule_of(S.SAE_J1349).factor(conditions(25.0, 83.4, 0.20))
    assert [flag for flag in high.flags if "dry-air pressure reaches 82.77 kPa, outside 90 to 105 kPa" in flag]


def test_diesel_gates_are_0_9_to_1_1_and_10_to_40_degc() -> None:
    result = rule_of(S.ISO_1585_DIESEL).factor(conditions(45.0, 85.0, engine=DIESEL, fuel_flow=FUEL))
    assert any("outside 0.9 to 1.1" in flag for flag in result.flags)
    assert any("air temperature reaches 45 degC" in flag for flag in result.flags)
    mild = rule_of(S.ISO_1585_DIESEL).factor(conditions(30.0, 97.0, engine=DIESEL, fuel_flow=FUEL))
    assert mild.flags == ()


def test_borrowed_and_withdrawn_standards_say_so() -> None:
    assert any("withdrawn" in flag for flag in rule_of(S.SAE_J607).factor(conditions(20.0, 100.0, 0.5)).flags)
    hot = rule_of(S.DIN_70020).factor(conditions(40.0, 100.0)).flags
    assert any("borrowed" in flag and "40 degC" in flag for flag in hot)


def test_iso_3046_always_says_that_its_exponents_are_from_memory() -> None:
    flags = rule_of(S.ISO_3046).factor(conditions(25.0, 100.0, 0.3)).flags
    assert any("exponents are from memory" in flag for flag in flags)


def test_diesel_at_light_load_says_that_fm_is_not_certain() -> None:
    light = rule_of(S.ISO_1585_DIESEL).factor(conditions(30.0, 97.0, engine=DIESEL, fuel_flow=np.array([2e-3])))
    assert any("the texts differ on fm" in flag for flag in light.flags)


@pytest.mark.parametrize(
    ("friction", "what"),
    [
        (((4000.0, 10_000.0), (3000.0, 8_000.0)), "do not rise"),
        (((0.0, 0.0), (3000.0, 8_000.0)), "do not rise"),
        (((3000.0, -8_000.0), (4000.0, 10_000.0)), "negative"),
    ],
)
def test_friction_table_that_makes_no_sense_is_refused(friction: tuple[tuple[float, float], ...], what: str) -> None:
    with pytest.raises(InputError, match=what):
        rule_of(S.SAE_J1349).factor(conditions(25.0, 99.0, engine=Engine(friction=friction)))


def test_friction_is_interpolated_as_torque_and_flagged_beyond_its_table() -> None:
    # 12 N m at 3000 rpm and 20 N m at 6000 rpm: 16 N m at 4500 rpm, 20 N m held at 7000 rpm (by hand).
    table = tuple((rpm, rpm * np.pi / 30 * torque) for rpm, torque in ((3000.0, 12.0), (6000.0, 20.0)))
    one = np.ones(2)
    given = conditions(
        30.0, 98.0, 0.60, engine=Engine(friction=table), speed_rpm=np.array([4500.0, 7000.0]), temperature=303.15 * one,
        pressure=98_000.0 * one, vapour=2548.0 * one, fuel_flow=np.nan * one, manifold_pressure=np.nan * one,
    )  # fmt: skip
    result = rule_of(S.SAE_J1349).factor(given)
    np.testing.assert_allclose(result.offset / (result.gain - 1.0), [16.0, 20.0], rtol=1e-9)
    assert any("covers 3,000 to 6,000 rpm" in flag for flag in result.flags)
