from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from noise_model import BENCH, IID, simulate
from scipy import stats

from pullbook.compare.joint import draw_jointly
from pullbook.compare.selfcheck import averaged_variance_band, selfcheck_ratio


def test_scatter_of_level_alone_gives_students_t() -> None:
    # one degree of freedom for each residual pull: the band of curves that only move up and down is the t interval
    generator = np.random.default_rng(3)
    offset = generator.standard_normal(12)
    cell = np.repeat([0, 1, 2], 4)
    curves = offset[:, None] + np.zeros(40)
    half = averaged_variance_band(curves, cell, 0.95, seed=1)
    residual = offset - offset.reshape(3, 4).mean(axis=1)[cell]
    expected = stats.t.ppf(0.975, 9) * np.sqrt((residual**2).sum() / 9 * 2 / 4)
    assert half[0] == pytest.approx(expected, rel=0.03)


def test_model_and_simple_method_agree_where_the_model_holds() -> None:
    ratios = []
    for seed in range(12):
        comparison = simulate(
            "ABCDABCDABCD", IID, np.random.default_rng(seed), own_fitting=True, timed=False, draws=500
        ).comparison
        ratios.append(selfcheck_ratio(comparison, draw_jointly(comparison)))
    assert all(ratio is not None and 0.8 < ratio < 1.25 for ratio in ratios)


def test_pulls_of_one_fitting_are_what_is_checked_where_parts_were_fitted_again() -> None:
    comparison = simulate("AAABBBAAA", replace(BENCH, refit=3.0), np.random.default_rng(1), draws=500).comparison
    ratio = selfcheck_ratio(comparison, draw_jointly(comparison))
    assert ratio is not None
    assert 0.75 < ratio < 1.3


def test_a_pull_unlike_the_others_is_noticed() -> None:
    comparison = simulate(
        "ABABABAB", replace(IID, vary=0.0), np.random.default_rng(2), own_fitting=True, timed=False, draws=500
    ).comparison
    pulls = list(comparison.pulls)
    bump = 12.0 * np.exp(-(((pulls[3].speed_rpm - 2400.0) / 120.0) ** 2))
    pulls[3] = replace(pulls[3], torque=pulls[3].torque * (1 + bump / 100.0))
    spoilt = replace(comparison, pulls=tuple(pulls))
    ratio, clean = (selfcheck_ratio(one, draw_jointly(one)) for one in (spoilt, comparison))
    assert ratio is not None
    assert clean is not None
    assert 0.8 < clean < 1.25
    assert not 0.8 < ratio < 1.25


@pytest.mark.parametrize("order", ["AB", "ABAB", "AABB", "AAABB"])
def test_below_four_degrees_of_freedom_nothing_is_said(order: str) -> None:
    comparison = simulate(order, BENCH, np.random.default_rng(1), draws=200).comparison
    assert selfcheck_ratio(comparison, draw_jointly(comparison)) is None
