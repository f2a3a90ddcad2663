"""Every window of a table is held against the finding that is worked out for that window alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from gaussian_joint import DRAWS, GRID_RPM, flat_comparison, flat_reference, known_joint

from pullbook.compare.drawn import drawn_curves
from pullbook.compare.findings import compare_drawn, compare_pulls, compare_with_windows, findings_from
from pullbook.compare.window_tables import MOST_ENDS, torque_tables, window_tables
from pullbook.curves.all_windows import window_places
from pullbook.records.pull import TorqueKind
from pullbook.records.window_table import WindowStretch, WindowTable

if TYPE_CHECKING:
    from pullbook.curves.joint import JointDraws
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.comparison import Comparison

FLAT = np.full(GRID_RPM.shape, 100.0)
TILT = (GRID_RPM - 4025.0) / 500.0
BUMP = 4.0 * np.exp(-(((GRID_RPM - 3000.0) / 600.0) ** 2))


def _joint(**changes: Any) -> JointDraws:
    """Three builds whose errors have a level and a tilt of their own in every draw."""
    generator = np.random.default_rng(11)
    level = generator.standard_normal((DRAWS, 3, 1)) * 0.6
    tilt = generator.standard_normal((DRAWS, 3, 1)) * 0.5 * (GRID_RPM - 4000.0) / 2000.0
    curves = {"A": FLAT, "B": FLAT + TILT, "C": FLAT + BUMP}
    return known_joint(curves, level + tilt, **changes)


def _tables(comparison: Comparison, joint: JointDraws) -> tuple[WindowTable, ...]:
    curves = drawn_curves(joint, comparison.baseline, comparison.torque_kind, comparison.confidence)
    return window_tables(comparison, curves, comparison.pairs)


def _windows(stretch: WindowStretch) -> list[tuple[float, float]]:
    low, high = window_places(stretch.ends_rpm.size)
    return [(float(stretch.ends_rpm[a]), float(stretch.ends_rpm[b])) for a, b in zip(low, high, strict=True)]


def _half(interval: Any) -> float:
    return float(interval.high - interval.low) / 2.0


def test_every_window_has_the_intervals_that_compare_gives_it() -> None:
    comparison, joint = flat_comparison("AABBCCA"), _joint()
    tables = _tables(comparison, joint)
    windows = _windows(tables[0].stretches[0])
    asked = replace(comparison, windows=tuple(windows))
    differences = findings_from(asked, joint).differences
    assert [(table.of, table.from_) for table in tables] == [(one.of, one.from_) for one in differences]
    for table, difference in zip(tables, differences, strict=True):
        (stretch,) = table.stretches
        found = {(one.from_rpm, one.to_rpm): one for one in difference.windows}
        own = [found[window] for window in windows]
        assert stretch.torque == pytest.approx(np.array([_half(one.torque) for one in own]), rel=1e-9)
        assert stretch.power == pytest.approx(np.array([_half(one.power) for one in own]), rel=1e-9)
        assert stretch.percent == pytest.approx(np.array([_half(one.percent) for one in own]), rel=1e-9)
        assert stretch.check == pytest.approx(np.array([one.classical.value for one in own]), abs=1e-9)  # type: ignore[union-attr] # torque was measured
        assert stretch.check_half == pytest.approx(np.array([_half(one.classical) for one in own]), rel=1e-9)


def test_the_ends_of_windows_are_a_hundred_apart_over_a_usual_range() -> None:
    (stretch,) = _tables(flat_comparison("AAABBB"), _joint())[0].stretches
    assert stretch.ends_rpm.tolist() == list(range(2000, 6001, 100))
    assert stretch.ends_rpm.size <= MOST_ENDS


def test_no_window_lies_across_a_gap() -> None:
    reference = flat_reference()
    reference[30:38] = np.nan
    comparison = flat_comparison("AABBCC")
    for table in _tables(comparison, _joint(reference=reference)):
        first, second = table.stretches
        assert first.speed_rpm[-1] == GRID_RPM[29]
        assert second.speed_rpm[0] == GRID_RPM[38]
        assert np.isfinite(first.torque).all()
        assert np.isfinite(second.torque).all()


def test_a_speed_that_stands_alone_between_gaps_makes_no_window() -> None:
    reference = flat_reference()
    reference[[30, 32]] = np.nan
    for table in _tables(flat_comparison("AABBCC"), _joint(reference=reference)):
        assert [float(one.speed_rpm[0]) for one in table.stretches] == [GRID_RPM[0], GRID_RPM[33]]
    reference[1::2] = np.nan
    assert _tables(flat_comparison("AABBCC"), _joint(reference=reference)) == ()


def test_a_relative_session_has_its_gain_in_percent_of_the_baseline_and_nothing_else() -> None:
    comparison = replace(flat_comparison("AABBCC"), torque_kind=TorqueKind.RELATIVE)
    (stretch,) = _tables(comparison, _joint())[0].stretches
    assert stretch.torque.size == len(_windows(stretch))
    assert {one.size for one in (stretch.power, stretch.percent, stretch.check, stretch.check_half)} == {0}


def test_without_a_measure_of_scatter_there_are_values_and_no_intervals() -> None:
    joint = _joint(degrees_of_freedom=0)
    (stretch,) = _tables(flat_comparison("ABC"), joint)[0].stretches
    assert np.isnan(stretch.torque).all()
    assert np.isnan(stretch.check_half).all()
    assert np.isfinite(stretch.check).all()


def test_findings_are_the_same_with_and_without_tables() -> None:
    comparison = flat_comparison("AAABBBA", windows=((2500.0, 3500.0),))
    findings, tables = compare_with_windows(comparison)
    alone = compare_pulls(comparison)
    assert findings.differences[0].windows == alone.differences[0].windows
    assert findings.seed == alone.seed
    assert [(table.of, table.from_) for table in tables] == [("B", "A")]


def test_what_stands_beside_has_the_same_windows_from_its_own_pulls_and_torque_alone() -> None:
    comparison = flat_comparison("AAABBBCCC")
    beside = flat_comparison("AAAABBBCCC")
    _, tables = compare_with_windows(comparison)
    wanted = [table for table in tables if table.of == "B"]
    findings, curves = compare_drawn(beside)
    found = torque_tables(curves, wanted)
    assert [(table.of, table.from_) for table in found] == [("B", "A")]
    (stretch,) = found[0].stretches
    assert stretch.ends_rpm.tolist() == wanted[0].stretches[0].ends_rpm.tolist()
    assert {one.size for one in (stretch.power, stretch.percent, stretch.check, stretch.check_half)} == {0}
    windows = _windows(stretch)
    asked = compare_pulls(replace(beside, windows=tuple(windows)))
    (own,) = (one for one in asked.differences if one.of == "B")
    halves = {(one.from_rpm, one.to_rpm): _half(one.torque) for one in own.windows}
    assert stretch.torque == pytest.approx(np.array([halves[window] for window in windows]), rel=1e-9)
    assert findings.differences[0].windows == compare_pulls(beside).differences[0].windows


def test_ends_that_were_not_measured_are_left_out() -> None:
    reference = flat_reference()
    reference[30:38] = np.nan
    comparison = flat_comparison("AABBCC")
    joint = _joint(reference=reference)
    curves = drawn_curves(joint, comparison.baseline, comparison.torque_kind, comparison.confidence)
    ends = np.array([1900.0, 2000.0, 3000.0, 3600.0, 4000.0, 5500.0])
    (table,) = torque_tables(curves, [_asking_for(ends), replace(_asking_for(ends), of="Z")])
    assert (table.of, table.from_) == ("B", "A")
    assert [one.ends_rpm.tolist() for one in table.stretches] == [[2000.0, 3000.0], [4000.0, 5500.0]]
    assert torque_tables(curves, [_asking_for(ends[:2])]) == ()


def _asking_for(ends: FloatArray) -> WindowTable:
    """A table of which only the ends of its windows matter."""
    none = np.zeros(0)
    stretch = WindowStretch(
        speed_rpm=none, gain=none, base=none, ends_rpm=ends, torque=none, power=none, percent=none, check=none,
        check_half=none,
    )  # fmt: skip
    return WindowTable(of="B", from_="A", stretches=(stretch,))
