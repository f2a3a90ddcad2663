"""The smoothed derivative: exact on parabolas, calm on jitter, held samples and noise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.curves.derivative import local_slope, slope_bandwidth


def test_line_and_parabola_are_reproduced_on_any_times() -> None:
    generator = np.random.default_rng(1)
    time = np.sort(generator.uniform(0.0, 12.0, 500))
    speed = 2000.0 + 300.0 * time + 5.0 * time**2
    np.testing.assert_allclose(local_slope(time, speed, 0.5), 300.0 + 10.0 * time, rtol=1e-8)


def test_on_even_times_it_is_the_published_five_point_derivative() -> None:
    # Savitzky and Golay 1964: [-2 -1 0 1 2] / 10 for equal weights; with tricube weights (1-|u|^3)^3 at u = 0, 1/2, 1
    # of a span that reaches just beyond the outer samples the outer weight vanishes, which leaves [-1 0 1] / 2.
    speed = np.array([0.0, 1.0, 4.0, 4.0, 2.0])
    slope = local_slope(np.arange(5.0), speed, 4.0)
    assert slope[2] == pytest.approx((speed[3] - speed[1]) / 2, abs=1e-3)


def test_order_of_the_samples_does_not_matter() -> None:
    generator = np.random.default_rng(2)
    time = np.cumsum(generator.uniform(0.01, 0.03, 300))
    speed = 2000.0 + 300.0 * time + generator.normal(0.0, 5.0, 300)
    shuffled = generator.permutation(300)
    np.testing.assert_array_equal(
        local_slope(time[shuffled], speed[shuffled], 0.5), local_slope(time, speed, 0.5)[shuffled]
    )


def test_jitter_of_the_clock_and_held_values_leave_one_per_cent_of_the_rate() -> None:
    generator = np.random.default_rng(3)
    even = np.arange(0.0, 15.0, 0.02)
    speed = np.repeat(2000.0 + 300.0 * even[::3], 3)[: even.size]  # the bench sends every third value three times
    jittered = even + generator.normal(0.0, 0.004, even.size)
    slope = local_slope(jittered, speed, 0.5)
    assert abs(slope.mean() - 300.0) < 1.0
    assert slope.std() < 5.0
    naive = np.diff(speed) / np.diff(even)
    assert naive.std() > 400.0  # neighbouring differences of the same samples, even on a perfect clock


def test_noise_at_the_ends_is_no_more_than_three_times_that_in_the_middle() -> None:
    generator = np.random.default_rng(4)
    time = np.arange(0.0, 6.0, 0.02)
    noise = np.array([local_slope(time, generator.normal(0.0, 1.0, time.size), 0.5) for _ in range(200)])
    spread = noise.std(axis=0)
    assert max(spread[0], spread[-1]) < 3.0 * spread[150]


@pytest.mark.parametrize(("periods", "kept"), [(1.0, 0.58), (2.0, 0.88), (4.0, 0.97)])
def test_share_of_a_wave_that_is_kept_is_the_integral_of_the_weights(periods: float, kept: float) -> None:
    # A symmetric local parabola has the slope sum(w u y) / sum(w u^2); for y = sin(k u) and continuous samples this is
    # the integral of (1-|u|^3)^3 u sin(k u) over k times that of (1-|u|^3)^3 u^2, here by the midpoint rule.
    u = (np.arange(20_000) + 0.5) / 20_000
    weight, k = (1.0 - u**3) ** 3, np.pi / periods
    share = float((weight * u * np.sin(k * u)).sum() / (k * (weight * u**2).sum()))
    time = np.arange(0.0, 12.0, 0.004)
    wave = 2.0 * np.pi / (0.5 * periods)
    slope = local_slope(time, np.sin(wave * time), 0.5)[500:-500]
    truth = wave * np.cos(wave * time)[500:-500]
    assert float(slope @ truth / (truth @ truth)) == pytest.approx(share, abs=0.01)
    assert share == pytest.approx(kept, abs=0.005)


def test_samples_that_are_not_finite_take_no_part_and_have_no_slope() -> None:
    time = np.arange(0.0, 4.0, 0.05)
    speed = 300.0 * time
    speed[10], time[20] = np.nan, np.inf
    slope = local_slope(time, speed, 0.5)
    assert np.isnan(slope[[10, 20]]).all()
    rest = np.delete(slope, [10, 20])
    np.testing.assert_allclose(rest, 300.0, rtol=1e-9)


@pytest.mark.parametrize(
    ("time", "bandwidth"),
    [([], 0.5), ([1.0, 2.0], 0.5), ([1.0, 1.0, 1.0, 1.0], 0.5), ([0.0, 1.0, 2.0, 3.0], 0.0), ([0.0, 9.0, 18.0], 0.5)],
)
def test_where_times_do_not_fix_a_parabola_the_slope_is_nan_without_warning(
    time: list[float], bandwidth: float
) -> None:
    assert np.isnan(local_slope(time, np.arange(float(len(time))), bandwidth)).all()


def test_equal_times_among_others_are_averaged() -> None:
    time = np.repeat(np.arange(0.0, 4.0, 0.1), 2)
    np.testing.assert_allclose(local_slope(time, 250.0 * time, 0.6), 250.0, rtol=1e-9)


def test_bandwidth_is_half_a_second_a_twentieth_of_a_fast_sweep_or_eight_fresh_values() -> None:
    assert slope_bandwidth(np.arange(0, 15, 0.02), np.arange(750.0)) == pytest.approx(0.5)
    assert slope_bandwidth(np.linspace(0, 5, 251), np.arange(251.0)) == pytest.approx(0.25)
    ten_hertz = np.arange(0, 15, 0.1)
    assert slope_bandwidth(ten_hertz, np.arange(150.0)) == pytest.approx(0.8)
    held = np.repeat(np.arange(50.0), 3)
    assert slope_bandwidth(ten_hertz, held) == pytest.approx(8 * 14.9 / 49)


def test_bandwidth_of_a_signal_that_never_changes_is_not_known() -> None:
    assert np.isnan(slope_bandwidth(np.arange(100.0), np.ones(100)))
    assert np.isnan(slope_bandwidth([0.0, 1.0], [0.0, 1.0]))
    assert np.isnan(slope_bandwidth(np.zeros(10), np.arange(10.0)))


@given(st.floats(-2e3, 2e3), st.floats(-500, 500), st.integers(0, 2**32 - 1))
def test_slope_of_a_sum_is_the_sum_of_the_slopes(rate: float, bend: float, seed: int) -> None:
    generator = np.random.default_rng(seed)
    time = np.sort(generator.uniform(0.0, 3.0, 60))
    noise = generator.normal(0.0, 10.0, 60)
    whole = local_slope(time, rate * time + bend * time**2 + noise, 0.7)
    parts = rate + 2.0 * bend * time + local_slope(time, noise, 0.7)
    np.testing.assert_allclose(whole, parts, rtol=1e-6, atol=1e-4 * (1.0 + abs(rate) + abs(bend)))
