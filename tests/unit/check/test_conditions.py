"""Limits of the session and the air of the day, in both systems of units."""

from __future__ import annotations

import numpy as np
import pytest
from builders import AIR, make_pull
from check_cases import answers, level_of, of_check, pull_with, sweep

from pullbook.check.pull_checks import check_pull
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem
from pullbook.records.check import Level
from pullbook.records.declaration import Air, Limit

SIZE = sweep(make_pull()).size
OIL = Limit(channel=Channel.OIL_TEMPERATURE, low=353.15, high=378.15)  # 80 to 105 degC
MIXTURE = Limit(channel=Channel.MIXTURE, low=0.84, high=0.90)
SPARK = Limit(channel=Channel.SPARK, low=20.0, high=34.0)
RATE = Limit(channel=Channel.SWEEP_RATE, low=200.0, high=280.0)


@pytest.mark.parametrize(
    ("oil", "level"), [(358.15, Level.OK), (352.15, Level.LOOK), (350.05, Level.UNFIT), (381.25, Level.UNFIT)]
)
def test_oil_more_than_three_kelvin_outside_its_limits_is_unfit(oil: float, level: Level) -> None:
    check = of_check(answers(pull_with(oil_temperature=np.full(SIZE, oil)), limits=(OIL,)), "limit_oil_temperature")
    assert check.level is level
    assert "80.0 to 105.0 °C" in check.says


def test_cold_oil_says_how_cold_and_what_to_do() -> None:
    check = of_check(answers(pull_with(oil_temperature=np.full(SIZE, 328.15)), limits=(OIL,)), "limit_oil_temperature")
    assert "25.0 K outside" in check.says
    assert "bring the oil into its range" in check.remedy


def test_the_same_answer_in_the_units_of_a_us_reader() -> None:
    pull = pull_with(oil_temperature=np.full(SIZE, 328.15))
    checks = check_pull(pull, limits=(OIL,), air=AIR, system=UnitSystem.US)
    says = of_check(checks, "limit_oil_temperature").says
    # 55 degC = 131 degF, 80 to 105 degC = 176 to 221 degF, 25 K = 45 degF
    assert "131 to 131 °F, 45 °F outside 176 to 221 °F" in says


@pytest.mark.parametrize(("mixture", "level"), [(0.87, Level.OK), (0.95, Level.UNFIT), (0.80, Level.UNFIT)])
def test_a_mixture_outside_its_limits_is_unfit(mixture: float, level: Level) -> None:
    pull = pull_with(mixture=mixture + 0.002 * np.sin(sweep(make_pull())))
    assert level_of(answers(pull, limits=(MIXTURE,)), "limit_mixture") is level


def test_a_lag_of_the_mixture_sensor_at_the_start_spoils_nothing() -> None:
    mixture = 0.87 + 0.002 * np.sin(sweep(make_pull()))
    mixture[: SIZE // 40] = 1.3
    assert level_of(answers(pull_with(mixture=mixture), limits=(MIXTURE,)), "limit_mixture") is Level.OK


def test_spark_and_sweep_rate_outside_their_limits_are_looked_at() -> None:
    checks = answers(pull_with(spark=np.full(SIZE, 40.0)), limits=(SPARK, RATE))
    assert level_of(checks, "limit_spark") is Level.LOOK
    rate = of_check(checks, "limit_sweep_rate")
    assert rate.level is Level.LOOK  # made at 300 rpm/s
    assert "20 rpm/s outside 200 to 280 rpm/s" in rate.says


def test_a_limit_on_a_channel_that_was_not_logged_is_looked_at() -> None:
    check = of_check(answers(make_pull(), limits=(MIXTURE,)), "limit_mixture")
    assert check.level is Level.LOOK
    assert "does not have it" in check.says


def test_air_that_nobody_wrote_down_is_looked_at_by_name() -> None:
    says = of_check(answers(make_pull(), air=Air(temperature=295.0)), "air").says
    assert "pressure of the inlet air" in says
    assert "temperature" not in says


def test_channels_of_the_file_win_over_declared_air() -> None:
    pull = pull_with(air_temperature=np.full(SIZE, 313.15), air_pressure=np.full(SIZE, 99_000.0))
    check = of_check(answers(pull), "air")
    assert check.level is Level.LOOK
    assert "40.0 °C" in check.says


# 15 to 35 degC and 90 to 105 kPa: SAE J1349 as remembered, reference notes.
@pytest.mark.parametrize(
    ("temperature", "pressure", "level"),
    [(288.2, 99e3, Level.OK), (288.1, 99e3, Level.LOOK), (308.2, 99e3, Level.LOOK), (298.0, 89e3, Level.LOOK)],
)
def test_air_outside_what_standards_are_meant_for_is_looked_at(
    temperature: float, pressure: float, level: Level
) -> None:
    air = Air(temperature=temperature, pressure=pressure, humidity=0.4)
    assert level_of(answers(make_pull(), air=air), "air") is level


def test_heat_that_creeps_into_the_inlet_during_a_pull_is_seen() -> None:
    check = of_check(answers(pull_with(air_temperature=np.linspace(293.15, 303.15, SIZE))), "air")
    assert check.level is Level.LOOK
    assert "8.8 K" in check.says  # nine tenths of the samples in 4500 of the 4600 rpm over which it rose by ten kelvin
    assert "1.8 %" in check.says  # at 0.2 % a kelvin
