"""Shape of the curves about their level: its scatter on a grid of parameters, and draws of the shape of each build.

In coordinates in which both the smooth error and the white noise are diagonal, each mode is a one-way layout of its
own with closed formulae: pulls in fittings, fittings in builds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.curves.archive_prior import ScatterBelief
    from pullbook.curves.reml_modes import ShapeModes
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["ShapeData", "ShapeDraws", "ShapeScatter", "draw_shapes", "shape_likelihood", "shape_scatter"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeData:
    """Coefficients of all pulls and where each pull belongs.

    Attributes
    ----------
    coefficients : (n, k) array of float
        Spline coefficients. [%]
    noise : (n,) array of float
        White noise variance of each pull over the mean one. [1]
    fitting : (n,) array of int
        Fitting of each pull, from 0.
    cell : (f,) array of int
        Build of each fitting, from 0.
    """

    coefficients: FloatArray
    noise: FloatArray
    fitting: IntArray
    cell: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeScatter:
    """Grid of the parameters of the shape error, with the weight that the pulls and the prior give to each node.

    The nodes are all combinations of length, ratio of re-fitting to pull, and standard deviation of the pull.

    Attributes
    ----------
    data : ShapeData
        What was measured.
    modes : ShapeModes
        Coordinates for each length.
    refit_ratio : (p,) array of float
        Standard deviation of the shape error of a re-fitting over that of a pull. [1]
    sd : (s,) array of float
        Smooth error of one pull. [%]
    log_weight : (l, p, s) array of float
        Restricted log likelihood plus log prior, up to a constant. [1]
    total_sd : (l, p, s) array of float
        Shape error of one pull with its white noise, root mean square over the range. [%]
    """

    data: ShapeData
    modes: ShapeModes
    refit_ratio: FloatArray
    sd: FloatArray
    log_weight: FloatArray
    total_sd: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeDraws:
    """Joint draws of the shapes of all builds.

    Attributes
    ----------
    mean : (d, c, k) array of float
        Coefficients that are expected under the parameters of each draw. [%]
    draws : (d, c, k) array of float
        Coefficients drawn. [%]
    shape_sd : (d,) array of float
        Smooth error of one pull. [%]
    length_rpm : (d,) array of float
        Its correlation length. [rpm]
    refit_ratio : (d,) array of float
        Standard deviation of the shape error of a re-fitting over that of a pull. [1]
    """

    mean: FloatArray
    draws: FloatArray
    shape_sd: FloatArray
    length_rpm: FloatArray
    refit_ratio: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fitted:
    """One-way layouts of all modes at some nodes: means of the fittings and their variance about the build."""

    members: FloatArray  # (f, c)
    mean: FloatArray  # (s, m, f)
    own: FloatArray  # (s, m, f): variance of the mean of a fitting from its pulls
    log_within: FloatArray  # (s,): what pulls of one fitting say of the node

    def precision(self, refit: FloatArray) -> FloatArray:
        """Inverse variance of the mean of each fitting about its build, (..., s, m, f)."""
        precision: FloatArray = 1.0 / (self.own + refit[..., None])
        return precision


def _fitted(data: ShapeData, inward: FloatArray, pull: FloatArray) -> _Fitted:
    """Layouts at the nodes whose smooth error has the mode variances `pull`, (s, m)."""
    modes = (data.coefficients @ inward.T).T
    precision = 1.0 / (pull[..., None] + data.noise)
    belongs = (data.fitting[:, None] == np.arange(data.cell.size)).astype(np.float64)
    total = precision @ belongs
    mean = ((precision * modes) @ belongs) / total
    square = (precision * modes**2).sum(axis=-1) - (total * mean**2).sum(axis=-1)
    log_within = np.log(precision).sum(axis=-1) - np.log(total).sum(axis=-1) - square
    return _Fitted(
        members=(data.cell[:, None] == np.arange(int(data.cell.max()) + 1)).astype(np.float64),
        mean=mean,
        own=1.0 / total,
        log_within=0.5 * log_within.sum(axis=-1),
    )


def _log_likelihood(fitted: _Fitted, refit: FloatArray) -> FloatArray:
    """Restricted log likelihood, up to a constant, of nodes with the re-fitting variances `refit`, (p, s, m)."""
    precision = fitted.precision(refit)
    total = precision @ fitted.members
    weighted = (precision * fitted.mean) @ fitted.members
    square = (precision * fitted.mean**2).sum(axis=-1) - (weighted**2 / total).sum(axis=-1)
    terms = np.log(precision).sum(axis=-1) - np.log(total).sum(axis=-1) - square
    between: FloatArray = 0.5 * terms.sum(axis=-1)
    return fitted.log_within + between


def _residual_scale(data: ShapeData) -> float:
    """Root mean square residual of a coefficient about the mean of its build, at least a thousandth of a per cent."""
    cell = data.cell[data.fitting]
    count = np.bincount(cell).astype(np.float64)
    mean = np.zeros((count.size, data.coefficients.shape[1]))
    np.add.at(mean, cell, data.coefficients)
    residual = data.coefficients - (mean / count[:, None])[cell]
    freedom = max(cell.size - count.size, 1)
    return max(float(np.sqrt((residual**2).sum() / freedom / residual.shape[1])), 1e-3)


def shape_likelihood(data: ShapeData, modes: ShapeModes, refit_ratio: FloatArray, sd: FloatArray) -> FloatArray:
    """Restricted log likelihood of given sizes of the shape error, without any prior.

    Parameters
    ----------
    data : ShapeData
        What was measured. [%]
    modes : ShapeModes
        Coordinates for each of l correlation lengths.
    refit_ratio : (p,) array of float
        Nodes of the ratio of the shape error of a re-fitting to that of a pull. [1]
    sd : (s,) array of float
        Nodes of the smooth error of a pull. [%]

    Returns
    -------
    (l, p, s) array of float
        Up to a constant; all the same where no build has two pulls. [1]
    """
    found = []
    for inward, variance in zip(modes.inward, modes.variance, strict=True):
        pull = sd[:, None] ** 2 * variance
        found.append(_log_likelihood(_fitted(data, inward, pull), refit_ratio[:, None, None] ** 2 * pull))
    return np.stack(found)


def shape_scatter(data: ShapeData, modes: ShapeModes, prior: ScatterBelief) -> ShapeScatter:
    r"""Weight of each node of a grid of the parameters of the shape error.

    Mode :math:`k` of pull :math:`i` has variance :math:`s^2 \lambda_k + w_i`, that of a re-fitting
    :math:`\rho^2 s^2 \lambda_k`. The weight is the restricted likelihood times the prior, which is flat in
    :math:`\log s` and :math:`\log\ell` unless it comes from an archive.

    Parameters
    ----------
    data : ShapeData
        What was measured; at least one build has two pulls, or the prior is from an archive.
    modes : ShapeModes
        Coordinates for each correlation length.
    prior : ScatterPrior or ArchivePrior
        What is believed of the shape error of a pull and of a re-fitting.

    Returns
    -------
    ShapeScatter
        All nodes with their weights.

    References
    ----------
    1. H. D. Patterson, R. Thompson, "Recovery of inter-block information when block sizes are unequal",
       Biometrika 58, 1971 (from memory).
    """
    ratio, share = prior.ratio_nodes(each_fitted=data.cell.size == data.fitting.size)
    sd, sd_share = prior.shape_nodes(_residual_scale(data))
    total = sd[:, None] ** 2 * (modes.power * modes.variance).sum(axis=-1)[:, None, None]
    log_weight = shape_likelihood(data, modes, ratio, sd) + np.log(share)[:, None]
    log_weight += np.log(prior.length_shares(modes.lengths_rpm))[:, None, None] + np.log(sd_share)
    total_sd = np.sqrt(np.swapaxes(total, -1, -2) + modes.power.sum(axis=-1)[:, None, None])
    return ShapeScatter(
        data=data,
        modes=modes,
        refit_ratio=ratio,
        sd=sd,
        log_weight=log_weight,
        total_sd=np.broadcast_to(total_sd, log_weight.shape),
    )


def draw_shapes(scatter: ShapeScatter, node: IntArray, generator: np.random.Generator) -> ShapeDraws:
    """Joint draws of the shapes of all builds, each at a node that was chosen for it.

    Parameters
    ----------
    scatter : ShapeScatter
        The grid.
    node : (d,) array of int
        Chosen nodes, counted through the grid, in rising order.
    generator : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ShapeDraws
        In the order of the nodes.
    """
    data, modes, sd = scatter.data, scatter.modes, scatter.sd
    length, rest = np.divmod(node, scatter.refit_ratio.size * sd.size)
    ratio, step = np.divmod(rest, sd.size)
    cells = int(data.cell.max()) + 1
    mean = np.empty((node.size, cells, modes.outward.shape[1]))
    draws = np.empty_like(mean)
    for which in np.unique(length):
        rows = slice(int(np.searchsorted(length, which)), int(np.searchsorted(length, which, side="right")))
        _, first, back = np.unique(rest[rows], return_index=True, return_inverse=True)
        pull = sd[step[rows][first], None] ** 2 * modes.variance[which]
        fitted = _fitted(data, modes.inward[which], pull)
        precision = fitted.precision(scatter.refit_ratio[ratio[rows][first], None] ** 2 * pull)
        total = np.swapaxes(precision @ fitted.members, -1, -2)
        centre = np.swapaxes((precision * fitted.mean) @ fitted.members, -1, -2) / total
        normal = generator.standard_normal((back.size, cells, total.shape[-1]))
        # Turned into the modes here and back by `outward`: the sign of an eigenvector must not decide a draw.
        normal = normal @ modes.axes[which]
        normal *= (1.0 / np.sqrt(total))[back]
        outward = modes.outward[which].T
        mean[rows] = (centre @ outward)[back]
        draws[rows] = normal @ outward
        draws[rows] += mean[rows]
    return ShapeDraws(
        mean=mean,
        draws=draws,
        shape_sd=sd[step],
        length_rpm=modes.lengths_rpm[length],
        refit_ratio=scatter.refit_ratio[ratio],
    )
