from __future__ import annotations

import numpy as np
import pytest

from pullbook.curves.bands import simultaneous_band, simultaneous_family


def test_a_curve_that_only_moves_up_and_down_needs_no_more_than_one_normal_quantile() -> None:
    # Kac-Rice limit: a Gaussian process of length one has q = 1.96 (statistics note, section 10 J iii)
    draws = np.random.default_rng(4).standard_normal((200_000, 1)) * np.linspace(1.0, 3.0, 20)
    _, _, q, se = simultaneous_band(np.zeros(20), draws, 0.95)
    assert q == pytest.approx(1.95996, abs=0.015)
    np.testing.assert_allclose(se, np.linspace(1.0, 3.0, 20), rtol=0.01)


def test_independent_speeds_need_the_quantile_of_the_largest() -> None:
    draws = np.random.default_rng(5).standard_normal((100_000, 10))
    _, _, q, _ = simultaneous_band(np.zeros(10), draws, 0.95)
    assert q == pytest.approx(2.8, abs=0.02)  # Sidak: normal quantile of (1 + 0.95^(1/10))/2 = 2.7996


def test_the_band_holds_the_stated_share_of_its_own_draws() -> None:
    draws = np.random.default_rng(6).standard_normal((2000, 30)).cumsum(axis=1)
    low, high, _, _ = simultaneous_band(np.zeros(30), draws, 0.9)
    inside = ((draws >= low) & (draws <= high)).all(axis=1).mean()
    assert inside == pytest.approx(0.9, abs=0.002)


def test_the_negated_curve_has_the_negated_band_to_the_last_bit() -> None:
    generator = np.random.default_rng(7)
    draws, centre = generator.standard_normal((501, 9)), generator.standard_normal(9)
    low, high, _, _ = simultaneous_band(centre, draws, 0.95)
    other_low, other_high, _, _ = simultaneous_band(-centre, -draws, 0.95)
    assert np.array_equal(low, -other_high)
    assert np.array_equal(high, -other_low)


def test_speeds_without_data_are_nan_and_change_nothing_elsewhere() -> None:
    draws = np.random.default_rng(8).standard_normal((500, 6))
    whole = simultaneous_band(np.zeros(4), draws[:, :4], 0.95)
    centre = np.array([0.0, 0.0, 0.0, 0.0, np.nan, np.nan])
    low, _, q, _ = simultaneous_band(centre, np.where(np.isnan(centre), np.nan, draws), 0.95)
    assert q == whole[2]
    assert np.array_equal(low[:4], whole[0])
    assert np.isnan(low[4:]).all()


def test_a_family_is_as_wide_as_one_curve_made_of_all() -> None:
    draws = np.random.default_rng(9).standard_normal((1000, 3, 5))
    low, _, q, _ = simultaneous_family(np.zeros((3, 5)), draws, 0.95)
    flat_low, _, flat_q, _ = simultaneous_band(np.zeros(15), draws.reshape(1000, 15), 0.95)
    assert q == flat_q
    assert np.array_equal(low.ravel(), flat_low)


def test_without_draws_there_is_no_band() -> None:
    low, high, q, se = simultaneous_band(np.zeros(3), np.zeros((0, 3)), 0.95)
    assert np.isnan([*low, *high, q, *se]).all()
