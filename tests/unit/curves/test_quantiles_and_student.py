from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from pullbook.curves.quantiles import half_width, half_widths, percentile_interval, tail_probability
from pullbook.curves.student import t_probability, t_quantile


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 7, 16, 60, 121])
def test_student_agrees_with_scipy(freedom: int) -> None:
    for t in (-30.0, -2.2, 0.0, 0.3, 1.7, 12.0):
        assert t_probability(t, freedom) == pytest.approx(stats.t.cdf(t, freedom), abs=1e-13)
    for p in (0.001, 0.2, 0.8, 0.975, 0.9999):
        assert t_quantile(p, freedom) == pytest.approx(stats.t.ppf(p, freedom), rel=1e-10)


def test_without_degrees_of_freedom_there_is_no_quantile() -> None:
    assert np.isnan(t_quantile(0.975, 0))


def test_half_width_of_normal_draws_is_the_normal_quantile() -> None:
    draws = stats.norm.ppf((np.arange(20_000) + 0.5) / 20_000)
    assert half_width(draws, 0.95) == pytest.approx(1.959964, rel=2e-3)  # tables of the normal distribution
    assert half_width(draws, 0.6826895) == pytest.approx(1.0, rel=2e-3)


def test_half_widths_and_percentiles_of_the_negated_draws_are_the_same_to_the_last_bit() -> None:
    draws = np.random.default_rng(1).standard_normal((999, 7)) ** 3
    assert np.array_equal(half_widths(draws, 0.9), half_widths(-draws, 0.9))
    low, high = percentile_interval(draws[:, 0], 0.95)
    assert percentile_interval(-draws[:, 0], 0.95) == (-high, -low)


def test_nan_in_a_column_of_draws_stays_in_that_column() -> None:
    draws = np.ones((10, 2))
    draws[3, 1] = np.nan
    widths = half_widths(draws, 0.9)
    assert widths[0] == 1.0
    assert np.isnan(widths[1])


def test_percentile_interval_leaves_equal_numbers_outside() -> None:
    draws = np.arange(1000.0)
    low, high = percentile_interval(draws, 0.9)
    assert (draws < low).sum() == (draws > high).sum()
    assert (draws < low).sum() <= 50


def test_no_probability_is_stated_below_what_the_draws_resolve() -> None:
    assert tail_probability(0, 4000) == pytest.approx(1 / 4001)
    assert tail_probability(4000, 4000) == 1.0
