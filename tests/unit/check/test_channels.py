"""Whether a channel is alive and its samples are there."""

from __future__ import annotations

import numpy as np
import pytest
from builders import make_pull
from check_cases import answers, level_of, noisy_pull, of_check, pull_with, sweep

from pullbook.quantities.channels import Channel
from pullbook.records.check import Level


def test_a_clean_pull_is_ok_throughout() -> None:
    checks = answers(noisy_pull(1))
    assert {check.level for check in checks} == {Level.OK}
    assert all(check.says.endswith(".") and not check.remedy for check in checks)
    assert {check.pull for check in checks} == {"pulls/a1.csv"}


def test_every_answer_that_is_not_ok_says_what_to_do() -> None:
    speed = sweep(make_pull())
    checks = answers(pull_with(oil_temperature=np.full(speed.size, 600.0), throttle=np.full(speed.size, 0.4)))
    bad = [check for check in checks if check.level is not Level.OK]
    assert len(bad) >= 2
    assert all(check.remedy for check in bad)


def test_a_value_that_no_sensor_can_give_is_named_with_its_range() -> None:
    oil = np.full(sweep(make_pull()).size, 368.15)
    oil[100] = 500.0  # 226.85 degC; the catalogue allows 200 degC
    check = of_check(answers(pull_with(oil_temperature=oil)), "range")
    assert check.level is Level.LOOK
    assert "226.9 °C" in check.says
    assert "-40.0 to 200.0 °C" in check.says


def test_torque_that_stands_still_is_unfit() -> None:
    speed = sweep(make_pull())
    check = of_check(answers(pull_with(torque=np.full(speed.size, 180.0))), "stuck")
    assert check.level is Level.UNFIT
    assert "180.0 N m" in check.says


def test_torque_that_stands_still_for_a_while_is_looked_at() -> None:
    pull = noisy_pull(2)
    torque = pull.channels[Channel.TORQUE].copy()
    held = (sweep(pull) > 3000.0) & (sweep(pull) < 4500.0)
    torque[held] = torque[np.flatnonzero(held)[0]]
    check = of_check(answers(pull_with(pull, torque=torque)), "stuck")
    assert check.level is Level.LOOK
    assert check.rpm_low == pytest.approx(3000.0, abs=30.0)
    assert check.rpm_high == pytest.approx(4500.0, abs=30.0)


def test_held_samples_of_a_logger_are_not_stuck() -> None:
    pull = noisy_pull(3)
    torque = np.repeat(pull.channels[Channel.TORQUE][::3], 3)[: sweep(pull).size]
    assert level_of(answers(pull_with(pull, torque=torque)), "stuck") is Level.OK


def test_a_dead_mixture_sensor_is_looked_at() -> None:
    check = of_check(answers(pull_with(mixture=np.full(sweep(make_pull()).size, 0.88))), "stuck")
    assert check.level is Level.LOOK
    assert "0.880 lambda" in check.says


def test_torque_cut_off_at_its_top_is_seen_with_its_range() -> None:
    pull = noisy_pull(4)
    torque = np.minimum(pull.channels[Channel.TORQUE], 205.0)
    check = of_check(answers(pull_with(pull, torque=torque)), "clipped")
    assert check.level is Level.LOOK
    assert "205.0 N m" in check.says
    assert check.rpm_low is not None
    assert check.rpm_high is not None
    assert check.rpm_high - check.rpm_low > 500.0


@pytest.mark.parametrize("shift", [0.0, 0.25, 0.45, 0.55, 0.75])
def test_coarse_steps_of_a_logger_are_not_cut_off(shift: float) -> None:
    for pull in (noisy_pull(5), make_pull()):
        torque = np.round(pull.channels[Channel.TORQUE] + shift)
        assert level_of(answers(pull_with(pull, torque=torque)), "clipped") is Level.OK


@pytest.mark.parametrize(("share", "level"), [(0.005, Level.OK), (0.05, Level.LOOK), (0.2, Level.UNFIT)])
def test_missing_samples_are_counted(share: float, level: Level) -> None:
    pull = noisy_pull(6)
    torque = pull.channels[Channel.TORQUE].copy()
    lost = np.random.default_rng(7).permutation(torque.size)[: round(share * torque.size)]
    torque[lost] = np.nan
    check = of_check(answers(pull_with(pull, torque=torque)), "dropped")
    assert check.level is level
    assert f"{lost.size} of {torque.size} samples" in check.says


def test_gaps_in_time_are_missing_samples_but_rows_set_aside_are_not() -> None:
    pull = noisy_pull(8)
    time = pull.channels[Channel.TIME].copy()
    time[80:] += 2.0  # twenty samples at ten a second
    lost = pull_with(pull, time=time)
    assert f"20 of {time.size + 20} samples" in of_check(answers(lost), "dropped").says
    rows = np.concatenate((pull.rows[:80], pull.rows[80:] + 20))
    aside = type(lost)(name=lost.name, source=lost.source, direction=lost.direction, channels=lost.channels, rows=rows)
    assert of_check(answers(aside), "dropped").level is Level.OK


def test_a_hole_in_the_speeds_is_named() -> None:
    pull = noisy_pull(9)
    torque = pull.channels[Channel.TORQUE].copy()
    torque[(sweep(pull) > 4000.0) & (sweep(pull) < 4400.0)] = np.nan
    holes = [check for check in answers(pull_with(pull, torque=torque)) if check.rpm_low is not None]
    assert [check.check for check in holes] == ["dropped"]
    assert "between 3,990 and 4,410 rpm" in holes[0].says
