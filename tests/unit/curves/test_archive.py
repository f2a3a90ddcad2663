"""Grids that an archive keeps, and what is learnt from them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from pullbook.curves.archive_learning import learn_prior
from pullbook.curves.archive_likelihood import LEVEL_AXES, SHAPE_AXES, SessionLikelihood, unpacked
from pullbook.curves.archive_prior import LogBelief
from pullbook.curves.reml_level import LevelData, level_likelihood

ORDER = LevelData(
    level=np.array([0.3, -0.2, 0.9, 1.4, 0.1, -0.5, 0.2]),
    cell=np.array([0, 0, 1, 1, 0, 0, 1]),
    fitting=np.array([0, 0, 1, 1, 2, 2, 3]),
    hours=np.array([0.0, 0.1, 0.9, 1.0, 1.8, 1.9, 2.7]),
)


def test_likelihood_of_the_levels_is_that_of_a_normal_distribution_written_out() -> None:
    axes = (np.array([0.2, 0.5]), np.array([0.1, 0.4]), np.array([0.3, 0.6]))
    pull = np.array([0.3, 0.8])
    found = level_likelihood(ORDER, axes, pull)
    same = (ORDER.fitting[:, None] == ORDER.fitting).astype(float)
    build = (ORDER.cell[:, None] == np.arange(2)).astype(float)
    expected = np.empty(found.shape)
    for node in np.ndindex(found.shape):
        refit, walk, drift = (axis[i] for axis, i in zip(axes, node[:3], strict=True))
        away = ORDER.hours - ORDER.hours.mean()
        spread = pull[node[3]] ** 2 * np.eye(7) + refit**2 * same
        spread += walk**2 * np.minimum.outer(ORDER.hours, ORDER.hours) + drift**2 * np.outer(away, away)
        inverse = np.linalg.inv(spread)
        normal = build.T @ inverse @ build
        residual = ORDER.level - build @ np.linalg.solve(normal, build.T @ inverse @ ORDER.level)
        # Patterson and Thompson's restricted likelihood.
        expected[node] = -0.5 * (
            np.linalg.slogdet(spread)[1] + np.linalg.slogdet(normal)[1] + residual @ inverse @ residual
        )
    assert found - found[0, 0, 0, 0] == pytest.approx(expected - expected[0, 0, 0, 0], abs=1e-9)


def session(pull: float, freedom: int, generator: np.random.Generator) -> SessionLikelihood:
    """Session that knows nothing but the scatter of a pull and of its shape, each from so many degrees of freedom."""
    level = np.zeros(tuple(axis.size for axis in LEVEL_AXES))
    seen = pull**2 * generator.chisquare(freedom)
    level += -freedom * np.log(LEVEL_AXES[3]) - 0.5 * seen / LEVEL_AXES[3] ** 2
    shape = np.zeros(tuple(axis.size for axis in SHAPE_AXES))
    return SessionLikelihood(level=level - level.max(), shape=shape)


def test_location_and_spread_of_a_parameter_that_sessions_know_well_are_found() -> None:
    # Sessions of 60 degrees of freedom from a t_5 about 0.4 % and scale 0.5: the location is known to 0.11.
    generator = np.random.default_rng(2)
    pulls = 0.4 * np.exp(0.5 * generator.standard_t(5, 30))
    prior = learn_prior([session(float(pull), 60, generator) for pull in pulls])
    assert prior is not None
    assert prior.pull.location == pytest.approx(np.log(0.4), abs=0.25)
    # scale^2 = (J v + 3 * 0.35^2) / (J + 3) * (1 + 1/J) with v near 0.25
    assert prior.pull.scale == pytest.approx(np.sqrt((30 * 0.25 + 3 * 0.1225) / 33 * (1 + 1 / 30)), rel=0.35)


def test_what_no_session_knows_stays_at_what_is_declared_without_an_archive() -> None:
    generator = np.random.default_rng(3)
    prior = learn_prior([session(0.4, 8, generator) for _ in range(10)])
    assert prior is not None
    for belief, declared in ((prior.refit, 0.3), (prior.walk, 0.135), (prior.drift, 0.337), (prior.refit_shape, 0.5)):
        assert belief.location == pytest.approx(np.log(declared), abs=0.1)
        assert belief.scale > 0.4


def test_two_sessions_teach_nothing() -> None:
    generator = np.random.default_rng(3)
    assert learn_prior([session(0.4, 8, generator)] * 2) is None


def test_belief_is_students_t_of_five_degrees_of_freedom_on_the_logarithm() -> None:
    belief = LogBelief(location=0.3, scale=0.7)
    whole = integrate.quad(lambda x: float(belief.density(np.array([x]))[0]), -np.inf, np.inf)[0]
    points = np.array([-2.0, 0.0, 0.3, 1.9])
    assert belief.density(points) / whole == pytest.approx(stats.t.pdf(points, 5, loc=0.3, scale=0.7), rel=1e-6)
    nodes, shares = belief.nodes(4.0, 9)
    assert shares.sum() == pytest.approx(1.0)
    assert np.log(nodes[4]) == pytest.approx(0.3)


def test_what_is_kept_of_a_session_is_small_and_read_back() -> None:
    kept = session(0.4, 8, np.random.default_rng(1))
    packed = kept.packed()
    again = unpacked(packed)
    assert len(packed) == 11 * 6 * 6 * 20 + 8 * 6 * 20
    assert np.maximum(again.level, -39.0) == pytest.approx(np.maximum(kept.level, -39.0), abs=0.08)
    assert again.shape.max() == 0.0
    with pytest.raises(ValueError, match="reshape"):
        unpacked(packed[:-1])
