from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import stats

from pullbook.curves.reml_draw import systematic_nodes
from pullbook.curves.reml_level import LevelData, LevelScatter, draw_levels, level_scatter
from pullbook.curves.reml_prior import ScatterPrior

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

PRIOR = ScatterPrior(refit_scale=0.3, walk_scale=0.2, drift_scale=0.5, refit_shape_scale=0.5)
SESSION = LevelData(
    level=np.array([100.2, 99.7, 100.9, 101.6, 101.1, 102.3, 99.5, 100.1]),
    cell=np.array([0, 0, 0, 1, 1, 1, 0, 0]),
    fitting=np.array([0, 0, 0, 1, 1, 1, 2, 2]),
    hours=np.array([0.0, 0.1, 0.2, 0.97, 1.07, 1.17, 1.93, 2.03]),
)


def covariance(data: LevelData, sources: FloatArray, pull: float) -> FloatArray:
    """V of the statistics note, section 8 step 4, written out; sources are re-fitting, walk and drift."""
    refit, walk, drift = (float(source) for source in sources)
    z = data.fitting[:, None] == data.fitting
    t = data.hours - data.hours.mean()
    v: FloatArray = (
        pull**2 * np.eye(t.size)
        + refit**2 * z
        + walk**2 * np.minimum(data.hours[:, None], data.hours)
        + drift**2 * np.outer(t, t)
    )
    return v


def design_of(data: LevelData) -> FloatArray:
    design: FloatArray = (data.cell[:, None] == np.arange(data.cell.max() + 1)).astype(np.float64)
    return design


def at_one_node(scatter: LevelScatter, node: int) -> LevelScatter:
    weight = np.full_like(scatter.log_weight, -1e9)
    weight[node] = 0.0
    return replace(scatter, log_weight=weight)


def test_weights_are_the_restricted_likelihood_written_out() -> None:
    scatter = level_scatter(SESSION, PRIOR)
    x = design_of(SESSION)
    differences = []
    for node, step in ((0, 20), (57, 30), (200, 25), (587, 35)):
        v = covariance(SESSION, scatter.nodes.sd[node], float(scatter.pull_sd[step]))
        inverse = np.linalg.inv(v)
        normal = x.T @ inverse @ x
        residual = SESSION.level - x @ np.linalg.solve(normal, x.T @ inverse @ SESSION.level)
        # Patterson & Thompson 1971; statistics note, section 8 step 5
        expected = -0.5 * (np.linalg.slogdet(v)[1] + np.linalg.slogdet(normal)[1] + residual @ inverse @ residual)
        differences.append(scatter.log_weight[node, step] - scatter.nodes.log_prior[node] - expected)
    np.testing.assert_allclose(differences, differences[0], atol=1e-8)


@pytest.mark.parametrize("node", [0, 300, 450])
def test_draws_at_one_node_have_the_generalised_least_squares_mean_and_covariance(node: int) -> None:
    scatter = level_scatter(SESSION, PRIOR)
    step = 28
    draws = draw_levels(at_one_node(scatter, node), np.full(60_000, step), np.random.default_rng(2))
    v = covariance(SESSION, scatter.nodes.sd[node], float(scatter.pull_sd[step]))
    x = design_of(SESSION)
    inverse = np.linalg.inv(v)
    expected_covariance = np.linalg.inv(x.T @ inverse @ x)
    expected = expected_covariance @ x.T @ inverse @ SESSION.level
    np.testing.assert_allclose(draws.mean[0], expected, atol=1e-9)
    scale = np.sqrt(np.diag(expected_covariance))
    np.testing.assert_allclose(draws.draws.mean(axis=0), expected, atol=5 * scale.max() / np.sqrt(60_000))
    np.testing.assert_allclose(np.cov(draws.draws.T), expected_covariance, atol=0.03 * scale.max() ** 2)


def test_drift_of_the_session_is_drawn_from_what_the_pulls_say_of_it() -> None:
    scatter = level_scatter(SESSION, PRIOR)
    step = 28
    node = int(np.flatnonzero((scatter.nodes.sd[:, 2] == 0.5) & (scatter.nodes.sd[:, 0] == 0.0))[0])
    draws = draw_levels(at_one_node(scatter, node), np.full(60_000, step), np.random.default_rng(3))
    # joint normal of levels (flat prior) and slope: ridge regression on [X, t]
    refit, walk, drift = scatter.nodes.sd[node]
    v = covariance(SESSION, np.array([refit, walk, 0.0]), float(scatter.pull_sd[step]))
    t = SESSION.hours - SESSION.hours.mean()
    xt = np.column_stack((design_of(SESSION), t))
    posterior = np.linalg.inv(xt.T @ np.linalg.inv(v) @ xt + np.diag([0.0, 0.0, 1 / drift**2]))
    expected = posterior @ xt.T @ np.linalg.inv(v) @ SESSION.level
    assert draws.drift.mean() == pytest.approx(expected[2], abs=5 * np.sqrt(posterior[2, 2] / 60_000))
    assert draws.drift.std() == pytest.approx(np.sqrt(posterior[2, 2]), rel=0.02)


