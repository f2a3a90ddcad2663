"""Step tests in made-up logs: steady speeds at full throttle, whose means are the samples of the pull."""

from __future__ import annotations

import numpy as np
import pytest
from builders_bench import Bench
from builders_tables import torque_curve

from pullbook.capture.segment import find_pulls
from pullbook.quantities.channels import Channel
from pullbook.records.pull import Direction


def test_a_step_test_becomes_its_means() -> None:
    steps = Bench().go(3.0, 900.0, 0.02, 0.0)
    wanted = np.arange(2000.0, 6501.0, 500.0)
    for rpm in wanted:
        steps.go(1.0, rpm, 1.0, 1.0).go(6.0, rpm, 1.0, 1.0)
    steps.go(3.0, 900.0, 0.0)
    (pull,) = find_pulls(steps.log(), "x").pulls
    assert pull.direction is Direction.STEPS
    assert pull.channels[Channel.SPEED] == pytest.approx(wanted, abs=2.0)
    assert pull.channels[Channel.TORQUE] == pytest.approx(torque_curve(wanted), abs=0.5)
    assert pull.rows.size == wanted.size


def test_steady_points_with_idling_between_them_are_a_step_test() -> None:
    steps = Bench()
    wanted = np.arange(2000.0, 6001.0, 1000.0)
    for rpm in wanted:
        steps.go(3.0, 900.0, 0.02, 0.0).go(2.0, rpm, 0.5, 0.5).go(6.0, rpm, 1.0, 1.0).go(2.0, 900.0, 0.0)
    (pull,) = find_pulls(steps.log(), "x").pulls
    assert pull.direction is Direction.STEPS
    assert pull.channels[Channel.SPEED] == pytest.approx(wanted, abs=2.0)


def test_a_step_test_is_told_by_its_load_where_nothing_tells_the_throttle() -> None:
    """The log begins under load in the first step: that load is not the rest of the engine."""
    steps = Bench()
    wanted = np.arange(2500.0, 6501.0, 500.0)
    for rpm in wanted:
        steps.go(2.0, rpm, 1.0, 1.0).go(12.0, rpm, 1.0, 1.0)
    (pull,) = find_pulls(steps.log(without=(Channel.THROTTLE, Channel.MANIFOLD_PRESSURE)), "x").pulls
    assert pull.direction is Direction.STEPS
    assert pull.channels[Channel.SPEED] == pytest.approx(wanted, abs=2.0)
    assert pull.channels[Channel.TORQUE] == pytest.approx(torque_curve(wanted), abs=0.5)
    assert any("taken from the load" in doubt for doubt in pull.doubts)


def test_a_sweep_from_a_hold_under_load_is_a_pull_where_the_engine_never_rests() -> None:
    bench = Bench().go(6.0, 2200.0, 1.0, 1.0).go(12.0, 6500.0, 1.0, 1.0)
    (pull,) = find_pulls(bench.log(without=(Channel.THROTTLE, Channel.MANIFOLD_PRESSURE)), "x").pulls
    assert pull.channels[Channel.SPEED].min() < 2400.0
    assert pull.channels[Channel.SPEED].max() > 6400.0


def test_plateaus_far_below_the_speed_and_power_of_the_file_are_no_step_test() -> None:
    log = Bench().go(1.0, 900.0, 0.02, 0.0)
    for rpm in (1500.0, 1800.0, 2100.0, 2400.0, 2700.0):
        log.go(1.0, rpm, 0.3, 1.0).go(6.0, rpm, 0.3, 1.0)
    log.go(3.0, 900.0, 0.0, 0.0).go(9.0, 6500.0, 1.0, 1.0).go(2.0, 900.0, 0.0)
    (pull,) = find_pulls(log.log(without=(Channel.THROTTLE, Channel.MANIFOLD_PRESSURE)), "x").pulls
    assert pull.direction is Direction.UP


def test_plateaus_at_part_throttle_are_no_step_test() -> None:
    cruise = Bench()
    for rpm in np.arange(2000.0, 6001.0, 500.0):
        cruise.go(1.0, rpm, 0.3, 0.4).go(6.0, rpm, 0.3, 0.4)
    found = find_pulls(cruise.log(), "x")
    assert found.pulls == ()
