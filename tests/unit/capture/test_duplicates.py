"""The same pull saved twice is found by its numbers; two real repeats never are."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from builders_tables import SOURCE, curve_speed, make_log, read_real, rule, torque_curve
from hypothesis import given
from hypothesis import strategies as st

from pullbook.capture.duplicates import find_duplicates
from pullbook.capture.segment import find_pulls
from pullbook.quantities.channels import Channel
from pullbook.records.pull import Direction, Pull

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.quantities.arrays import FloatArray

LB_FT = 1.3558179483314  # N m, NIST SP 811 appendix B


def saved(name: str, speed: FloatArray, torque: FloatArray, **changes: Any) -> Pull:
    """Pull as a file gives it."""
    channels = {Channel.SPEED: speed, Channel.TORQUE: torque}
    rows = np.arange(2, 2 + speed.size)
    return Pull(name=name, source=SOURCE, direction=Direction.UP, channels=channels, rows=rows, **changes)


def sampled(seed: int, count: int = 400) -> tuple[FloatArray, FloatArray]:
    """Speed and torque of one pull, sampled by a clock: no two pulls have the same speeds."""
    rng = np.random.default_rng(seed)
    speed = np.sort(np.linspace(2000.0, 6500.0, count) + 5.0 * rng.standard_normal(count))
    return speed, binned(seed, speed)


def binned(seed: int, speed: FloatArray, scatter: float = 0.005) -> FloatArray:
    """Torque of one repeat: the true curve, a level and a slope of its own, and noise of a tenth of the scatter."""
    rng = np.random.default_rng(1000 + seed)
    x = np.linspace(-1.0, 1.0, speed.size)
    level, slope = scatter * rng.standard_normal(2)
    error = level + slope * x + 0.1 * scatter * rng.standard_normal(speed.size)
    torque: FloatArray = torque_curve(speed) * (1.0 + error)
    return torque


def test_the_same_pull_under_another_name_is_found_and_the_first_is_kept() -> None:
    speed, torque = sampled(1)
    (found,) = find_duplicates([saved("a1.csv", speed, torque), saved("copy of a1.csv", speed, torque)])
    assert (found.position, found.name, found.kept, found.kept_position) == (1, "copy of a1.csv", "a1.csv", 0)
    assert (found.rows, found.offset) == (400, 0)
    assert "copy of a1.csv is the same pull as a1.csv, saved again" in found.says


def test_the_tail_of_a_pull_is_found_inside_the_longer_one_which_is_kept() -> None:
    speed, torque = sampled(1)
    (found,) = find_duplicates([saved("tail", speed[150:], torque[150:]), saved("whole", speed, torque)])
    assert (found.name, found.kept, found.offset, found.rows) == ("tail", "whole", 150, 250)


def test_two_pieces_of_one_pull_that_overlap_are_found() -> None:
    speed, torque = sampled(1)
    (found,) = find_duplicates([saved("early", speed[:260], torque[:260]), saved("late", speed[100:], torque[100:])])
    assert (found.kept, found.name, found.offset) == ("late", "early", -100)


@pytest.mark.parametrize(("decimals", "unit"), [(0, 1.0), (1, 1.0), (2, 1.0), (0, LB_FT), (1, LB_FT)])
def test_rounding_and_another_unit_hide_no_duplicate(decimals: int, unit: float) -> None:
    speed, torque = sampled(1)
    again = np.round(torque / unit, decimals) * unit
    (found,) = find_duplicates([saved("a", speed, torque.round(3)), saved("b", speed.round(0), again)])
    assert found.rows == 400


def test_a_copy_of_a_copy_is_counted_once() -> None:
    speed, torque = sampled(1)
    pulls = [saved(name, speed, torque) for name in ("a", "b", "c")]
    assert [(d.name, d.kept) for d in find_duplicates(pulls)] == [("b", "a"), ("c", "a")]


def test_the_same_file_with_another_fingerprint_changes_nothing() -> None:
    speed, torque = sampled(1)
    one = saved("a", speed, torque, fingerprint="x")
    assert len(find_duplicates([one, replace(one, name="b", fingerprint="y")])) == 1


@given(
    seeds=st.lists(st.integers(0, 10_000), min_size=2, max_size=6, unique=True),
    step=st.sampled_from([25.0, 50.0, 100.0]),
    decimals=st.sampled_from([0, 1, 2]),
    scatter=st.sampled_from([0.002, 0.005, 0.01]),
)
def test_real_repeats_on_the_same_bins_are_never_duplicates(
    seeds: list[int], step: float, decimals: int, scatter: float
) -> None:
    speed = np.arange(2000.0, 6501.0, step)
    pulls = [saved(f"r{seed}", speed, binned(seed, speed, scatter).round(decimals)) for seed in seeds]
    assert find_duplicates(pulls) == ()


@given(seeds=st.lists(st.integers(0, 10_000), min_size=2, max_size=5, unique=True))
def test_real_repeats_sampled_by_a_clock_are_never_duplicates(seeds: list[int]) -> None:
    assert find_duplicates([saved(f"r{seed}", *sampled(seed)) for seed in seeds]) == ()


def test_an_overlap_of_two_fifths_is_the_same_pull() -> None:
    speed, torque = sampled(1)
    (found,) = find_duplicates([saved("a", speed[:260], torque[:260]), saved("b", speed[160:], torque[160:])])
    assert found.rows == 100


def test_two_parts_of_a_pull_that_hardly_overlap_are_two_pulls() -> None:
    speed, torque = sampled(1)
    assert find_duplicates([saved("a", speed[:220], torque[:220]), saved("b", speed[180:], torque[180:])]) == ()


def test_blanks_agree_with_blanks_only() -> None:
    speed, torque = sampled(1)
    holes = torque.copy()
    holes[::40] = np.nan
    assert len(find_duplicates([saved("a", speed, holes), saved("b", speed, holes)])) == 1
    assert len(find_duplicates([saved("a", speed, torque * np.nan), saved("b", speed, torque * np.nan)])) == 0


def test_a_short_table_of_points_needs_all_its_rows() -> None:
    speed = curve_speed(count=8)
    torque = torque_curve(speed).round(1)
    other = torque.copy()
    other[3] += 0.4
    assert len(find_duplicates([saved("a", speed, torque), saved("b", speed, torque)])) == 1
    assert find_duplicates([saved("a", speed, torque), saved("b", speed, other)]) == ()


def test_volts_are_compared_where_there_is_no_torque() -> None:
    speed, torque = sampled(1)
    log = make_log(
        {Channel.SPEED: speed, Channel.LOAD_SIGNAL: (torque / 70.0).round(2), Channel.TIME: np.arange(400) / 50.0}
    )
    pull = find_pulls(log, "a").pulls[0]
    assert len(find_duplicates([pull, replace(pull, name="b")])) == 1


def test_the_pull_of_one_log_is_recognised_inside_another(shared_data: Path) -> None:
    # README: the tail of one pull saved again as another file.
    folder = shared_data / "engine-brake-logs"
    names = ("day-a-two-pulls.csv", "day-b-run-5.csv", "day-b-run-6.csv", "day-b-three-pulls.csv")
    pulls = [
        pull
        for name in names
        for pull in find_pulls(read_real(folder / name, [rule(Channel.LOAD_SIGNAL, "Analog #8", "V")]), name).pulls
    ]
    assert len(pulls) == 8
    (found,) = find_duplicates(pulls)
    assert {found.name, found.kept} == {"day-b-run-5.csv", "day-b-run-6.csv#2"}


def test_three_runs_on_the_rollers_are_three_runs(shared_data: Path) -> None:
    log = read_real(shared_data / "roller-wot-repeats" / "three-full-throttle-repeats.txt")
    assert find_duplicates(find_pulls(log, "repeats").pulls) == ()
