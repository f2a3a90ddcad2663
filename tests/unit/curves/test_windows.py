from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from pullbook.curves.windows import classical_interval, mean_over, window_weights

UNEVEN = np.array([2000.0, 2100.0, 2350.0, 2400.0, 3000.0, 3100.0])


@pytest.mark.parametrize("window", [(2000.0, 3100.0), (2040.0, 2360.0), (2101.0, 2102.0), (2350.0, 2400.0)])
def test_mean_of_a_straight_line_is_its_value_in_the_middle_of_the_window(window: tuple[float, float]) -> None:
    weights = window_weights(UNEVEN, *window)
    assert weights.sum() == pytest.approx(1.0)
    assert weights @ (3.0 * UNEVEN - 7.0) == pytest.approx(3.0 * sum(window) / 2 - 7.0)


def test_mean_is_the_integral_of_the_straight_lines_between_points() -> None:
    values = np.array([1.0, 5.0, 2.0, 2.0, 8.0, 0.0])
    fine = np.linspace(2050.0, 2950.0, 900_001)
    expected = np.trapezoid(np.interp(fine, UNEVEN, values), fine) / 900.0  # fine sums, no use of the weights
    assert mean_over(UNEVEN, values, 2050.0, 2950.0) == pytest.approx(expected, rel=1e-9)


def test_window_without_width_is_the_value_at_that_speed() -> None:
    values = np.array([1.0, 5.0, 2.0, 2.0, 8.0, 0.0])
    for at in (2000.0, 2225.0, 3000.0, 3100.0):
        assert window_weights(UNEVEN, at, at) @ values == pytest.approx(np.interp(at, UNEVEN, values))


@pytest.mark.parametrize("window", [(1999.0, 2500.0), (2500.0, 3101.0), (2500.0, 2400.0), (100.0, 200.0)])
def test_window_that_is_not_inside_the_grid_has_no_mean(window: tuple[float, float]) -> None:
    assert np.isnan(window_weights(UNEVEN, *window)).all()
    assert np.isnan(mean_over(UNEVEN, UNEVEN, *window))


def test_classical_interval_agrees_with_the_t_test_of_scipy() -> None:
    of, from_ = [5.1, 4.7, 5.6, 5.0], [4.2, 4.4, 4.1]
    value, low, high = classical_interval(of, from_, [], 0.95)
    expected = stats.ttest_ind(of, from_).confidence_interval(0.95)
    assert value == pytest.approx(np.mean(of) - np.mean(from_))
    assert (low, high) == pytest.approx((expected.low, expected.high))


def test_further_builds_lend_their_scatter_to_the_classical_interval() -> None:
    # By hand: s^2 = (2 + 0 + 8)/3, t(0.975, 3) = 3.182446 (tables), half-width t s sqrt(1/2 + 1/2).
    _, low, high = classical_interval([1.0, 3.0], [0.0, 0.0], [[2.0, 6.0]], 0.95)
    assert (high - low) / 2 == pytest.approx(3.182446 * np.sqrt(10 / 3), rel=1e-6)


def test_single_values_have_no_classical_interval() -> None:
    value, low, high = classical_interval([2.0], [1.5], [[4.0]], 0.95)
    assert value == 0.5
    assert np.isnan([low, high]).all()
