"""Power identity, mean effective pressure, mixture and exhaust gas."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import AIR, make_pull
from check_cases import answers, level_of, of_check, pull_with, sweep

from pullbook.check.pull_checks import check_pull
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem
from pullbook.records.build import Engine, Ignition, Induction
from pullbook.records.check import Check, Level
from pullbook.records.pull import Pull, TorqueKind

SIZE = sweep(make_pull()).size
FOUR = Engine(displacement=0.002)


def plausible(pull: Pull, engine: Engine, system: UnitSystem = UnitSystem.METRIC) -> Check:
    return of_check(check_pull(pull, limits=(), air=AIR, engine=engine, system=system), "plausibility")


def flat(torque: float) -> Pull:
    return pull_with(torque=torque + 0.001 * np.sin(sweep(make_pull())))


# 200 N m and 2.0 L are 12.56637 bar (Heywood, eq. 2.20, from memory).
def test_mean_effective_pressure_is_that_of_the_handbook() -> None:
    check = plausible(flat(200.0), FOUR)
    assert check.level is Level.OK
    assert "12.6 bar (100 N m a litre)" in check.says


# 500 lb ft and 350 in3 are 215.423 psi (Heywood, eq. 2.20, from memory); 500/350 = 1.43 lb ft a cubic inch.
def test_mean_effective_pressure_in_us_units() -> None:
    check = plausible(flat(500.0 * 1.3558179483), Engine(displacement=350 * 0.0254**3), UnitSystem.US)
    assert "215.4 psi (1.43 lb ft a cubic inch)" in check.says


@pytest.mark.parametrize(
    ("torque", "level"), [(75.0, Level.LOOK), (90.0, Level.OK), (250.0, Level.OK), (260.0, Level.LOOK)]
)
def test_torque_no_natural_engine_of_that_size_has_is_looked_at(torque: float, level: Level) -> None:
    # 5 bar are 79.6 N m of two litres, 16 bar 254.6 N m
    assert plausible(flat(torque), FOUR).level is level


def test_a_charged_engine_may_have_more_and_a_two_stroke_has_twice_as_many_working_strokes() -> None:
    assert plausible(flat(400.0), replace(FOUR, induction=Induction.TURBOCHARGED)).level is Level.OK
    assert "6.3 bar" in plausible(flat(200.0), replace(FOUR, strokes=2)).says


def test_torque_and_power_that_do_not_belong_together_are_looked_at() -> None:
    pull = make_pull()
    wrong = pull.channels[Channel.POWER] * 1.3558179483  # torque in lb ft that was read as N m
    check = of_check(answers(pull_with(pull, power=wrong)), "power_identity")
    assert check.level is Level.LOOK
    assert "torque is probably in lb ft" in check.says
    assert "units" in check.remedy


def test_one_curve_smoothed_alone_is_looked_at() -> None:
    pull = make_pull()
    power = pull.channels[Channel.POWER] * (1.0 + 0.03 * np.sin(sweep(pull) / 40.0))
    check = of_check(answers(pull_with(pull, power=power)), "power_identity")
    assert check.level is Level.LOOK
    assert "smoothed" in check.remedy


@pytest.mark.parametrize(("mixture", "level"), [(0.88, Level.OK), (1.08, Level.LOOK), (0.68, Level.LOOK)])
def test_a_mixture_nobody_runs_at_full_throttle_is_looked_at(mixture: float, level: Level) -> None:
    pull = pull_with(mixture=mixture + 0.002 * np.sin(sweep(make_pull())))
    assert level_of(answers(pull), "mixture") is level


def test_a_lean_mixture_comes_with_a_warning_and_a_diesel_without() -> None:
    pull = pull_with(mixture=1.1 + 0.002 * np.sin(sweep(make_pull())))
    assert "destroy an engine" in of_check(answers(pull), "mixture").remedy
    diesel = check_pull(pull, limits=(), air=AIR, engine=Engine(ignition=Ignition.COMPRESSION))
    assert "mixture" not in {check.check for check in diesel}


@pytest.mark.parametrize(("kelvin", "level"), [(1150.0, Level.OK), (1280.0, Level.LOOK)])
def test_exhaust_gas_hotter_than_engines_bear_is_looked_at(kelvin: float, level: Level) -> None:
    pull = pull_with(exhaust_temperature=kelvin + np.linspace(0.0, 1.0, SIZE))
    assert level_of(answers(pull), "exhaust") is level


def test_a_signal_without_calibration_is_asked_nothing_about_newton_metres() -> None:
    pull = make_pull()
    channels = {**pull.channels, Channel.LOAD_SIGNAL: pull.channels[Channel.TORQUE] / 60.0}
    del channels[Channel.TORQUE]
    signal = replace(pull, channels=channels, torque_kind=TorqueKind.RELATIVE)
    names = {check.check for check in check_pull(signal, limits=(), air=AIR, engine=FOUR)}
    assert not {"plausibility", "power_identity"} & names
