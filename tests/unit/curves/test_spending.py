"""Levels of repeated looks held to published boundaries and to integrals of the multivariate normal distribution."""

from __future__ import annotations

from itertools import accumulate
from typing import Any

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from pullbook.curves.spending import crossing, look_levels, spent

FIVE = (1.0, 2.0, 3.0, 4.0, 5.0)


def test_published_boundaries_of_five_looks_cross_in_five_of_a_hundred() -> None:
    # Two-sided 5 %, five looks. Pocock 1977: 2.413 at each; O'Brien and Fleming 1979: 2.040 sqrt(5 / k). The constants
    # are those of Jennison and Turnbull 2000, tables 2.1 and 2.3 (from memory); both sides add, but for a path in 10^5.
    assert 2.0 * crossing(FIVE, [2.413] * 5) == pytest.approx(0.05, abs=1e-4)
    assert 2.0 * crossing(FIVE, [2.040 * np.sqrt(5.0 / k) for k in FIVE]) == pytest.approx(0.05, abs=1e-4)


def test_levels_are_those_of_published_spending_of_the_kind_of_o_brien_and_fleming() -> None:
    # Lan and DeMets 1983, two-sided 5 %, spending 2 - 2 Phi(z / sqrt(t)): 4.877, 3.357, 2.680, 2.290, 2.031
    # (Jennison and Turnbull 2000, section 7.2, from memory).
    z = norm.isf(0.0125)
    spends = [float(2.0 * norm.sf(z / np.sqrt(k / 5.0))) for k in FIVE]
    boundaries = [float(norm.isf(level)) for level in look_levels(FIVE, spends)]
    assert boundaries == pytest.approx([4.877, 3.357, 2.680, 2.290, 2.031], abs=0.006)


def _inside(boundaries: Any, correlation: Any) -> float:
    """Any, because the stubs know no matrix as a covariance."""
    return float(multivariate_normal.cdf(boundaries, cov=correlation, abseps=5e-5, rng=np.random.default_rng(1)))


@pytest.mark.parametrize("looks", [(6, 9, 12, 16), (3, 12), (5, 6, 12)])
def test_each_look_spends_what_it_may_by_the_multivariate_normal_distribution(looks: tuple[int, ...]) -> None:
    # SciPy integrates the joint distribution of all looks, whose correlations are the roots of ratios of pulls.
    spends = [0.025 * (look / looks[-1]) ** 2 for look in looks]
    boundaries = norm.isf(look_levels(looks, spends))
    for count in range(1, len(looks) + 1):
        some = np.array(looks[:count], dtype=float)
        ratio = np.minimum(some[:, None], some[None, :]) / np.maximum(some[:, None], some[None, :])
        inside = _inside(boundaries[:count], np.sqrt(ratio))
        assert 1.0 - inside == pytest.approx(spends[count - 1], abs=2e-4)


def test_one_look_at_the_end_has_the_whole_level_and_more_looks_leave_less_at_the_end() -> None:
    last = [look_levels(looks, [spent(k / 12, 0.05) for k in looks])[-1] for looks in ((12,), (9, 12), (6, 9, 12))]
    assert last[0] == pytest.approx(0.05, abs=1e-6)
    assert last == sorted(last, reverse=True)
    assert last[2] > 0.05 - spent(9 / 12, 0.05)  # looks are correlated: the last keeps more than what was not spent


def test_no_level_is_above_what_its_look_and_all_before_may_spend() -> None:
    spends = list(accumulate([0.01, 0.0, 0.02]))
    first, nothing, third = look_levels((4.0, 8.0, 12.0), spends)
    assert first == pytest.approx(0.01, abs=1e-9)
    assert nothing < 1e-9
    assert 0.02 <= third <= 0.03
