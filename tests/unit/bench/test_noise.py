"""The scatter has the standard deviations that it is given."""

from __future__ import annotations

import numpy as np
import pytest

from pullbook.bench.noise import Scatter, draw_scatter, draw_shape, matern52

SPEED = np.linspace(2000.0, 7000.0, 101)
QUIET = Scatter(pull_level=0.0, pull_shape=0.0, white=0.0, fitting_level=0.0, fitting_shape=0.0, drift=0.0, walk=0.0)


def test_matern_correlation_falls_from_one() -> None:
    # (1 + sqrt5 + 5/3) exp(-sqrt5) = 0.52399 at one length.
    found = matern52(np.array([0.0, 300.0, 3000.0]), 300.0)
    assert found[0] == 1.0
    assert found[1] == pytest.approx(0.52399, abs=1e-5)
    assert found[2] < 1e-6


def test_shape_has_unit_variance_and_the_correlation_asked_for() -> None:
    rng = np.random.default_rng(3)
    shapes = np.array([draw_shape(SPEED, 400.0, rng) for _ in range(3000)])
    assert shapes.var(axis=0).mean() == pytest.approx(1.0, abs=0.06)  # 3 standard errors, and 1 % of joining
    correlation = np.mean(shapes[:, :-8] * shapes[:, 8:])  # 8 x 50 rpm
    assert correlation == pytest.approx(0.524, abs=0.05)


def test_pulls_of_one_fitting_share_its_error() -> None:
    scatter = Scatter(**{**_fields(QUIET), "fitting_level": 1.0, "fitting_shape": 0.5})
    first, second, third = draw_scatter([SPEED] * 3, [0.0, 0.1, 0.2], [1, 1, 2], scatter, np.random.default_rng(5))
    assert np.array_equal(first, second)
    assert not np.allclose(first, third)


def test_drift_is_a_line_over_time() -> None:
    scatter = Scatter(**{**_fields(QUIET), "drift": 1.0})
    errors = draw_scatter([SPEED] * 3, [0.0, 1.0, 2.0], [1, 2, 3], scatter, np.random.default_rng(5))
    levels = [error.mean() for error in errors]
    assert levels[0] == 0.0
    assert levels[2] == pytest.approx(2.0 * levels[1])
    assert levels[1] != 0.0


def test_random_walk_grows_with_the_root_of_time() -> None:
    scatter = Scatter(**{**_fields(QUIET), "walk": 0.25})
    rng = np.random.default_rng(8)
    ends = [draw_scatter([SPEED[:2]] * 3, [0.0, 2.0, 4.0], [1, 2, 3], scatter, rng)[2][0] for _ in range(2000)]
    assert np.std(ends) == pytest.approx(0.25 * 2.0, rel=0.06)


def _fields(scatter: Scatter) -> dict[str, float]:
    return {name: getattr(scatter, name) for name in Scatter.__slots__}
