from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from pullbook.curves.basis import spline_basis
from pullbook.curves.kernels import projected_matern52
from pullbook.curves.posterior import choose_nodes
from pullbook.curves.profile import scatter_profile
from pullbook.curves.reml_level import LevelData, level_scatter
from pullbook.curves.reml_modes import ShapeModes, shape_modes
from pullbook.curves.reml_prior import ScatterPrior, half_cauchy_nodes, half_normal_nodes
from pullbook.curves.reml_shape import ShapeData, draw_shapes, shape_scatter

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

BASIS = spline_basis(2000.0, 4000.0, 250.0, 1000)
GRID = BASIS.values(np.linspace(2050.0, 3950.0, 39))
LENGTHS = np.array([300.0, 600.0])
RATIO = (np.array([0.0, 0.7, 2.0]), np.array([0.5, 0.3, 0.2]))
FITTING = np.array([0, 0, 0, 1, 1, 2, 2])
CELL = np.array([0, 1, 0])
NOISE = np.array([1.0, 0.5, 2.0, 1.0, 1.5, 1.0, 0.7])


@dataclass(frozen=True, slots=True)
class ThreeRatios(ScatterPrior):
    """The usual belief, but for three nodes of the ratio."""

    refit_scale: float = 0.3
    walk_scale: float = 0.2
    drift_scale: float = 0.5
    refit_shape_scale: float = 0.5

    def ratio_nodes(self, *, each_fitted: bool) -> tuple[FloatArray, FloatArray]:
        assert not each_fitted
        return RATIO


def modes() -> ShapeModes:
    values = BASIS.values(np.linspace(2000.0, 4000.0, 70))
    noise = np.asarray(0.25 * np.linalg.inv(values.T @ values), dtype=np.float64)
    return shape_modes(projected_matern52(BASIS, LENGTHS), noise, GRID, LENGTHS)


def data() -> ShapeData:
    coefficients = np.random.default_rng(1).standard_normal((7, BASIS.count)) * 0.4
    return ShapeData(coefficients=coefficients, noise=NOISE, fitting=FITTING, cell=CELL)


def mode_covariance(lam: float, sd: float, ratio: float) -> np.ndarray:
    """Variance of one mode over the pulls: smooth error, white noise, and a common error of each fitting."""
    together = (FITTING[:, None] == FITTING).astype(np.float64)
    covariance: np.ndarray = np.diag(sd**2 * lam + NOISE) + ratio**2 * sd**2 * lam * together
    return covariance


X = (CELL[FITTING][:, None] == np.arange(2)).astype(np.float64)


def test_modes_have_unit_noise_and_diagonal_smooth_error_and_lose_nothing_but_the_level() -> None:
    found = modes()
    values = BASIS.values(np.linspace(2000.0, 4000.0, 70))
    noise = 0.25 * np.linalg.inv(values.T @ values)
    for index, smooth in enumerate(projected_matern52(BASIS, LENGTHS)):
        inward = found.inward[index]
        np.testing.assert_allclose(inward @ noise @ inward.T, np.eye(BASIS.count - 1), atol=1e-8)
        np.testing.assert_allclose(inward @ smooth @ inward.T, np.diag(found.variance[index]), atol=1e-6)
        back = found.outward[index] @ inward
        expected = np.eye(BASIS.count) - np.outer(np.ones(BASIS.count), GRID.mean(axis=0))
        np.testing.assert_allclose(back, expected, atol=1e-9)


def test_weights_are_the_restricted_likelihood_of_every_mode_written_out() -> None:
    scatter = shape_scatter(data(), modes(), ThreeRatios())
    differences = []
    for ratio, step in ((0, 5), (1, 12), (2, 20), (1, 27)):
        total = 0.0
        for mode, lam in enumerate(scatter.modes.variance[1]):
            y = data().coefficients @ scatter.modes.inward[1, mode]
            v = mode_covariance(float(lam), float(scatter.sd[step]), float(RATIO[0][ratio]))
            inverse = np.linalg.inv(v)
            normal = X.T @ inverse @ X
            residual = y - X @ np.linalg.solve(normal, X.T @ inverse @ y)
            # Patterson & Thompson 1971, mode by mode; statistics note, section 8 step 5
            total += np.linalg.slogdet(v)[1] + np.linalg.slogdet(normal)[1] + residual @ inverse @ residual
        differences.append(scatter.log_weight[1, ratio, step] - np.log(RATIO[1][ratio]) + 0.5 * total)
    np.testing.assert_allclose(differences, differences[0], atol=1e-7)


