"""Periodic tables: smooth, never negative, without a seam."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pullbook.gas.lift import CYCLE, periodic_mean, periodic_value


def test_points_of_the_table_are_met() -> None:
    table = np.abs(np.sin(np.arange(12.0)))
    for k in range(12):
        assert periodic_value(table, k * CYCLE / 12.0) == pytest.approx(table[k], abs=1e-14)


def test_parabola_is_met_between_the_points() -> None:
    # Central differences and a cubic are exact for a parabola: y = 1 + (x - 5)^2 at x = 4.3 is 1.49.
    table = 1.0 + (np.arange(10.0) - 5.0) ** 2
    assert periodic_value(table, 4.3 * CYCLE / 10.0) == pytest.approx(1.49, abs=1e-12)


def test_error_on_a_smooth_curve_falls_with_the_cube_of_the_step_or_faster() -> None:
    def worst(count: int) -> float:
        table = 1.0 + np.cos(np.arange(count) * 2.0 * math.pi / count)
        angles = np.linspace(0.0, CYCLE, 997)
        return max(abs(periodic_value(table, a) - 1.0 - math.cos(2.0 * math.pi * a / CYCLE)) for a in angles.tolist())

    assert worst(40) / worst(80) > 7.5
    assert worst(80) < 2e-5


def test_seam_of_the_cycle_is_not_seen() -> None:
    table = 1.0 + np.cos(np.arange(60) * 2.0 * math.pi / 60.0)
    for turns in (-2, 1, 3):
        assert periodic_value(table, 0.03 + turns * CYCLE) == pytest.approx(periodic_value(table, 0.03), abs=1e-12)
    assert periodic_value(table, -1e-9) == pytest.approx(2.0, abs=1e-9)
    assert periodic_value(table, math.nextafter(CYCLE, 0.0)) == pytest.approx(2.0, abs=1e-9)


@given(arrays(np.float64, st.integers(4, 40), elements=st.floats(0.0, 0.02)), st.floats(-50.0, 50.0))
def test_lift_is_never_negative_nor_much_above_the_largest(table: np.ndarray, angle: float) -> None:
    assert 0.0 <= periodic_value(table, angle) <= 1.3 * table.max() + 1e-12


def test_what_would_swing_below_zero_is_cut_off() -> None:
    # Beside a step of 1 the slope at the foot is -1/2: the cubic would reach -2/27 a third of the way.
    table = np.zeros(8)
    table[2] = 1.0
    assert periodic_value(table, (3.0 + 1.0 / 3.0) * CYCLE / 8.0) == 0.0


def test_closed_valve_stays_closed_between_points() -> None:
    table = np.zeros(24)
    table[10:14] = [1e-3, 3e-3, 3e-3, 1e-3]
    assert all(periodic_value(table, angle) == 0.0 for angle in np.linspace(0.0, 8.0 * CYCLE / 24.0, 50).tolist())


def test_mean_over_a_step_that_opens_the_valve_is_near_the_integral() -> None:
    table = np.maximum(np.sin(np.arange(720) * 2.0 * math.pi / 720.0 - 0.7), 0.0)
    start, end = 0.69 * 2.0, 0.72 * 2.0  # opens at 0.7 of the table's turn, which is twice that of the crank
    fine = np.linspace(start, end, 2001)
    integral = np.mean([periodic_value(table, one) for one in fine.tolist()])
    assert periodic_mean(table, start, end) == pytest.approx(float(integral), rel=0.05)
    # The value in the middle is a quarter off.
    assert abs(periodic_value(table, 0.5 * (start + end)) / integral - 1.0) > 0.2


def test_angle_that_is_no_number_gives_none() -> None:
    assert math.isnan(periodic_value(np.zeros(8), math.nan))
    assert math.isnan(periodic_value(np.zeros(8), math.inf))
