from __future__ import annotations

import numpy as np
import pytest

from pullbook.curves.all_windows import (
    integrals_to,
    mean_half_widths,
    round_ends,
    share_half_widths,
    window_places,
)
from pullbook.curves.quantiles import half_width
from pullbook.curves.windows import window_weights

GRID = np.arange(2000.0, 4001.0, 50.0)
UNEVEN = np.array([1990.0, 2003.0, 2400.0, 2410.0, 3900.0, 4020.0])


def _smooth_draws(count: int, *, rough: float = 0.3) -> np.ndarray:
    """Draws that wander over speed, as those of curves do. [N m]"""
    generator = np.random.default_rng(3)
    steps = generator.standard_normal((GRID.size, count)) * rough
    return generator.standard_normal(count) * 2.0 + np.cumsum(steps, axis=0)


@pytest.mark.parametrize("count", [1, 2, 19, 500])
def test_every_window_has_the_half_width_that_it_has_by_itself(count: int) -> None:
    draws = _smooth_draws(count)
    ends = round_ends(GRID, 30)
    found = mean_half_widths(integrals_to(GRID, draws, ends), ends, 0.95)
    low, high = window_places(ends.size)
    alone = [half_width(window_weights(GRID, ends[a], ends[b]) @ draws, 0.95) for a, b in zip(low, high, strict=True)]
    assert found == pytest.approx(np.array(alone), rel=1e-9)


def test_where_neighbouring_windows_differ_wildly_no_draw_is_lost() -> None:
    # Noise without memory and a spike: the window beside says nothing, so that too many draws are left out at first.
    draws = np.random.default_rng(4).standard_normal((GRID.size, 300))
    draws[20] *= 500.0
    found = mean_half_widths(integrals_to(GRID, draws, GRID), GRID, 0.95)
    low, high = window_places(GRID.size)
    alone = [half_width(window_weights(GRID, GRID[a], GRID[b]) @ draws, 0.95) for a, b in zip(low, high, strict=True)]
    assert found == pytest.approx(np.array(alone), rel=1e-9)


def test_a_share_has_the_half_width_of_its_draws_about_the_estimate() -> None:
    gains, bases = _smooth_draws(400), 150.0 + _smooth_draws(400, rough=0.5)[::-1]
    ends = round_ends(GRID, 12)
    low, high = window_places(ends.size)
    weights = np.array([window_weights(GRID, ends[a], ends[b]) for a, b in zip(low, high, strict=True)])
    centres = 100.0 * (weights @ gains.mean(axis=1)) / (weights @ bases.mean(axis=1))
    alone = [
        half_width(100.0 * (one @ gains) / (one @ bases) - centre, 0.95)
        for one, centre in zip(weights, centres, strict=True)
    ]
    to_ends = integrals_to(GRID, gains, ends), integrals_to(GRID, bases, ends)
    found = share_half_widths(to_ends[0], to_ends[1], centres, ends, 0.95)
    assert found == pytest.approx(np.array(alone), rel=1e-9)


def test_without_draws_no_half_width_is_known() -> None:
    nothing = np.zeros((GRID.size, 0))
    assert np.isnan(mean_half_widths(nothing, GRID, 0.95)).all()
    assert mean_half_widths(nothing, GRID, 0.95).size == GRID.size * (GRID.size - 1) // 2


def test_an_integral_is_that_of_the_straight_lines_between_uneven_samples() -> None:
    values = np.array([1.0, 5.0, 2.0, 2.0, 8.0, 0.0])
    at = np.array([1990.0, 2000.0, 2405.0, 3100.0, 4020.0])
    fine = np.linspace(1990.0, 4020.0, 2_030_001)
    heights = np.interp(fine, UNEVEN, values)
    sums = np.concatenate(([0.0], np.cumsum(0.5 * (heights[1:] + heights[:-1]) * np.diff(fine))))
    assert integrals_to(UNEVEN, values, at) == pytest.approx(np.interp(at, fine, sums), abs=1e-5)


@pytest.mark.parametrize(
    ("first", "last", "most", "expected"),
    [
        (2000.0, 2200.0, 61, 50.0),
        (2050.0, 8050.0, 61, 100.0),
        (2000.0, 14000.0, 61, 200.0),
        (2000.0, 6000.0, 17, 250.0),
    ],
)
def test_ends_of_windows_are_round_and_not_too_many(first: float, last: float, most: int, expected: float) -> None:
    ends = round_ends(np.arange(first, last + 1.0, 50.0), most)
    assert (ends[0], ends[-1]) == (first, last)
    assert ends.size <= most + 1
    assert set(np.diff(ends[1:-1])) == {expected}
    assert not (ends[1:-1] % expected).any()


def test_two_speeds_make_one_window() -> None:
    assert round_ends(np.array([2000.0, 2050.0]), 2).tolist() == [2000.0, 2050.0]
    assert [one.tolist() for one in window_places(2)] == [[0], [1]]
