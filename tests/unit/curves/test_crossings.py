from __future__ import annotations

import numpy as np
import pytest

from pullbook.curves.crossings import (
    certain_crossings,
    inversion_interval,
    nearest_crossings,
    possible_zones,
    zeros,
)

SPEED = np.arange(2000.0, 6001.0, 50.0)


def test_a_sign_that_is_never_certain_on_one_side_certifies_nothing() -> None:
    centre = (SPEED - 3000.0) / 500.0
    assert certain_crossings(SPEED, centre - 3.0, centre + 3.0) == ()
    assert possible_zones(SPEED, centre, centre - 3.0, centre + 3.0) == ((2000.0, 4550.0),)


def test_the_zone_lies_between_the_last_and_the_first_speed_of_certain_sign() -> None:
    centre = (SPEED - 4010.0) / 500.0
    (crossing,) = certain_crossings(SPEED, centre - 1.0, centre + 1.0)
    assert (crossing.zone_low, crossing.zone_high, crossing.sign_above) == (3500.0, 4550.0, 1)
    assert possible_zones(SPEED, centre, centre - 1.0, centre + 1.0) == ()


def test_a_double_crossing_between_two_certain_ranges_of_one_sign_may_not_exist() -> None:
    centre = ((SPEED - 4000.0) / 1000.0) ** 2 - 0.1
    assert certain_crossings(SPEED, centre - 0.5, centre + 0.5) == ()
    ((low, high),) = possible_zones(SPEED, centre, centre - 0.5, centre + 0.5)
    assert low < 4000.0 - 775.0 < 4000.0 + 775.0 < high


def test_three_certain_ranges_make_two_crossings_of_opposite_sign() -> None:
    centre = ((SPEED - 4000.0) / 1000.0) ** 2 - 1.0
    found = certain_crossings(SPEED, centre - 0.2, centre + 0.2)
    assert [crossing.sign_above for crossing in found] == [-1, 1]
    assert found[0].zone_low < 3000.0 < found[0].zone_high
    assert found[1].zone_low < 5000.0 < found[1].zone_high


def test_a_missing_band_is_not_certain() -> None:
    centre = SPEED - 4010.0
    low, high = centre - 1.0, centre + 1.0
    low[:], high[:] = np.nan, np.nan
    assert certain_crossings(SPEED, low, high) == ()


def test_zeros_of_a_straight_line_and_of_one_that_rests_on_zero() -> None:
    assert zeros(SPEED, SPEED - 4010.0) == pytest.approx([4010.0])
    resting = np.clip(SPEED - 4000.0, -500.0, 0.0) + np.clip(SPEED - 4400.0, 0.0, None)
    assert zeros(SPEED, resting) == pytest.approx([4200.0])
    assert zeros(SPEED, np.abs(SPEED - 4000.0)).size == 0


def test_the_interval_of_a_crossing_is_that_of_fieller() -> None:
    # A line a + b x with normal a and b: Fieller's interval is where (a + b x)^2 <= z^2 var(a + b x), a quadratic.
    a, b = -0.35, 2.0
    covariance = np.array([[0.04, 0.015], [0.015, 0.09]])
    x = (SPEED - 4000.0) / 1000.0
    root = np.linalg.cholesky(covariance)
    pairs = np.random.default_rng(4).standard_normal((40_000, 2)) @ root.T
    deviations = pairs[:, :1] + pairs[:, 1:] * x
    z2 = 1.959964**2
    quadratic = [b * b - z2 * 0.09, 2 * (a * b - z2 * 0.015), a * a - z2 * 0.04]
    expected = 4000.0 + 1000.0 * np.sort(np.roots(quadratic))
    centre = a + b * x
    wide = 3.0 * np.sqrt(0.04 + 2 * 0.015 * x + 0.09 * x * x)
    (crossing,) = certain_crossings(SPEED, centre - wide, centre + wide)
    rpm, low, high = inversion_interval(crossing, SPEED, centre, deviations, 0.95)
    assert rpm == pytest.approx(4175.0)
    assert (low, high) == pytest.approx(tuple(expected), abs=6.0)


def test_pieces_of_the_interval_are_joined_to_their_hull() -> None:
    centre = np.where(SPEED < 3950.0, -1.0, 1.0)
    centre[30], centre[45] = -0.1, 0.1  # 3500 and 4250 rpm
    deviations = np.repeat(np.linspace(-0.5, 0.5, 999)[:, None], SPEED.size, axis=1)
    low_band, high_band = np.full(SPEED.size, -1.0), np.full(SPEED.size, 1.0)
    low_band[-1], high_band[0] = 0.1, -0.1
    (crossing,) = certain_crossings(SPEED, low_band, high_band)
    _, low, high = inversion_interval(crossing, SPEED, centre, deviations, 0.95)
    assert 3450.0 < low < 3500.0
    assert 4250.0 < high < 4300.0


def test_each_draw_gives_the_crossing_nearest_to_the_estimate() -> None:
    draws = np.stack([SPEED - 4100.0, (SPEED - 2600.0) * (SPEED - 4310.0), np.ones(SPEED.size)])
    found = nearest_crossings(SPEED, draws, 4000.0)
    assert found[0] == pytest.approx(4100.0)
    assert found[1] == pytest.approx(4310.0, abs=2.0)
    assert np.isnan(found[2])