def one_way(groups: list[list[float]]) -> LevelData:
    """Every pull a fitting of its own, no time: nothing but pulls scatters."""
    level = np.array([value for group in groups for value in group])
    cell = np.repeat(np.arange(len(groups)), [len(group) for group in groups])
    return LevelData(level=level, cell=cell, fitting=np.arange(level.size), hours=np.zeros(level.size))


@pytest.mark.parametrize(("pulls", "freedom"), [(2, 2), (3, 4), (6, 10)])
def test_even_scatter_with_a_flat_prior_is_student_t(pulls: int, freedom: int) -> None:
    # statistics note, section 10 J (i): covariance proportional to identity, flat log prior
    generator = np.random.default_rng(pulls)
    data = one_way([list(generator.standard_normal(pulls)) for _ in range(2)])
    scatter = level_scatter(data, PRIOR)
    steps = generator.permutation(systematic_nodes(scatter.log_weight[0], 200_000, generator))
    draws = draw_levels(scatter, steps, generator)
    difference = draws.draws[:, 1] - draws.draws[:, 0]
    means = [data.level[data.cell == cell].mean() for cell in (0, 1)]
    residual = data.level - np.array(means)[data.cell]
    error = np.sqrt((residual**2).sum() / freedom * 2 / pulls)
    for level in (0.5, 0.9, 0.95):
        expected = stats.t.ppf(0.5 + level / 2, freedom)
        found = np.quantile(np.abs(difference - (means[1] - means[0])), level) / error
        assert found == pytest.approx(expected, rel=0.04)  # nodes 11 % apart, 30-fold cut-off, Monte Carlo


def test_scatter_of_a_certified_data_set_comes_out() -> None:
    # NIST StRD one-way SiRstv: certified residual standard deviation, 5 x 5, 20 degrees of freedom
    groups, freedom, certified = nist("SiRstv"), 20, 0.104076068334656
    data = one_way([[1000.0 * (value - 196.0) for value in group] for group in groups])
    scatter = level_scatter(data, PRIOR)
    generator = np.random.default_rng(1)
    steps = systematic_nodes(scatter.log_weight[0], 100_000, generator)
    drawn = draw_levels(scatter, steps, generator)
    # nu s^2 / sigma^2 is chi-square under a flat logarithm; its median is 19.337 for nu = 20
    median = 1000.0 * certified * np.sqrt(freedom / stats.chi2.median(freedom))
    assert np.median(drawn.pull_sd) == pytest.approx(median, rel=0.06)
    half = np.quantile(np.abs(drawn.draws[:, 1] - drawn.mean[:, 1]), 0.95)
    assert half == pytest.approx(stats.t.ppf(0.975, freedom) * 1000.0 * certified / np.sqrt(5), rel=0.03)


@pytest.mark.parametrize(
    ("name", "certified"),
    # certified F of the NIST StRD data files
    [("SiRstv", 1.18046237440255), ("AtmWtAg", 15.9467335677930), ("SmLs01", 21.0)],
)
def test_residuals_and_means_of_the_design_give_the_certified_f(name: str, certified: float) -> None:
    data = one_way(nist(name))
    design = level_scatter(data, PRIOR).design
    centred = replace(data, level=data.level - data.level.mean())
    within = design.residual.T @ centred.level
    means = design.average @ centred.level
    count = np.bincount(data.cell)
    between = (count * means**2).sum() / (count.size - 1)
    assert between / ((within**2).sum() / within.size) == pytest.approx(certified, rel=1e-6)


def nist(name: str) -> list[list[float]]:
    """Groups of a NIST StRD analysis-of-variance data set, from the files that scipy ships with its own tests."""
    from pathlib import Path

    import scipy

    file = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_anova" / f"{name}.dat"
    if not file.exists():
        pytest.skip("this scipy comes without its test data")
    rows = [line.split() for line in file.read_text(encoding="ascii").splitlines()[60:]]
    groups: dict[str, list[float]] = {}
    for row in rows:
        if len(row) == 2:
            groups.setdefault(row[0], []).append(float(row[1]))
    return list(groups.values())


def test_single_fittings_leave_no_re_fitting_and_no_time_leaves_no_drift() -> None:
    data = one_way([[1.0, 2.0], [3.0, 5.0]])
    draws = draw_levels(level_scatter(data, PRIOR), np.arange(64), np.random.default_rng(1))
    assert not draws.refit_sd.any()
    assert not draws.walk_sd.any()
    assert not draws.drift.any()
