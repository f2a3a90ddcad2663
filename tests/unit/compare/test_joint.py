from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from noise_model import BENCH, IID, Simulated, simulate
from scipy import stats

from pullbook.compare.joint import draw_jointly
from pullbook.curves.bands import simultaneous_band
from pullbook.errors import RefusalError

if TYPE_CHECKING:
    from pullbook.records.comparison import ComparablePull, Comparison

QUIET = replace(BENCH, offset=0.0, smooth=0.0, white=0.0, refit=0.0, refit_shape=0.0, drift=0.0, walk=0.0)


def session(order: str = "AAABBBAAA", seed: int = 5, draws: int = 500) -> Simulated:
    return simulate(order, BENCH, np.random.default_rng(seed), draws=draws)


def with_pulls(comparison: Comparison, pulls: list[ComparablePull]) -> Comparison:
    return replace(comparison, pulls=tuple(pulls))


def test_the_order_of_the_files_and_their_names_change_nothing() -> None:
    comparison = session().comparison
    order = np.random.default_rng(1).permutation(len(comparison.pulls))
    other = with_pulls(comparison, [replace(comparison.pulls[i], name=f"renamed {i}") for i in order])
    first, second = draw_jointly(comparison), draw_jointly(other)
    assert np.array_equal(first.draws, second.draws)
    assert np.array_equal(first.centre, second.centre)
    assert first.seed == second.seed


def test_pulls_of_one_time_are_put_in_order_by_their_numbers() -> None:
    comparison = simulate("ABABAB", IID, np.random.default_rng(5), own_fitting=True, timed=False, draws=300).comparison
    other = [replace(pull, name=f"z{9 - index}") for index, pull in enumerate(reversed(comparison.pulls))]
    assert np.array_equal(draw_jointly(comparison).draws, draw_jointly(with_pulls(comparison, other)).draws)


def test_per_cent_refer_to_the_geometric_mean_of_all_builds() -> None:
    simulated = simulate("AAABBBBBCC", QUIET, np.random.default_rng(2), draws=300)
    joint = draw_jointly(simulated.comparison)
    product = np.prod([simulated.torque(name, joint.grid_rpm) for name in "ABC"], axis=0)
    np.testing.assert_allclose(joint.reference, np.cbrt(product), rtol=5e-4)  # smoothing of the humps by the splines


@pytest.mark.parametrize("order", ["AAABBBAAA", "ABCABC"])
def test_swapping_two_builds_swaps_their_curves_to_the_last_bit(order: str) -> None:
    comparison = session(order).comparison
    swap = {"A": "B", "B": "A"}
    other = with_pulls(comparison, [replace(pull, build=swap.get(pull.build, pull.build)) for pull in comparison.pulls])
    first, second = draw_jointly(comparison), draw_jointly(other)
    assert np.array_equal(first.draws[:, 1] - first.draws[:, 0], -(second.draws[:, 1] - second.draws[:, 0]))
    assert np.array_equal(first.centre[1] - first.centre[0], -(second.centre[1] - second.centre[0]))
    assert np.array_equal(first.reference, second.reference)


def test_another_unit_of_torque_changes_nothing_in_per_cent() -> None:
    comparison = session().comparison
    foot_pounds = [replace(pull, torque=pull.torque * 0.737562149277266) for pull in comparison.pulls]
    first, second = draw_jointly(comparison), draw_jointly(with_pulls(comparison, foot_pounds))
    assert first.seed == second.seed
    np.testing.assert_allclose(second.draws, first.draws, atol=1e-9)
    np.testing.assert_allclose(second.reference / first.reference, 0.737562149277266, rtol=1e-12)


def test_other_data_give_another_seed() -> None:
    comparison = session().comparison
    later = [replace(pull, time=pull.time * 1.01) for pull in comparison.pulls]
    assert draw_jointly(with_pulls(comparison, later)).seed != draw_jointly(comparison).seed


