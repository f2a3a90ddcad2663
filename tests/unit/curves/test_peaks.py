from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from pullbook.curves.peaks import peak_height, peak_place, peak_range

SPEED = np.arange(2000.0, 6001.0, 50.0)
HILL = 200.0 - ((SPEED - 4300.0) / 400.0) ** 2
QUANTILES = norm.ppf((np.arange(4000) + 0.5) / 4000)


def test_an_error_of_the_level_moves_the_peak_up_and_down_but_not_aside() -> None:
    draws = HILL + 2.0 * QUANTILES[:, None]
    place = peak_place(SPEED, HILL)
    assert (place.rpm, place.value) == (4300.0, 200.0)
    assert peak_height(draws, 0.95) == pytest.approx((200.0 - 2 * 1.96, 200.0 + 2 * 1.96), abs=0.02)
    assert peak_range(SPEED, draws, place.index, 0.05) == (4300.0, 4300.0)


def test_an_error_of_the_slope_opens_the_range_of_the_peak() -> None:
    # Slope s per rpm with sd 0.002: the line is above the loss (r - 4300)^2/160000 up to r - 4300 = 160000 s, so that
    # the one-sided 95 % bound reaches 1.645 * 0.002 * 160000 = 526 rpm.
    draws = HILL + 0.002 * QUANTILES[:, None] * (SPEED - 4300.0)
    low, high = peak_range(SPEED, draws, peak_place(SPEED, HILL).index, 0.05)
    assert (low, high) == (3800.0, 4800.0)


def test_the_first_of_equal_points_is_the_peak() -> None:
    assert peak_place(SPEED, np.minimum(HILL, 199.0)).rpm == 3900.0
