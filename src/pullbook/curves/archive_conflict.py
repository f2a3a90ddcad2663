"""Whether the scatter of a session is what earlier sessions let expect, by sessions drawn from that belief."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from pullbook.curves.archive_prior import ArchivePrior, LogBelief
    from pullbook.curves.reml_level import LevelData
    from pullbook.curves.reml_shape import ShapeScatter
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["DROPPED_BELOW", "Conflict", "archive_conflict"]

#: Probability below which earlier sessions are not used.
DROPPED_BELOW: Final = 0.05
_DRAWS = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Today's scatter against the usual.

    Attributes
    ----------
    p : float
        Probability of so much scatter, or more, if the bench were what it was. [1]
    ratio : float
        Today's scatter within builds over the usual one. [1]
    """

    p: float
    ratio: float

    @property
    def dropped(self) -> bool:
        """Earlier sessions are not used."""
        return self.p < DROPPED_BELOW


def archive_conflict(
    level: LevelData, shape: ShapeScatter, on_grid: FloatArray, prior: ArchivePrior, generator: np.random.Generator
) -> Conflict:
    """Hold the variances of level and shape within builds against 300 sessions of the same order from the belief.

    The two logarithms are averaged with the weights that tell a common change of scale best; the level, which windows
    and peaks depend on, is looked at by itself too, and the more unusual of both counts.

    Parameters
    ----------
    level : LevelData
        Levels and order of the pulls; at least one build has two. [%]
    shape : ShapeScatter
        Their shapes. [%]
    on_grid : (g, k) array of float
        Values of the functions at the speeds of the answers. [1]
    prior : ArchivePrior
        What earlier sessions let expect.
    generator : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    Conflict
        Upper tail and ratio. [1]

    References
    ----------
    1. G. E. P. Box, "Sampling and Bayes' inference in scientific modelling and robustness", Journal of the Royal
       Statistical Society A 143, 1980: the prior predictive check (from memory).
    """
    within = _within(level.cell)
    seen = _logarithms(within, shape.data.coefficients, on_grid)
    usual = np.stack([_logarithms(within, _drawn(level, shape, prior, generator), on_grid) for _ in range(_DRAWS)])
    middle, precision = np.median(usual, axis=0), 1.0 / usual.var(axis=0)
    weight = precision / precision.sum()
    away, spread = usual - middle, (usual - middle) @ weight
    most = np.maximum(spread / spread.std(), away[:, 0] * np.sqrt(precision[0]))
    today = float((seen - middle) @ weight)
    found = max(today / float(spread.std()), float((seen - middle)[0] * np.sqrt(precision[0])))
    return Conflict(p=(1.0 + float(np.count_nonzero(most >= found))) / (_DRAWS + 1.0), ratio=exp(0.5 * today))


def _within(cell: IntArray) -> FloatArray:
    """From pulls to their departures from the mean of their build."""
    member = (cell[:, None] == np.arange(int(cell.max()) + 1)).astype(np.float64)
    within: FloatArray = np.eye(cell.size) - (member / member.sum(axis=0)) @ member.T
    return within


def _logarithms(within: FloatArray, coefficients: FloatArray, on_grid: FloatArray) -> FloatArray:
    """Logarithms of the variances of level and shape within builds, of coefficients (n, k)."""
    curves = within @ coefficients @ on_grid.T
    level = curves.mean(axis=1)
    squares = np.array([(level**2).sum(), ((curves - level[:, None]) ** 2).mean(axis=1).sum()])
    logarithms: FloatArray = np.log(np.maximum(squares, 1e-12))
    return logarithms


def _one(belief: LogBelief, generator: np.random.Generator) -> float:
    return float(np.exp(belief.location + belief.scale * generator.standard_t(5.0)))


def _drawn(level: LevelData, shape: ShapeScatter, prior: ArchivePrior, generator: np.random.Generator) -> FloatArray:
    """Coefficients of one session of the same order, (n, k)."""
    data, modes, count = shape.data, shape.modes, level.cell.size
    hours, fittings = level.hours, data.cell.size
    steps = np.sqrt(np.diff(hours, prepend=hours[0]))
    levels = _one(prior.pull, generator) * generator.standard_normal(count)
    levels += (_one(prior.refit, generator) * generator.standard_normal(fittings))[data.fitting]
    levels += _one(prior.walk, generator) * np.cumsum(steps * generator.standard_normal(count))
    levels += _one(prior.drift, generator) * generator.standard_normal() * (hours - hours.mean())
    length, size = _one(prior.length, generator), _one(prior.shape, generator)
    nearest = int(np.argmin(np.abs(np.log(modes.lengths_rpm / length))))
    spread = size**2 * modes.variance[nearest]
    own = generator.standard_normal((count, spread.size)) * np.sqrt(spread + data.noise[:, None])
    together = generator.standard_normal((fittings, spread.size)) * np.sqrt(spread)
    shapes = own + _one(prior.refit_shape, generator) * together[data.fitting]
    # Coefficients that are all the same are a level.
    coefficients: FloatArray = shapes @ modes.outward[nearest].T + levels[:, None]
    return coefficients
