from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.weightstats import ttost_ind, ttost_paired

from pullbook.curves.equivalence import (
    inside_probability,
    one_sided_probability,
    outside_probability,
    smallest_margin,
)
from pullbook.curves.multiplicity import holm

BEFORE = np.array([4.0, 7.0, 8.0, 6.0, 3.0, 2.0])
AFTER = np.array([6.0, 8.0, 7.0, 10.0, 11.0, 9.0])
MANY = (np.arange(400_000) + 0.5) / 400_000


@pytest.mark.parametrize("seed", range(5))
def test_holm_agrees_with_statsmodels(seed: int) -> None:
    p = np.random.default_rng(seed).uniform(0.0, 0.2, 9)
    p[3] = p[5]
    assert holm(p) == pytest.approx(multipletests(p, method="holm")[1], rel=1e-12)


def test_a_question_that_was_not_asked_does_not_count_for_holm() -> None:
    assert holm(np.array([0.02, np.nan, 0.03]))[[0, 2]] == pytest.approx([0.04, 0.04])
    assert np.isnan(holm(np.array([0.02, np.nan]))[1])


def _t_draws(sd: float, freedom: int) -> np.ndarray:
    """Draws of Student's t without sampling error: its quantiles at even steps."""
    return np.asarray(sd * stats.t.ppf(MANY, freedom))[:, None]


@pytest.mark.parametrize(
    ("margin", "paired", "published"),
    # Statistics note, section 10, I: documentation of pingouin; statsmodels gives the same.
    [(1.0, False, 0.965097), (5.0, False, 0.125591), (5.0, True, 0.171390)],
)
def test_two_one_sided_tests_give_the_published_probabilities(*, margin: float, paired: bool, published: float) -> None:
    difference = BEFORE - AFTER
    sd = difference.std(ddof=1) / np.sqrt(6) if paired else np.sqrt((BEFORE.var(ddof=1) + AFTER.var(ddof=1)) / 6)
    centre = np.array([difference.mean()])
    p = inside_probability(centre, _t_draws(sd, 5 if paired else 10), margin)
    test = ttost_paired if paired else ttost_ind
    assert test(BEFORE, AFTER, -margin, margin)[0] == pytest.approx(published, abs=1e-6)
    assert p == pytest.approx(published, abs=2e-5)


def test_the_worst_speed_decides_whether_a_curve_is_inside() -> None:
    draws = np.repeat(_t_draws(1.0, 8), 3, axis=1)
    centre = np.array([0.2, 1.0, -0.4])
    alone = inside_probability(centre[1:2], draws[:, :1], 3.0)
    assert inside_probability(centre, draws, 3.0) == alone
    assert alone == pytest.approx(stats.t.sf(2.0, 8), abs=1e-5)


def test_a_curve_beyond_the_margin_is_more_likely_outside_than_not() -> None:
    draws = _t_draws(1.0, 8)
    assert inside_probability(np.array([2.0]), draws, 1.0) == pytest.approx(stats.t.cdf(1.0, 8), abs=1e-5)


def test_one_speed_outside_the_margin_is_tested_two_sidedly() -> None:
    p = outside_probability(np.array([4.0]), _t_draws(1.0, 8), 1.0)
    assert p == pytest.approx(2 * stats.t.sf(3.0, 8), abs=1e-5)


def test_many_independent_speeds_make_leaving_the_margin_harder_to_prove() -> None:
    draws = np.random.default_rng(1).standard_normal((20_000, 40))
    centre = np.zeros(40)
    centre[7] = 4.0
    one = 2 * stats.norm.sf(3.0)
    expected = 1.0 - (1.0 - one) ** 40  # largest of 40 independent normal numbers
    # The standard error from 20,000 draws is right to about 1 %, which the tail makes 10 %.
    assert outside_probability(centre, draws, 1.0) == pytest.approx(expected, rel=0.15)


def test_the_smallest_margin_is_where_the_proof_begins() -> None:
    generator = np.random.default_rng(3)
    draws, centre = generator.standard_normal((4000, 11)), generator.standard_normal(11)
    margin = smallest_margin(centre, draws, 0.05)
    assert inside_probability(centre, draws, margin * 1.001) <= 0.05
    assert inside_probability(centre, draws, margin * 0.98) > 0.05


def test_one_sided_probabilities_of_both_directions_sum_to_one() -> None:
    draws = np.random.default_rng(3).standard_normal(4000)
    assert one_sided_probability(0.7, draws) + one_sided_probability(-0.7, draws) == pytest.approx(1.0)
    assert one_sided_probability(0.7, draws) == pytest.approx(stats.norm.sf(0.7), abs=0.01)
