"""How the engine was led through the pull: coverage, sweep rate, time stamps, throttle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_pull
from check_cases import answers, level_of, noisy_pull, of_check, pull_with, sweep

from pullbook.check.sweep import sweep_rates
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.records.check import Level
from pullbook.records.declaration import Limit
from pullbook.records.pull import Direction


def test_a_pull_that_ends_early_is_looked_at_with_both_ranges() -> None:
    pull = make_pull(speed_rpm=np.arange(2000.0, 5800.0, 6.0))
    check = of_check(answers(pull), "rpm_coverage")
    assert check.level is Level.LOOK
    assert "2,000 to 5,798 rpm" in check.says
    assert "2,000 to 6,500 rpm" in check.says
    assert level_of(answers(pull, rpm_range=None), "rpm_coverage") is Level.OK


# make_pull sweeps at 300 rpm/s by its definition.
def test_the_sweep_rate_is_the_slope_of_speed_over_time() -> None:
    assert sweep_rates(make_pull()) == pytest.approx(300.0, rel=1e-6)
    assert "300 rpm/s" in of_check(answers(make_pull()), "sweep_rate").says


def test_a_logged_sweep_rate_wins_over_the_slope() -> None:
    pull = pull_with(sweep_rate=np.full(sweep(make_pull()).size, 250.0))
    assert sweep_rates(pull) == pytest.approx(250.0)


def test_a_sweep_that_slows_down_is_looked_at() -> None:
    pull = make_pull()
    time = np.cumsum(np.linspace(0.01, 0.03, sweep(pull).size))  # 6 rpm a sample: 600 down to 200 rpm/s
    check = of_check(answers(pull_with(pull, time=time)), "sweep_rate")
    assert check.level is Level.LOOK
    assert "inertia" in check.remedy


def test_no_sweep_rate_is_told_without_time_or_for_steady_points() -> None:
    pull = make_pull()
    channels = {channel: values for channel, values in pull.channels.items() if channel != "time"}
    for other in (replace(pull, channels=channels), replace(pull, direction=Direction.STEPS)):
        assert not {"sweep_rate", "time_stamps"} & {check.check for check in answers(other)}


def test_time_that_runs_backwards_is_looked_at() -> None:
    time = make_pull().channels[Channel.TIME].copy()
    time[100] -= 1.0
    check = of_check(answers(pull_with(time=time)), "time_stamps")
    assert check.level is Level.LOOK
    assert "backwards at 1 of" in check.says


def test_small_jitter_is_fine_and_large_jitter_is_looked_at() -> None:
    rng = np.random.default_rng(1)
    time = make_pull().channels[Channel.TIME]
    small = pull_with(time=time + 0.001 * rng.uniform(-1.0, 1.0, time.size))
    assert level_of(answers(small), "time_stamps") is Level.OK
    large = pull_with(time=np.sort(rng.uniform(0.0, float(time[-1]), time.size)))
    assert level_of(answers(large), "time_stamps") is Level.LOOK


@pytest.mark.parametrize(
    ("opened", "level"), [(0.97, Level.OK), (0.84, Level.OK), (0.75, Level.LOOK), (0.5, Level.UNFIT)]
)
def test_a_throttle_that_is_not_open_makes_no_full_throttle_pull(opened: float, level: Level) -> None:
    pull = pull_with(throttle=np.full(sweep(make_pull()).size, opened))
    check = of_check(answers(pull), "throttle")
    assert check.level is level
    assert f"{100 * opened:.0f} %" in check.says


def test_a_throttle_that_opens_half_way_through_is_not_full() -> None:
    late = np.where(sweep(make_pull()) < 4500.0, 0.5, 1.0)
    assert level_of(answers(pull_with(throttle=late)), "throttle") is Level.UNFIT
    soon = np.where(sweep(make_pull()) < 3000.0, 0.5, 1.0)
    assert level_of(answers(pull_with(throttle=soon)), "throttle") is Level.LOOK


def test_a_declared_throttle_range_wins_over_what_is_usual() -> None:
    limits = (Limit(channel=Channel.THROTTLE, low=0.45, high=0.55),)
    checks = answers(pull_with(throttle=np.full(sweep(make_pull()).size, 0.5)), limits=limits)
    assert "throttle" not in {check.check for check in checks}
    assert level_of(checks, "limit_throttle") is Level.OK


def test_a_pull_is_checked_whatever_channels_it_has() -> None:
    pull = noisy_pull(2)
    every = {
        kind.channel.value: np.full(sweep(pull).size, 0.5 * (kind.low + kind.high))
        for kind in CHANNELS.values()
        if kind.channel not in pull.channels
    }
    names = {check.check for check in answers(pull_with(pull, **every))}
    assert {"range", "stuck", "air", "mixture", "exhaust", "throttle"} <= names
    bare = replace(pull, channels={c: pull.channels[c] for c in (Channel.SPEED, Channel.TORQUE)})
    assert {"range", "dropped", "glitch", "rpm_coverage"} <= {check.check for check in answers(bare)}
