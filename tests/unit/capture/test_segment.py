"""Pulls in made-up logs, of which the test knows where each stretch begins and ends."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from builders_bench import Bench
from builders_tables import make_log, torque_curve

from pullbook.capture.segment import Kind, Segmentation, find_pulls, require_pulls
from pullbook.capture.segment_found import view_of
from pullbook.errors import FileRefusedError
from pullbook.quantities.channels import Channel
from pullbook.records.pull import Direction

if TYPE_CHECKING:
    from pullbook.records.pull import Log


def one_pull() -> Bench:
    """Idle, hold at 2000 rpm, sweep to 6500 rpm in 15 s, lift, run down, idle; the sweep is rows 352 to 1101."""
    bench = Bench().go(3.0, 900.0, 0.02, 0.0).go(1.0, 2000.0, 0.15, 0.1).go(3.0, 2000.0, 1.0, 1.0)
    return bench.go(15.0, 6500.0, 1.0, 1.0).go(4.0, 1000.0, 0.0).go(3.0, 900.0, 0.02, 0.0)


def without_throttle(bench: Bench, more: dict[Channel, Any]) -> Log:
    """Log without throttle, with more channels."""
    log = bench.log(without=(Channel.THROTTLE,))
    return make_log(dict(log.channels) | more)


def spans(found: Segmentation) -> list[tuple[int, int]]:
    """First and last speed of each pull, to 100 rpm."""
    return [(round(p.channels[Channel.SPEED][0], -2), round(p.channels[Channel.SPEED][-1], -2)) for p in found.pulls]


def test_a_sweep_is_cut_from_its_hold_to_its_top() -> None:
    found = find_pulls(one_pull().log(), "a1.csv")
    (pull,) = found.pulls
    assert (pull.name, pull.direction) == ("a1.csv", Direction.UP)
    assert 352 - 25 <= pull.rows[0] <= 352 + 25  # within half a second
    assert 1101 - 25 <= pull.rows[-1] <= 1101 + 5
    assert pull.channels[Channel.TORQUE].min() > 100.0
    assert not [d for d in pull.doubts if "throttle" in d]
    assert any(aside.kind is Kind.COASTING for aside in found.set_aside)
    assert any(aside.kind is Kind.IDLE for aside in found.set_aside)


def test_lift_off_is_no_part_of_the_pull() -> None:
    late = Bench().go(2.0, 2000.0, 1.0, 1.0).go(12.0, 6400.0, 1.0, 1.0).go(0.5, 6500.0, 0.0).go(4.0, 1500.0, 0.0)
    (pull,) = find_pulls(late.log(), "x").pulls
    assert pull.channels[Channel.TORQUE].min() > 0.0


def test_a_sweep_downwards_is_a_pull_downwards() -> None:
    down = Bench().go(2.0, 900.0, 0.0, 0.0).go(2.0, 6500.0, 0.3, 0.1).go(2.0, 6500.0, 1.0, 1.0)
    down.go(15.0, 2000.0, 1.0, 1.0).go(2.0, 900.0, 0.0, 0.0)
    (pull,) = find_pulls(down.log(), "x").pulls
    assert pull.direction is Direction.DOWN
    assert spans(find_pulls(down.log(), "x"))[0] == pytest.approx((6500.0, 2100.0), abs=150.0)


def test_up_and_down_in_one_file_are_two_pulls() -> None:
    both = Bench().go(2.0, 2000.0, 0.1, 0.0).go(2.0, 2000.0, 1.0, 1.0).go(12.0, 6500.0, 1.0, 1.0)
    both.go(2.0, 6500.0, 1.0, 1.0).go(12.0, 2000.0, 1.0, 1.0).go(2.0, 900.0, 0.0, 0.0)
    found = find_pulls(both.log(), "x.csv")
    assert [pull.direction for pull in found.pulls] == [Direction.UP, Direction.DOWN]
    assert [pull.name for pull in found.pulls] == ["x.csv#1", "x.csv#2"]


@pytest.mark.parametrize("count", [1, 2, 5])
def test_as_many_pulls_are_found_as_were_made(count: int) -> None:
    bench = Bench()
    for _ in range(count):
        bench.go(3.0, 900.0, 0.02, 0.0).go(1.0, 2000.0, 1.0, 0.9).go(8.0, 6500.0, 1.0, 1.0).go(3.0, 900.0, 0.0)
    assert len(find_pulls(bench.log(), "x").pulls) == count


@pytest.mark.parametrize("jitter", [0.0, 10.0, 40.0])
def test_jitter_of_speed_breaks_no_pull(jitter: float) -> None:
    (pull,) = find_pulls(one_pull().log(jitter=jitter), "x").pulls
    assert pull.rows.size == pytest.approx(750, abs=40)


def test_a_stab_of_throttle_before_the_sweep_is_no_pull() -> None:
    stab = Bench().go(2.0, 900.0, 0.02, 0.0).go(0.3, 3200.0, 0.9, 0.05).go(1.0, 2000.0, 0.0)
    stab.go(1.0, 2000.0, 1.0, 1.0).go(10.0, 6500.0, 1.0, 1.0).go(2.0, 900.0, 0.0)
    found = find_pulls(stab.log(), "x")
    assert spans(found) == [pytest.approx((2000.0, 6500.0), abs=200.0)]
    assert any(aside.kind is Kind.FREE_REV for aside in found.set_aside)


def test_free_revs_in_newton_metres_are_set_aside() -> None:
    revs = Bench().go(2.0, 900.0, 0.02, 0.0)
    for _ in range(3):
        revs.go(0.6, 6000.0, 1.0, 0.02).go(2.5, 900.0, 0.0, 0.0)
    found = find_pulls(revs.log(), "x")
    assert found.pulls == ()
    assert sum(aside.kind is Kind.FREE_REV for aside in found.set_aside) == 3


def test_part_throttle_is_never_a_pull_but_can_be_had() -> None:
    part = Bench().go(2.0, 900.0, 0.02, 0.0).go(2.0, 2000.0, 0.45, 0.6).go(12.0, 6500.0, 0.45, 0.6).go(2.0, 900.0, 0.0)
    found = find_pulls(part.log(), "x.csv")
    assert found.pulls == ()
    assert [pull.name for pull in found.part_throttle] == ["x.csv#part-throttle 1"]
    with pytest.raises(FileRefusedError, match="throttle at 45 %: not a full-throttle pull"):
        require_pulls(found, "x.csv")


def test_without_a_throttle_channel_manifold_pressure_tells_and_the_doubt_says_so() -> None:
    (pull,) = find_pulls(one_pull().log(without=(Channel.THROTTLE,)), "x").pulls
    assert any("full throttle was taken from manifold pressure" in doubt for doubt in pull.doubts)


def test_part_throttle_is_seen_in_manifold_pressure() -> None:
    part = Bench().go(2.0, 900.0, 0.02, 0.0).go(2.0, 2000.0, 0.45, 0.6).go(12.0, 6500.0, 0.45, 0.6).go(2.0, 900.0, 0.0)
    air = {Channel.AIR_PRESSURE: np.full(len(part.speed), 99e3)}
    found = find_pulls(without_throttle(part, air), "x")
    assert found.pulls == ()
    assert any("manifold pressure at 61 %" in aside.says for aside in found.set_aside)


def test_with_torque_alone_the_load_tells_and_the_doubt_says_so() -> None:
    both = Bench().go(2.0, 900.0, 0.02, 0.0).go(2.0, 2000.0, 0.4, 0.5).go(10.0, 6500.0, 0.4, 0.5).go(3.0, 900.0, 0.0)
    both.go(2.0, 2000.0, 1.0, 1.0).go(10.0, 6500.0, 1.0, 1.0).go(3.0, 900.0, 0.0)
    found = find_pulls(both.log(without=(Channel.THROTTLE, Channel.MANIFOLD_PRESSURE)), "x")
    (pull,) = found.pulls
    assert pull.rows[0] > 850
    assert any("taken from the load" in doubt for doubt in pull.doubts)
    assert any(aside.kind is Kind.PART_THROTTLE and "load at 50 %" in aside.says for aside in found.set_aside)


def test_a_file_that_is_nothing_but_the_sweep_is_a_pull() -> None:
    bare = Bench()
    bare.speed, bare.throttle = [2000.0], [1.0]
    bare.torque = [float(torque_curve(np.array(2000.0)))]
    (pull,) = find_pulls(bare.go(8.0, 6500.0, 1.0, 1.0).log(), "x").pulls
    assert pull.rows.size == pytest.approx(400, abs=20)


@pytest.mark.parametrize("rising", [1.0, 2.0])
def test_an_engine_whose_torque_rises_to_the_end_is_at_full_throttle_all_the_same(rising: float) -> None:
    """Without throttle or manifold pressure; torque goes up with speed, to the given power of it."""
    speed = np.linspace(2000.0, 9000.0, 400)
    channels = {
        Channel.TIME: np.arange(400) / 40.0, Channel.SPEED: speed, Channel.TORQUE: 60.0 * (speed / 9000.0) ** rising,
    }  # fmt: skip
    (pull,) = find_pulls(make_log(channels), "x").pulls
    assert pull.channels[Channel.SPEED].max() > 8800.0


def test_a_few_rows_at_full_throttle_are_too_short() -> None:
    short = Bench().go(4.0, 3000.0, 0.3, 0.3).go(0.1, 3600.0, 1.0, 1.0).go(2.0, 3000.0, 0.3, 0.3)
    assert find_pulls(short.log(), "x").pulls == ()


def test_rows_without_a_speed_are_left_out_and_break_nothing() -> None:
    log = one_pull().log()
    speed = log.channels[Channel.SPEED].copy()
    speed[::17] = np.nan
    (pull,) = find_pulls(make_log(dict(log.channels) | {Channel.SPEED: speed}), "x").pulls
    assert np.isfinite(pull.channels[Channel.SPEED]).all()
    assert pull.rows.size == pytest.approx(750 * 16 / 17, abs=40)


def test_held_time_stamps_and_a_clock_that_restarts_break_nothing() -> None:
    log = one_pull().log()
    time = log.channels[Channel.TIME]
    held = np.repeat(time[::5], 5)[: time.size]
    restarted = np.where(np.arange(time.size) > 200, time - time[200], time)
    for changed in (held, restarted):
        (pull,) = find_pulls(make_log(dict(log.channels) | {Channel.TIME: changed}), "x").pulls
        assert pull.rows.size == pytest.approx(750, abs=60)


def test_the_fingerprint_is_of_the_numbers_and_not_of_the_name() -> None:
    log = one_pull().log()
    first, again = (find_pulls(log, name).pulls[0].fingerprint for name in ("a.csv", "b.csv"))
    other = find_pulls(one_pull().log(jitter=5.0), "a.csv").pulls[0].fingerprint
    assert first == again
    assert first != other
    assert len(first) == 16


def test_doubts_of_the_log_go_with_every_pull() -> None:
    log = replace(one_pull().log(), doubts=("row 7 was cut off",))
    assert "row 7 was cut off" in find_pulls(log, "x").pulls[0].doubts


def test_a_log_without_engine_speed_has_no_pulls() -> None:
    assert find_pulls(make_log({Channel.TORQUE: np.ones(9)}), "x") == Segmentation()


@pytest.mark.parametrize("top", [180e3, 45e3])
def test_boost_and_gauge_pressure_cannot_tell_the_throttle(top: float) -> None:
    bench = one_pull()
    pressure = np.array(bench.throttle) * top
    (pull,) = find_pulls(without_throttle(bench, {Channel.MANIFOLD_PRESSURE: pressure}), "x").pulls
    assert any("taken from the load" in doubt for doubt in pull.doubts)


def test_boost_above_measured_air_pressure_is_no_full_throttle() -> None:
    boosted = Bench().go(2.0, 900.0, 0.02, 0.0).go(2.0, 2000.0, 0.7, 0.5).go(10.0, 6500.0, 0.7, 0.5).go(3.0, 900.0, 0.0)
    boosted.go(2.0, 2000.0, 1.0, 1.0).go(10.0, 6500.0, 1.0, 1.0).go(3.0, 900.0, 0.0)
    pressure = {
        Channel.MANIFOLD_PRESSURE: np.array(boosted.throttle) * 180e3,
        Channel.AIR_PRESSURE: np.full(len(boosted.speed), 99e3),
    }
    found = find_pulls(without_throttle(boosted, pressure), "x")
    assert len(found.pulls) == 1


def test_slow_free_revs_with_hardly_any_torque_are_no_pulls() -> None:
    revs = Bench().go(2.0, 900.0, 0.02, 0.0)
    for _ in range(3):
        revs.go(1.2, 6000.0, 1.0, 0.015).go(2.5, 900.0, 0.0, 0.0)
    assert find_pulls(revs.log(), "x").pulls == ()


def test_time_is_made_to_increase() -> None:
    rows = np.arange(8)
    speed = np.linspace(2000.0, 3000.0, 8)
    held = np.array([0.0, 0.0, 0.2, 0.2, 0.4, 0.4, 0.6, 0.6])
    restarted = np.array([0.0, 0.1, 0.2, 0.3, 0.0, 0.1, 0.2, 0.3])
    blank = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7])
    for time, expected in (
        (held, np.arange(8) * 0.1),
        (restarted, np.arange(8) * 0.1),
        (blank, blank),
    ):
        view = view_of({Channel.SPEED: speed, Channel.TIME: time}, rows)
        assert view.time is not None
        assert np.all(np.diff(view.time) > 0.0)
        assert view.time[:7] == pytest.approx(expected[:7])
    assert view_of({Channel.SPEED: speed, Channel.TIME: np.zeros(8)}, rows).time is None
