"""Shape of the curves about their level: its scatter on a grid of parameters, and draws of the shape of each build.

In coordinates in which both the smooth error and the white noise are diagonal, each mode is a one-way layout of its
own with closed formulae: pulls in fittings, fittings in builds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.reml_draw import systematic_nodes

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["ShapeDraws", "ShapeModes", "draw_shapes", "shape_modes"]

_LOWEST_SHARE = 0.05
_HIGHEST_SHARE = 5.0
_SHAPE_NODES = 28


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeModes:
    """Coordinates in which the shape error of one pull is diagonal, one set for each correlation length.

    Attributes
    ----------
    lengths_rpm : (l,) array of float
        Correlation lengths. [rpm]
    variance : (l, m) array of float
        Variance of each mode for a smooth error of unit variance. [1]
    inward : (l, m, k) array of float
        From spline coefficients to modes, whose white noise then has unit variance. [1]
    outward : (l, k, m) array of float
        From modes to spline coefficients. [1]
    """

    lengths_rpm: FloatArray
    variance: FloatArray
    inward: FloatArray
    outward: FloatArray


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


def shape_modes(smooth: FloatArray, noise: FloatArray, level: FloatArray, lengths_rpm: FloatArray) -> ShapeModes:
    """Simultaneous diagonal form of smooth error and white noise, after the level is taken out.

    Parameters
    ----------
    smooth : (l, k, k) array of float
        Covariance of the coefficients of a smooth error of unit variance, for each length. [1]
    noise : (k, k) array of float
        Covariance of the coefficients from white noise. [%^2]
    level : (k,) array of float
        The level of a curve is this times its coefficients. [1]
    lengths_rpm : (l,) array of float
        Correlation lengths. [rpm]

    Returns
    -------
    ShapeModes
        With one mode fewer than there are coefficients.
    """
    count = level.size
    complement = np.linalg.qr(level[:, None], mode="complete")[0][:, 1:]
    project = complement.T @ (np.eye(count) - np.outer(np.ones(count), level))
    root = np.linalg.cholesky(project @ noise @ project.T)
    whiten = np.linalg.solve(root, project)
    variance, vectors = np.linalg.eigh(whiten @ smooth @ whiten.T)
    inward = np.swapaxes(vectors, -1, -2) @ whiten
    return ShapeModes(
        lengths_rpm=lengths_rpm,
        variance=np.maximum(variance, 0.0),
        inward=inward,
        outward=complement @ root @ vectors,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeData:
    """Coefficients of all pulls and where each pull belongs.

    Attributes
    ----------
    coefficients : (n, k) array of float
        Spline coefficients. [%]
    fitting : (n,) array of int
        Fitting of each pull, from 0.
    cell : (f,) array of int
        Build of each fitting, from 0.
    """

    coefficients: FloatArray
    fitting: IntArray
    cell: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Layout:
    """Fittings in builds: counts, membership, and the data of one length in its modes."""

    members: FloatArray
    counts: FloatArray
    fitting_mean: FloatArray
    within: FloatArray
    within_df: int


def _layout(data: ShapeData, inward: FloatArray) -> _Layout:
    modes = data.coefficients @ inward.T
    counts = np.bincount(data.fitting, minlength=data.cell.size).astype(np.float64)
    means = np.zeros((data.cell.size, modes.shape[1]))
    np.add.at(means, data.fitting, modes)
    means /= counts[:, None]
    return _Layout(
        members=(data.cell[:, None] == np.arange(data.cell.max() + 1)).astype(np.float64),
        counts=counts,
        fitting_mean=means,
        within=((modes - means[data.fitting]) ** 2).sum(axis=0),
        within_df=data.fitting.size - data.cell.size,
    )


def _precision(layout: _Layout, tau: FloatArray, kappa: FloatArray) -> FloatArray:
    """Inverse variance of the mean of each fitting about its build, for each node and mode: (..., m, f)."""
    return 1.0 / (tau[..., None] / layout.counts + kappa[..., None])


def _log_likelihood(layout: _Layout, tau: FloatArray, kappa: FloatArray) -> FloatArray:
    """Restricted log likelihood of each node, up to a constant.

    `tau` (variance of a pull) and `kappa` (of a re-fitting) have the shape (nodes, modes).
    """
    precision = _precision(layout, tau, kappa)
    mean = layout.fitting_mean.T
    total = precision @ layout.members
    weighted = (precision * mean) @ layout.members
    square = (precision * mean**2).sum(axis=-1) - (weighted**2 / total).sum(axis=-1)
    terms = (
        layout.within_df * np.log(tau)
        + layout.within / tau
        - np.log(precision).sum(axis=-1)
        + np.log(total).sum(axis=-1)
        + square
    )
    return -0.5 * terms.sum(axis=-1)


def _residual_scale(data: ShapeData) -> float:
    """Root mean square residual of a coefficient about the mean of its build, at least a thousandth of a per cent."""
    cell = data.cell[data.fitting]
    count = np.bincount(cell).astype(np.float64)
    mean = np.zeros((count.size, data.coefficients.shape[1]))
    np.add.at(mean, cell, data.coefficients)
    residual = data.coefficients - (mean / count[:, None])[cell]
    freedom = max(cell.size - count.size, 1)
    return max(float(np.sqrt((residual**2).sum() / freedom / residual.shape[1])), 1e-3)


def draw_shapes(
    data: ShapeData,
    modes: ShapeModes,
    refit_ratio: tuple[FloatArray, FloatArray],
    count: int,
    generator: np.random.Generator,
) -> ShapeDraws:
    r"""Joint draws of the shapes of all builds, with the scatter parameters integrated out on a grid.

    Mode :math:`k` of a pull has variance :math:`\tau_k = s^2 \lambda_k + 1`, that of a re-fitting
    :math:`\kappa_k = \rho^2 s^2 \lambda_k`. The grid of :math:`(\ell, \rho, s)` is weighted with the restricted
    likelihood and the prior (flat in :math:`\log s` and :math:`\log\ell`), nodes are chosen by weight, and the shape of
    each build is drawn from its normal distribution given the node.

    Parameters
    ----------
    data : ShapeData
        What was measured.
    modes : ShapeModes
        Coordinates for each correlation length.
    refit_ratio : tuple of array of float
        Nodes of the ratio of the shape error of a re-fitting to that of a pull, and the share of the prior at each. [1]
    count : int
        Number of draws.
    generator : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ShapeDraws
        Sorted by length.

    References
    ----------
    1. H. D. Patterson, R. Thompson, "Recovery of inter-block information when block sizes are unequal",
       Biometrika 58, 1971 (from memory).
    """
    ratio, share = refit_ratio
    sd = _residual_scale(data) * np.geomspace(_LOWEST_SHARE, _HIGHEST_SHARE, _SHAPE_NODES)
    pull = np.repeat(sd[None, :] ** 2, ratio.size, axis=0).ravel()
    refit = (ratio[:, None] ** 2 * sd[None, :] ** 2).ravel()
    layouts = [_layout(data, inward) for inward in modes.inward]
    weights = [
        _log_likelihood(layout, pull[:, None] * variance + 1.0, refit[:, None] * variance)
        for layout, variance in zip(layouts, modes.variance, strict=True)
    ]
    prior = np.repeat(np.log(share), sd.size)
    chosen = systematic_nodes((np.stack(weights) + prior).ravel(), count, generator)
    length, node = np.divmod(chosen, pull.size)
    cells = int(data.cell.max()) + 1
    mean = np.empty((count, cells, modes.outward.shape[1]))
    draws = np.empty_like(mean)
    for which in np.unique(length):
        rows = slice(int(np.searchsorted(length, which)), int(np.searchsorted(length, which, side="right")))
        distinct, back = np.unique(node[rows], return_inverse=True)
        layout = layouts[which]
        variance = modes.variance[which]
        precision = _precision(layout, pull[distinct, None] * variance + 1.0, refit[distinct, None] * variance)
        total = np.swapaxes(precision @ layout.members, -1, -2)
        centre = np.swapaxes((precision * layout.fitting_mean.T) @ layout.members, -1, -2) / total
        normal = generator.standard_normal((back.size, *total.shape[1:]))
        normal *= (1.0 / np.sqrt(total))[back]
        mean[rows] = (centre @ modes.outward[which].T)[back]
        draws[rows] = normal @ modes.outward[which].T
        draws[rows] += mean[rows]
    return ShapeDraws(
        mean=mean,
        draws=draws,
        shape_sd=sd[node % sd.size],
        length_rpm=modes.lengths_rpm[length],
        refit_ratio=ratio[node // sd.size],
    )