def test_without_noise_the_true_difference_comes_back_and_the_band_is_a_line() -> None:
    simulated = simulate("AAABBBAAA", QUIET, np.random.default_rng(2), draws=500)
    joint = draw_jointly(simulated.comparison)
    unit = joint.reference / 100.0
    found = (joint.centre[1] - joint.centre[0]) * unit
    true = simulated.torque("B", joint.grid_rpm) - simulated.torque("A", joint.grid_rpm)
    assert np.abs(found - true).max() < 0.02  # of 220 N m; what linear interpolation of the truth leaves
    assert np.abs(joint.draws - joint.centre)[:, 1].mean() < 2.0  # re-fitting stays assumed


def test_grid_lies_fifty_rpm_inside_what_all_pulls_share_and_inside_what_was_asked() -> None:
    comparison = session().comparison
    short = [
        replace(pull, speed_rpm=pull.speed_rpm[5:], torque=pull.torque[5:]) if index == 3 else pull
        for index, pull in enumerate(comparison.pulls)
    ]
    joint = draw_jointly(with_pulls(comparison, short))
    assert short[3].speed_rpm[0] + 50.0 <= joint.grid_rpm[0] < short[3].speed_rpm[0] + 100.0
    assert joint.grid_rpm[-1] == 6450.0
    assert (np.diff(joint.grid_rpm) == 50.0).all()
    asked = draw_jointly(replace(comparison, rpm_range=(3000.0, 5000.0)))
    assert asked.grid_rpm[0] == 3000.0
    assert asked.grid_rpm[-1] == 5000.0


def test_nothing_is_drawn_across_a_gap() -> None:
    comparison = session().comparison
    pulls = list(comparison.pulls)
    kept = (pulls[4].speed_rpm < 3000.0) | (pulls[4].speed_rpm > 3900.0)
    pulls[4] = replace(pulls[4], speed_rpm=pulls[4].speed_rpm[kept], torque=pulls[4].torque[kept])
    joint = draw_jointly(with_pulls(comparison, pulls))
    inside = (joint.grid_rpm > 3050.0) & (joint.grid_rpm < 3850.0)
    for values in (joint.reference, joint.centre[0], joint.draws[7, 1]):
        assert np.isnan(values[inside]).all()
        assert np.isfinite(values[(joint.grid_rpm < 2800.0) | (joint.grid_rpm > 4100.0)]).all()


def test_a_step_test_of_twelve_points_gives_coarser_curves_and_bands() -> None:
    comparison = session().comparison
    points = np.linspace(2000.0, 6500.0, 12)
    steps = [
        replace(pull, speed_rpm=points, torque=np.interp(points, pull.speed_rpm, pull.torque))
        for pull in comparison.pulls
    ]
    joint = draw_jointly(with_pulls(comparison, steps))
    assert joint.resolution_rpm == pytest.approx(3000.0)  # six functions, three intervals
    assert joint.variances.white_sd < 1.5
    assert np.isfinite(joint.draws).all()


def test_one_pull_each_gives_curves_without_draws() -> None:
    joint = draw_jointly(session("AB").comparison)
    assert joint.draws.shape == (0, 2, 89)
    assert joint.degrees_of_freedom == 0
    assert np.isfinite(joint.centre).all()


def test_builds_with_one_pull_borrow_the_scatter_of_the_others() -> None:
    joint = draw_jointly(session("AAAB").comparison)
    spread = (joint.draws - joint.centre).std(axis=0).mean(axis=1)
    assert joint.degrees_of_freedom == 2
    assert spread[1] > spread[0]


def test_builds_that_differ_by_a_third_are_compared_in_the_logarithm() -> None:
    comparison = session().comparison
    strong = [replace(pull, torque=pull.torque * (1.3 if pull.build == "B" else 1.0)) for pull in comparison.pulls]
    joint, plain = draw_jointly(with_pulls(comparison, strong)), draw_jointly(comparison)
    assert joint.logarithmic
    assert not plain.logarithmic
    ratio = joint.centre[1] / joint.centre[0] / (plain.centre[1] / plain.centre[0])
    np.testing.assert_allclose(ratio, 1.3, rtol=2e-3)


