"""Curves pooled over sessions, on rpm and on shares of the torque peak."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from pullbook.curves.pooling_curve import on_relative_speed, pool_curves, relative_axis, widest_of_many
from pullbook.curves.pooling_mean import random_effects

SPEED_RPM = np.linspace(2000.0, 6500.0, 91)


@pytest.mark.parametrize(("places", "freedom"), [(1, 3), (4, 2), (10, 5), (10, 60), (25, 19)])
def test_factor_of_the_band_is_the_studentised_maximum_modulus(places: int, freedom: int) -> None:
    found = widest_of_many(float(places), freedom, 0.95)

    def part(size: float) -> float:
        density = 2.0 * freedom * size * stats.chi2.pdf(freedom * size**2, freedom)
        return float((1.0 - 2.0 * stats.norm.sf(found * size)) ** places * density)

    held, _ = integrate.quad(part, 0.0, 6.0, limit=200)
    assert held == pytest.approx(0.95, abs=1e-3)


def test_factor_for_one_place_is_students_t_of_scipy() -> None:
    assert widest_of_many(1.0, 7, 0.95) == pytest.approx(stats.t.ppf(0.975, 7), rel=2e-3)


def test_pooled_curve_has_the_weights_of_the_scalar_at_every_speed() -> None:
    generator = np.random.default_rng(5)
    curves, sd = generator.standard_normal((4, 91)), np.array([0.5, 1.0, 1.0, 2.0])
    fit = random_effects(curves.mean(axis=1), sd, "never zero")
    pooled = pool_curves(curves, np.tile(sd[:, None], 91), SPEED_RPM, fit, np.full(4, 2.9))
    assert pooled.mean == pytest.approx(np.average(curves, axis=0, weights=fit.weight))
    assert np.all(pooled.next_high - pooled.next_low > pooled.high - pooled.low)


def test_nothing_is_said_where_fewer_than_two_sessions_were_measured() -> None:
    curves = np.zeros((3, 91))
    curves[0, 60:] = curves[1, 80:] = np.nan
    fit = random_effects(np.array([0.0, 0.5, 1.0]), np.ones(3), "never zero")
    pooled = pool_curves(curves + np.array([0.0, 0.5, 1.0])[:, None], np.ones((3, 91)), SPEED_RPM, fit, np.full(3, 2.9))
    assert pooled.sessions[[0, 70, 90]].tolist() == [3, 2, 1]
    assert np.isfinite(pooled.low[:80]).all()
    assert np.isnan(pooled.low[80:]).all()
    assert np.isnan(pooled.next_low[60:]).all()
    # Two sessions leave one degree of freedom fewer, so that their band is wider at once.
    assert pooled.high[70] - pooled.low[70] > 1.3 * (pooled.high[50] - pooled.low[50])


def test_sessions_that_differ_more_at_the_top_have_a_wider_band_there() -> None:
    generator = np.random.default_rng(8)
    level = generator.standard_normal((12, 1))
    wild = np.where(SPEED_RPM > 5000.0, 4.0, 1.0)
    fit = random_effects(level[:, 0], np.full(12, 0.3), "never zero")
    pooled = pool_curves(level * wild, np.full((12, 91), 0.3), SPEED_RPM, fit, np.full(12, 2.8))
    width = pooled.high - pooled.low
    assert width[-1] > 1.7 * width[0]


def test_a_crossover_at_the_same_share_of_the_torque_peak_is_one_crossover_of_the_pool() -> None:
    # Two engines whose gain crosses zero at 0.8 of their torque peak, at 3,200 and at 4,800 rpm.
    peaks = (4000.0, 6000.0)
    speeds = [peak * np.linspace(0.5, 1.5, 61) for peak in peaks]
    share = relative_axis(speeds, peaks)
    curves = [
        on_relative_speed(share, speed, 3.0 * np.tanh((speed / peak - 0.8) / 0.2), peak)
        for speed, peak in zip(speeds, peaks, strict=True)
    ]
    assert share[[0, -1]] == pytest.approx([0.5, 1.5])
    for curve in curves:
        assert share[np.argmin(np.abs(curve))] == pytest.approx(0.8)
        assert curve == pytest.approx(3.0 * np.tanh((share - 0.8) / 0.2), abs=0.01)
    wider = on_relative_speed(np.array([0.49, 0.5, 1.51]), speeds[0], np.ones(61), 4000.0)
    assert np.isnan(wider).tolist() == [True, False, True]