def test_draws_at_one_node_have_the_generalised_least_squares_mean_and_covariance() -> None:
    scatter = shape_scatter(data(), modes(), ThreeRatios())
    length, ratio, step = 1, 2, 15
    node = np.full(40_000, (length * 3 + ratio) * scatter.sd.size + step)
    drawn = draw_shapes(scatter, node, np.random.default_rng(2))
    for mode in (0, 4, BASIS.count - 2):
        inward = scatter.modes.inward[length, mode]
        v = mode_covariance(
            float(scatter.modes.variance[length, mode]), float(scatter.sd[step]), float(RATIO[0][ratio])
        )
        normal = np.linalg.inv(X.T @ np.linalg.inv(v) @ X)
        expected = normal @ X.T @ np.linalg.inv(v) @ data().coefficients @ inward
        np.testing.assert_allclose(drawn.mean[0] @ inward, expected, atol=1e-9)
        np.testing.assert_allclose(np.cov((drawn.draws @ inward).T), normal, atol=0.03 * normal.max())
    assert (drawn.shape_sd == scatter.sd[step]).all()
    assert (drawn.length_rpm == 600.0).all()
    assert (drawn.refit_ratio == 2.0).all()


def test_level_and_shape_are_weighed_together() -> None:
    # A level that scatters ten times more than the shape is drawn towards it, but only by a weak prior.
    shape = shape_scatter(data(), modes(), ThreeRatios())
    level = LevelData(
        level=np.array([0.0, 1.0, 3.0, 1.0]), cell=np.array([0, 0, 1, 1]), fitting=np.arange(4), hours=np.zeros(4)
    )
    prior = ScatterPrior(refit_scale=0.3, walk_scale=0.2, drift_scale=0.5, refit_shape_scale=0.5)
    scatter = level_scatter(level, prior)
    step, node = choose_nodes(scatter, shape, 20_000, np.random.default_rng(1))
    assert (np.diff(node) >= 0).all()
    # two-dimensional sum over the two grids, with the density of the ratio as the docstring states it
    total = np.hypot(shape.total_sd.ravel(), 0.3)
    ratio = scatter.pull_sd / total[:, None]
    weight = np.exp(shape.log_weight.ravel()[:, None] - shape.log_weight.max() + scatter.log_weight[0])
    weight = weight / np.cosh(0.5 * np.log(ratio))
    expected = weight.sum(axis=0) / weight.sum()
    found = np.bincount(step, minlength=scatter.pull_sd.size) / step.size
    np.testing.assert_allclose(found, expected, atol=0.002)


def test_prior_nodes_carry_the_quartiles_of_their_distributions() -> None:
    nodes, share = half_cauchy_nodes(0.3)
    # half of a half-Cauchy lies below its scale; a twentieth of it beyond the cut at ten scales is given back
    below = share[nodes < 0.3].sum()
    assert below == pytest.approx(0.5 / (2 / np.pi * np.arctan(10.0)) * 0.9, abs=0.06)
    normal, shares = half_normal_nodes(0.5)
    assert (normal**2 @ shares) == pytest.approx(0.25, rel=0.1)  # second moment of a half-normal of scale 0.5


def test_profile_follows_the_scatter_only_as_far_as_its_freedom_allows() -> None:
    grid = np.arange(2000.0, 6500.0, 50.0)
    variance = 1.0 + 3.0 * np.exp(-0.5 * ((grid - 2500.0) / 400.0) ** 2)
    few, many = scatter_profile(variance, 2, grid), scatter_profile(variance, 200, grid)
    assert many.max() / many.min() > few.max() / few.min() > 1.05
    assert np.mean(few**2) == pytest.approx(1.0)
    assert (scatter_profile(np.zeros(grid.size), 3, grid) == 1.0).all()
