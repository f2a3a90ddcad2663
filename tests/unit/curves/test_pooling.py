"""Published values of pooled effects; statistics note, section 10, F and G, and independent programs."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import scipy
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats
from statsmodels.stats.meta_analysis import combine_effects

from pullbook.curves.chi_square import chi_square_above, chi_square_quantile
from pullbook.curves.pooling import leave_one_out, pool_effects
from pullbook.curves.pooling_between import between_interval, restricted_likelihood
from pullbook.curves.pooling_mean import pooled_mean, random_effects
from pullbook.curves.pooling_moderator import moderated

if TYPE_CHECKING:
    from pullbook.curves.pooling_mean import Between

# R. Kacker, Metrologia 41, 2004; expected values are those of R's metafor as statsmodels ships them in its own tests
# (stats/tests/results/results_meta.py).
KACKER = np.array([61.0, 61.4, 62.21, 62.3, 62.34, 62.6, 62.7, 62.84, 65.9])
KACKER_SD = np.sqrt([0.2025, 1.21, 0.09, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225])

# BCG vaccine, 13 trials, metafor's example: cases and others of the vaccinated, then of the controls; latitude.
BCG = np.array([
    (4, 119, 11, 128, 44), (6, 300, 29, 274, 55), (3, 228, 11, 209, 42), (62, 13536, 248, 12619, 52),
    (33, 5036, 47, 5761, 13), (180, 1361, 372, 1079, 44), (8, 2537, 10, 619, 19), (505, 87886, 499, 87892, 13),
    (29, 7470, 45, 7232, 27), (17, 1699, 65, 1600, 42), (186, 50448, 141, 27197, 18), (5, 2493, 3, 2338, 33),
    (27, 16886, 29, 17825, 33),
], dtype=float).T  # fmt: skip


def bcg() -> tuple[np.ndarray, np.ndarray]:
    """Logarithm of the ratio of risks, and its standard error."""
    sick, well, sick_control, well_control, _ = BCG
    effect = np.log(sick / (sick + well) / (sick_control / (sick_control + well_control)))
    variance = 1 / sick - 1 / (sick + well) + 1 / sick_control - 1 / (sick_control + well_control)
    return effect, np.sqrt(variance)


@pytest.mark.parametrize(
    ("method", "between", "mean", "se"),
    [
        ("paule-mandel", 0.705395309, 62.407619911, 0.338030603),
        ("dersimonian-laird", 0.288049246973751, 62.3901386044504, 0.245749668),
        ("reml", 0.294342872, 62.390065274, None),  # from memory of the same data in the note, section 10 G
    ],
)
def test_measurements_of_kacker(method: Between, between: float, mean: float, se: float | None) -> None:
    fit = random_effects(KACKER, KACKER_SD, method)
    assert fit.between == pytest.approx(between, abs=1e-8)
    assert fit.mean == pytest.approx(mean, abs=2e-9)
    if se is not None:
        assert fit.model_se == pytest.approx(se, abs=1e-9)


def test_hartung_knapp_interval_and_q_of_kacker() -> None:
    low, high = random_effects(KACKER, KACKER_SD, "dersimonian-laird").interval(0.95, smallest_ratio=0.0)
    assert (low, high) == pytest.approx((61.710383798, 63.069893411), abs=1e-8)
    pooled = pool_effects(KACKER, KACKER_SD)
    assert pooled.q == pytest.approx(24.801897741835, abs=1e-10)
    assert (pooled.reml_low, pooled.reml_high) == pytest.approx((61.7081183, 63.0720122), abs=1e-6)


def test_vaccine_trials_agree_with_what_is_documented_of_them() -> None:
    # metafor's documented output for these data (from memory), and section 10 G of the statistics note.
    effect, sd = bcg()
    pooled = pool_effects(effect, sd)
    assert pooled.reml.between == pytest.approx(0.3132, abs=5e-5)
    assert pooled.reml.mean == pytest.approx(-0.7145, abs=5e-5)
    assert pooled.reml.model_se == pytest.approx(0.1798, abs=5e-5)
    assert (pooled.reml_low, pooled.reml_high) == pytest.approx((-1.1084, -0.3206), abs=5e-5)
    assert pooled.q == pytest.approx(152.2330, abs=5e-5)
    assert (pooled.between_low, pooled.between_high) == pytest.approx((0.1197, 1.1115), abs=5e-5)
    assert random_effects(effect, sd, "dersimonian-laird").between == pytest.approx(0.3088, abs=5e-5)
    assert pooled.heterogeneity == "high"


def test_prediction_has_t_of_one_fewer_than_sessions() -> None:
    # Section 10 G gives -1.9960 to 0.5670 by REML; here with the weights that are printed, so that the formula is held
    # by its parts: range^2 = t^2 tau^2 + half-width^2, t(12) = 2.178813 (table).
    effect, sd = bcg()
    pooled = pool_effects(effect, sd)
    assert pooled.prediction is not None
    assert not pooled.approximate
    fit, half = pooled.printed.fit, 0.5 * (pooled.printed.high - pooled.printed.low)
    expected = np.sqrt(2.178813**2 * fit.between + half**2)
    assert pooled.prediction == pytest.approx((fit.mean - expected, fit.mean + expected), abs=1e-5)


def test_effect_of_latitude_on_the_vaccine() -> None:
    # metafor, rma(yi, vi, mods = ~ ablat): tau^2 0.0764, intercept 0.2515, slope -0.0291, se 0.0072, R^2 75.6 %
    # (from memory). Its scoring stops at steps of 1e-5, short of the maximum of the likelihood, 0.07635.
    line = moderated(*bcg(), BCG[4])
    assert line is not None
    assert line.between == pytest.approx(0.0764, abs=1e-4)
    assert line.slope == pytest.approx(-0.0291, abs=5e-5)
    assert line.at(np.zeros(1))[0][0] == pytest.approx(0.2515, abs=5e-5)
    assert line.explained == pytest.approx(0.7562, abs=5e-4)
    t = stats.t.ppf(0.975, 11)
    assert (line.slope_high - line.slope_low) / (2 * t) >= 0.0072 - 5e-5


def test_line_of_a_moderator_agrees_with_weighted_regression_at_its_own_variance() -> None:
    generator = np.random.default_rng(3)
    size, sd = generator.uniform(1.6, 5.7, 14), np.exp(0.3 * generator.standard_normal(14))
    effect = 2.0 - 0.8 * size + 0.7 * generator.standard_normal(14) + sd * generator.standard_normal(14)
    line = moderated(effect, sd, size)
    assert line is not None
    design = np.column_stack((np.ones(14), size))
    weight = np.diag(1.0 / (sd**2 + line.between))
    covariance = np.linalg.inv(design.T @ weight @ design)
    beta = covariance @ design.T @ weight @ effect
    ratio = max(1.0, float((effect - design @ beta) @ weight @ (effect - design @ beta)) / 12)
    assert line.slope == pytest.approx(beta[1])
    half = stats.t.ppf(0.975, 12) * np.sqrt(ratio * covariance[1, 1])
    assert (line.slope_low, line.slope_high) == pytest.approx((beta[1] - half, beta[1] + half))
    middle, low, high = line.at(np.array([3.0]))
    row = np.array([1.0, 3.0])
    assert middle[0] == pytest.approx(row @ beta)
    assert high[0] - low[0] == pytest.approx(2 * stats.t.ppf(0.975, 12) * np.sqrt(ratio * row @ covariance @ row))


def test_no_moderator_is_looked_at_in_nine_sessions_or_where_it_is_the_same_in_all() -> None:
    assert moderated(np.arange(9.0), np.ones(9), np.arange(9.0)) is None
    assert moderated(np.arange(12.0), np.ones(12), np.full(12, 2.2)) is None


@pytest.mark.parametrize(
    ("name", "groups", "between_mean", "within_mean", "digits"),
    [
        # Certified mean squares in the head of each file of the NIST StRD. In a balanced layout the restricted
        # likelihood has its maximum at (between - within) / n (Searle, Casella, McCulloch, Variance Components).
        ("SiRstv", 5, 1.27865654000000e-02, 1.08318280000000e-02, 1e-9),
        ("AtmWtAg", 2, 3.63834187500000e-09, 2.28155932971014e-10, 1e-6),
        ("SmLs07", 9, 2.10000000000000e-01, 1.00000000000000e-02, 2e-2),  # 13 constant leading digits
    ],
)
def test_variance_between_the_groups_of_nist(
    name: str, groups: int, between_mean: float, within_mean: float, digits: float
) -> None:
    path = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_anova" / f"{name}.dat"
    if not path.is_file():
        pytest.skip("this scipy comes without its test data")
    rows = [
        line.split()
        for line in path.read_text(encoding="utf-8").splitlines()
        if re.match(r"^\s*\d+\s+[\d.]+\s*$", line)
    ]
    values: dict[str, list[float]] = {}
    for group, value in rows:
        values.setdefault(group, []).append(float(value))
    each = len(rows) // groups
    means = np.array([np.mean(np.array(group) - float(rows[0][1])) for group in values.values()]) + float(rows[0][1])
    sd = np.full(groups, np.sqrt(within_mean / each))
    expected = (between_mean - within_mean) / each
    for method in ("reml", "paule-mandel", "dersimonian-laird"):
        assert random_effects(means, sd, method).between == pytest.approx(expected, rel=digits)


@pytest.mark.parametrize(
    ("material", "sd_of_means", "repeatability", "reproducibility"),
    [("A", 0.6061, 1.0632, 1.0632), ("D", 2.5950, 2.6251, 3.3657), ("E", 2.6931, 3.9350, 4.1923)],
)
def test_laboratories_of_astm_e691_differ_as_its_table_says(
    material: str, sd_of_means: float, repeatability: float, reproducibility: float
) -> None:
    # Glucose in serum, 8 laboratories with 3 results each (table of ASTM E691, from memory): means with the table's
    # standard deviation stand for the laboratories; s_R^2 = s_r^2 + tau^2 in a balanced layout.
    pattern = np.array([-1.5, -0.9, -0.5, -0.1, 0.2, 0.6, 0.9, 1.3])
    pattern = (pattern - pattern.mean()) / pattern.std(ddof=1)
    fit = random_effects(100.0 + sd_of_means * pattern, np.full(8, repeatability / np.sqrt(3.0)), "reml")
    assert np.hypot(repeatability, np.sqrt(fit.between)) == pytest.approx(reproducibility, abs=2e-4), material


@pytest.mark.parametrize("seed", range(4))
def test_moments_and_paule_mandel_agree_with_statsmodels(seed: int) -> None:
    generator = np.random.default_rng(seed)
    sd = np.exp(0.5 * generator.standard_normal(7))
    effect = generator.standard_normal(7) * 1.5 + sd * generator.standard_normal(7)
    pairs: tuple[tuple[Between, str], ...] = (("dersimonian-laird", "chi2"), ("paule-mandel", "iterated"))
    for method, theirs in pairs:
        expected = combine_effects(effect, sd**2, method_re=theirs, use_t=True)
        fit = random_effects(effect, sd, method)
        assert fit.between == pytest.approx(max(expected.tau2, 0.0), abs=1e-6)
        if expected.tau2 > 0.0:
            assert fit.mean == pytest.approx(expected.mean_effect_re, abs=1e-6)
            assert fit.interval(0.95, smallest_ratio=0.0) == pytest.approx(expected.conf_int()[3], abs=1e-5)


@pytest.mark.parametrize("seed", range(6))
def test_variance_of_the_largest_restricted_likelihood_agrees_with_a_search_of_the_likelihood_itself(seed: int) -> None:
    generator = np.random.default_rng(seed)
    sd = np.exp(0.8 * generator.standard_normal(5))
    effect = generator.standard_normal(5) + sd * generator.standard_normal(5)

    def deviance(between: float) -> float:
        # Likelihood of the contrasts that know nothing of the mean, with no algebra in common.
        contrasts = scipy.linalg.null_space(np.ones((1, 5))).T
        spread = contrasts @ np.diag(sd**2 + between) @ contrasts.T
        seen = contrasts @ effect
        return float(np.linalg.slogdet(spread)[1] + seen @ np.linalg.solve(spread, seen))

    grid = np.concatenate(([0.0], np.geomspace(1e-5, 1e3, 400)))
    near = int(np.argmin([deviance(float(one)) for one in grid]))
    found = optimize.minimize_scalar(
        deviance, bounds=(grid[max(near - 1, 0)], grid[near + 1]), method="bounded", options={"xatol": 1e-10}
    ).x
    expected = 0.0 if near == 0 and deviance(0.0) <= deviance(found) else found
    assert restricted_likelihood(effect, sd**2, np.ones((5, 1))) == pytest.approx(expected, abs=2e-6)


def test_the_higher_of_two_maxima_of_the_likelihood_is_taken() -> None:
    # Two very precise sessions that agree and three coarse ones that do not: the profile has a maximum at each scale.
    effect = np.array([0.0, 0.001, 8.0, -9.0, 7.0, 30.0])
    sd = np.array([0.001, 0.001, 1.0, 1.0, 1.0, 1.0])
    found = restricted_likelihood(effect, sd**2, np.ones((6, 1)))
    nodes = np.concatenate(([0.0], np.geomspace(1e-8, 1e4, 3000)))
    contrasts = scipy.linalg.null_space(np.ones((1, 6))).T
    deviance = []
    for node in [*nodes, found]:
        spread = contrasts @ np.diag(sd**2 + node) @ contrasts.T
        seen = contrasts @ effect
        deviance.append(np.linalg.slogdet(spread)[1] + seen @ np.linalg.solve(spread, seen))
    assert deviance[-1] <= min(deviance[:-1]) + 1e-9


def test_interval_of_the_variance_is_where_the_chi_square_of_scipy_says() -> None:
    low, high = between_interval(KACKER, KACKER_SD**2, np.ones((9, 1)), 0.95)
    for between, quantile in ((low, 0.975), (high, 0.025)):
        weight = 1.0 / (KACKER_SD**2 + between)
        mean = np.sum(weight * KACKER) / weight.sum()
        assert np.sum(weight * (KACKER - mean) ** 2) == pytest.approx(stats.chi2.ppf(quantile, 8), rel=1e-9)


@given(st.floats(0.0, 300.0), st.integers(1, 400))
@settings(max_examples=40, deadline=None)
def test_tail_of_chi_square_agrees_with_scipy(value: float, freedom: int) -> None:
    assert chi_square_above(value, freedom) == pytest.approx(
        float(stats.chi2.sf(value, freedom)), rel=1e-10, abs=1e-300
    )


@pytest.mark.parametrize(("probability", "freedom"), [(0.025, 2), (0.975, 3), (0.5, 40), (0.975, 199)])
def test_quantile_of_chi_square_agrees_with_scipy(probability: float, freedom: int) -> None:
    assert chi_square_quantile(probability, freedom) == pytest.approx(stats.chi2.ppf(probability, freedom), rel=1e-11)


def test_one_session_has_no_interval_and_two_have_no_range_for_the_next_engine() -> None:
    one = pool_effects(np.array([2.0]), np.array([0.5]))
    assert one.printed.fit.mean == 2.0
    assert np.isnan(one.printed.low)
    assert one.prediction is None
    two = pool_effects(np.array([2.0, 2.5]), np.array([0.5, 0.4]))
    # Even weights and Student's t of one degree of freedom, 12.7062 (table): 2.25 -+ 12.7062 * 0.25.
    assert (two.printed.low, two.printed.high) == pytest.approx((2.25 - 3.17655, 2.25 + 3.17655), abs=1e-3)
    assert two.prediction is None
    three = pool_effects(np.array([2.0, 2.5, 2.1]), np.full(3, 0.4))
    assert three.prediction is not None
    assert three.approximate


def test_sessions_that_agree_by_luck_know_no_more_than_their_own_doubts_leave() -> None:
    lucky = pooled_mean(np.array([4.0, 4.0001, 4.0002]), np.ones(3))
    assert lucky.high - lucky.low >= 2.0 / np.sqrt(3.0) - 1e-9  # standard error of the mean of three of one


def test_one_precise_session_does_not_speak_alone() -> None:
    fit = random_effects(np.array([0.0, 1.0, -0.9, 1.2]), np.array([0.05, 1.0, 1.0, 1.0]), "reml")
    even = pooled_mean(np.array([0.0, 1.0, -0.9, 1.2]), np.array([0.05, 1.0, 1.0, 1.0])).fit
    assert fit.weight[0] > 0.9
    assert even.weight[0] < 0.7


@given(st.lists(st.tuples(st.floats(-5, 5), st.floats(0.2, 3)), min_size=3, max_size=8), st.floats(0.01, 100))
@settings(max_examples=25, deadline=None)
def test_pooling_does_not_mind_the_unit_or_the_order_of_the_sessions(
    rows: list[tuple[float, float]], unit: float
) -> None:
    effect, sd = (np.array(column) for column in zip(*rows, strict=True))
    plain, other = pooled_mean(effect, sd), pooled_mean(unit * effect[::-1], unit * sd[::-1])
    assert other.low / unit == pytest.approx(plain.low, abs=1e-4)
    assert other.high / unit == pytest.approx(plain.high, abs=1e-4)


def test_leaving_one_out_is_pooling_the_others() -> None:
    without = leave_one_out(KACKER, KACKER_SD)
    again = pooled_mean(KACKER[:-1], KACKER_SD[:-1])
    assert len(without) == 9
    assert without[-1].low == pytest.approx(again.low)
    assert without[-1].high < without[0].high  # the last, 65.9, is the one that pulls
    assert leave_one_out(KACKER[:2], KACKER_SD[:2]) == ()