def test_what_rests_on_a_belief_is_told() -> None:
    for order, refit, drift in (
        ("AAABBB", True, True),
        ("AAABBBAAA", False, False),
        ("ABAB", False, False),
        ("ABB", True, True),
        ("AAA", True, False),
    ):
        joint = draw_jointly(session(order).comparison)
        assert (joint.refit_assumed, joint.drift_assumed) == (refit, drift), order


def test_mean_over_a_window_agrees_with_the_classical_interval_in_balanced_sessions() -> None:
    # statistics note, section 10 J (ii): Student's t on the window means of the pulls, pooled over the builds
    ratios = []
    for seed in range(25):
        comparison = simulate(
            "ABCDABCDABCDABCD", IID, np.random.default_rng(seed), own_fitting=True, timed=False, draws=2000
        ).comparison
        joint = draw_jointly(comparison)
        window = (joint.grid_rpm >= 2500.0) & (joint.grid_rpm <= 3500.0)
        deviation = ((joint.draws[:, 1] - joint.draws[:, 0]) - (joint.centre[1] - joint.centre[0]))[:, window]
        ours = np.quantile(np.abs(deviation.mean(axis=1)), 0.95)
        means = [
            np.interp(joint.grid_rpm[window], pull.speed_rpm, pull.torque / np.interp(
                pull.speed_rpm, joint.grid_rpm, joint.reference)).mean() * 100.0
            for pull in comparison.pulls
        ]  # fmt: skip
        groups = np.array(means).reshape(4, 4)
        error = np.sqrt(((groups - groups.mean(axis=0)) ** 2).sum() / 12 * 2 / 4)
        ratios.append(ours / (stats.t.ppf(0.975, 12) * error))
    assert np.median(ratios) == pytest.approx(1.0, abs=0.08)


def test_swapped_runs_of_a_drifting_bench_are_not_taken_for_a_gain() -> None:
    # One strong trend, nothing else: B only looks better because it ran later.
    simulated = simulate("AAABBBAAA", replace(QUIET, offset=0.02, drift=0.0), np.random.default_rng(3), different=False)
    drifting = [
        replace(pull, torque=pull.torque * (1 + 0.01 * pull.time / 3600.0)) for pull in simulated.comparison.pulls
    ]
    joint = draw_jointly(with_pulls(simulated.comparison, drifting))
    low, high, _, _ = simultaneous_band(joint.centre[1] - joint.centre[0], joint.draws[:, 1] - joint.draws[:, 0], 0.95)
    assert (low < 0.0).all()
    assert (high > 0.0).all()
    assert np.median(joint.variances.drift) == pytest.approx(1.0, abs=0.25)


def test_refusals_name_the_pull_and_the_way_out() -> None:
    comparison = session().comparison
    pulls = list(comparison.pulls)
    thin = [*pulls[:3], replace(pulls[3], speed_rpm=pulls[3].speed_rpm[::40], torque=pulls[3].torque[::40])]
    with pytest.raises(RefusalError, match=r"b4: the pull has only \d samples"):
        draw_jointly(with_pulls(comparison, thin))
    apart = [
        replace(pull, speed_rpm=pull.speed_rpm + (5000.0 if pull.build == "B" else 0.0)) for pull in comparison.pulls
    ]
    with pytest.raises(RefusalError, match="share no range"):
        draw_jointly(with_pulls(comparison, apart))
    braking = [replace(pull, torque=pull.torque - 210.0) for pull in comparison.pulls]
    with pytest.raises(RefusalError, match="zero or negative"):
        draw_jointly(with_pulls(comparison, braking))
