"""Deletion residuals: each pull minus what the other pulls say of it, and how large chance makes that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.kernels import projected_matern52

if TYPE_CHECKING:
    from pullbook.curves.basis import SplineBasis
    from pullbook.curves.joint import VarianceDraws
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["PullSchedule", "ShapeSpace", "deletion_weights", "drawn_residuals"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PullSchedule:
    """Build, fitting and time of each pull.

    Attributes
    ----------
    cell, fitting : (n,) array of int
        Build and fitting, from 0.
    hours : (n,) array of float
        When, from the first pull. [h]
    """

    cell: IntArray
    fitting: IntArray
    hours: FloatArray

    def same_fitting(self) -> FloatArray:
        """One for two pulls of the same fitting, else zero. [1]."""
        same: FloatArray = (self.fitting[:, None] == self.fitting[None, :]).astype(np.float64)
        return same

    def shared_hours(self) -> FloatArray:
        """Time that the random walks up to two pulls have in common. [h]."""
        return np.minimum(self.hours[:, None], self.hours[None, :])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeSpace:
    """Functions that a curve is made of.

    Attributes
    ----------
    basis : SplineBasis
        The functions.
    on_grid : (g, k) array of float
        Their values at the speeds wanted. [1]
    noise : (k, k) array of float
        Mean covariance of the coefficients of a pull from sample noise. [%^2]
    noise_ratio : (n,) array of float
        That of each pull over the mean; a pull of few samples has more. [1]
    """

    basis: SplineBasis
    on_grid: FloatArray
    noise: FloatArray
    noise_ratio: FloatArray


def deletion_weights(schedule: PullSchedule, sizes: VarianceDraws) -> FloatArray:
    """Weights of all pulls in the residual of each pull from what the others predict for it.

    ``a_i = Q_i / Q_ii`` with ``Q = V^-1 - V^-1 X (X' V^-1 X)^-1 X' V^-1``: generalised least squares without pull i.

    Parameters
    ----------
    schedule : PullSchedule
        Order of the pulls. [h]
    sizes : VarianceDraws
        Sources of scatter, of which the medians are taken. [%]

    Returns
    -------
    (n, n) array of float
        One row for each pull, with 1 for the pull itself; NaN for the only pull of a build. [1]

    References
    ----------
    1. R. Christensen, L. M. Pearson, W. Johnson, Case-deletion diagnostics for mixed models, Technometrics 34 (1992)
       38 (from memory).
    """
    same = schedule.same_fitting()
    pull, shape = (float(np.median(sd)) ** 2 for sd in (sizes.pull_sd, sizes.shape_sd))
    refit = float(np.median(sizes.refit_sd)) ** 2 + shape * float(np.median(sizes.refit_shape_ratio))
    centred = schedule.hours - schedule.hours.mean()
    covariance = (
        (pull + shape) * np.eye(same.shape[0])
        + refit * same
        + float(np.median(sizes.walk_sd)) ** 2 * schedule.shared_hours()
        + float(np.mean(sizes.drift**2)) * np.outer(centred, centred)
    )
    member = (schedule.cell[:, None] == np.unique(schedule.cell)).astype(np.float64)
    inverse = np.linalg.inv(covariance)
    seen = inverse @ member
    rest = inverse - seen @ np.linalg.solve(member.T @ seen, seen.T)
    own = np.diag(rest)
    alone = member.sum(axis=0)[np.searchsorted(np.unique(schedule.cell), schedule.cell)] < 2
    return np.where(alone[:, None], np.nan, rest / np.where(alone, 1.0, own)[:, None])


def drawn_residuals(
    weights: FloatArray,
    schedule: PullSchedule,
    sizes: VarianceDraws,
    shape: ShapeSpace,
    generator: np.random.Generator,
) -> FloatArray:
    """Residual curves that chance alone makes, one for each draw of the sources of scatter.

    Parameters
    ----------
    weights : (n,) array of float
        Weights of the pulls in the residual; they sum to zero in each build. [1]
    schedule : PullSchedule
        Order of the pulls. [h]
    sizes : VarianceDraws
        Sources of scatter. [%]
    shape : ShapeSpace
        Functions that a curve is made of, and the sample noise on them. [%^2]
    generator : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    (d, g) array of float
        Residual curves. [%]
    """
    on_grid = shape.on_grid
    own = float(weights @ weights)
    same = float(weights @ schedule.same_fitting() @ weights)
    walk = max(float(weights @ schedule.shared_hours() @ weights), 0.0)
    noisy = float(np.sqrt(weights**2 @ shape.noise_ratio))
    count = sizes.pull_sd.size
    level = np.sqrt(own * sizes.pull_sd**2 + same * sizes.refit_sd**2 + walk * sizes.walk_sd**2)
    normal = level * generator.standard_normal(count) + float(weights @ schedule.hours) * sizes.drift
    smooth = generator.standard_normal((count, on_grid.shape[1]))
    smooth *= (sizes.shape_sd * np.sqrt(own + same * sizes.refit_shape_ratio))[:, None]
    curves = np.empty((count, on_grid.shape[0]))
    lengths, back = np.unique(sizes.length_rpm, return_inverse=True)
    for number, covariance in enumerate(projected_matern52(shape.basis, lengths)):
        rows = back == number
        curves[rows] = smooth[rows] @ (on_grid @ _root(covariance)).T
    # The level has its own scatter: what the smooth error has of it is taken out.
    curves -= curves.mean(axis=1, keepdims=True)
    curves += generator.standard_normal((count, on_grid.shape[1])) @ (noisy * on_grid @ _root(shape.noise)).T
    curves += normal[:, None]
    return curves


def _root(covariance: FloatArray) -> FloatArray:
    """Matrix whose product with its transpose is the covariance, also where that is singular."""
    value, vector = np.linalg.eigh(covariance)
    root: FloatArray = vector * np.sqrt(np.maximum(value, 0.0))
    return root
