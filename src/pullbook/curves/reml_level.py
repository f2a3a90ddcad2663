"""Level of the curves: scatter from pull, re-fitting, random walk and drift, and draws of the level of each build."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.reml_draw import systematic_nodes

if TYPE_CHECKING:
    from pullbook.curves.archive_prior import ScatterBelief
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["LevelData", "LevelDraws", "LevelScatter", "draw_levels", "level_likelihood", "level_scatter"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelData:
    """Levels of all pulls, in order of time.

    Attributes
    ----------
    level : (n,) array of float
        Mean of the curve of each pull over the range. [%]
    cell : (n,) array of int
        Its build, from 0.
    fitting : (n,) array of int
        Its fitting, from 0.
    hours : (n,) array of float
        When, from the first pull. [h]
    """

    level: FloatArray
    cell: IntArray
    fitting: IntArray
    hours: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelDraws:
    """Joint draws of the levels of all builds.

    Attributes
    ----------
    mean : (d, c) array of float
        Levels that are expected under the parameters of each draw. [%]
    draws : (d, c) array of float
        Levels drawn. [%]
    pull_sd, refit_sd : (d,) array of float
        Scatter of the level of a pull and of a re-fitting. [%]
    walk_sd : (d,) array of float
        Random walk. [% / sqrt(h)]
    drift : (d,) array of float
        Linear drift. [%/h]
    """

    mean: FloatArray
    draws: FloatArray
    pull_sd: FloatArray
    refit_sd: FloatArray
    walk_sd: FloatArray
    drift: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Nodes:
    """Grid of re-fitting, walk and drift, and the covariance of the residuals at each node in diagonal form."""

    sd: FloatArray  # (q, 3)
    log_prior: FloatArray  # (q,)
    eigenvalue: FloatArray  # (q, r)
    eigenvector: FloatArray  # (q, r, r)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Design:
    """What the order of the pulls makes of the sources of scatter."""

    average: FloatArray  # (c, n): means of the builds
    residual: FloatArray  # (n, r): orthonormal contrasts within the builds
    roots: tuple[FloatArray, FloatArray, FloatArray]  # factors of the covariances: re-fitting, walk, drift


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelScatter:
    """Grid of the parameters of the level, with the weight that the pulls and the priors give to each node.

    Attributes
    ----------
    data : LevelData
        What was measured.
    pull_sd : (m,) array of float
        Nodes of the scatter of a pull. [%]
    log_weight : (q, m) array of float
        Restricted log likelihood plus log prior of re-fitting, walk and drift, up to a constant. [1]
    refit_within : float
        Scale of the re-fitting error that is part of `pull_sd`: zero unless every pull is a fitting of its own. [%]
    """

    data: LevelData
    pull_sd: FloatArray
    log_weight: FloatArray
    refit_within: float
    design: _Design
    nodes: _Nodes


def _design(data: LevelData) -> _Design:
    cells = int(data.cell.max()) + 1
    member = (data.cell[:, None] == np.arange(cells)).astype(np.float64)
    complete = np.linalg.qr(member, mode="complete")[0]
    fit = (data.fitting[:, None] == np.arange(int(data.fitting.max()) + 1)).astype(np.float64)
    steps = np.sqrt(np.diff(data.hours, prepend=data.hours[0]))
    walk = np.tril(np.ones((data.hours.size, data.hours.size))) * steps
    drift = (data.hours - data.hours.mean())[:, None]
    return _Design(
        average=(member / member.sum(axis=0)).T,
        residual=complete[:, cells:],
        roots=(fit, walk, drift),
    )


def _each_fitted(data: LevelData) -> bool:
    """Every pull is a fitting of its own, so that pull and re-fitting cannot be told apart and need not be."""
    return bool(data.fitting.max() + 1 == data.fitting.size)


def _nodes(design: _Design, sources: list[tuple[FloatArray, FloatArray]]) -> _Nodes:
    sd = np.stack([axis.ravel() for axis in np.meshgrid(*(nodes for nodes, _ in sources), indexing="ij")], axis=1)
    share = np.stack([axis.ravel() for axis in np.meshgrid(*(mass for _, mass in sources), indexing="ij")], axis=1)
    seen = [design.residual.T @ root for root in design.roots]
    parts = np.stack([root @ root.T for root in seen])
    total = (sd**2 @ parts.reshape(3, parts[0].size)).reshape(sd.shape[0], *parts.shape[1:])
    value, vector = np.linalg.eigh(total)
    return _Nodes(
        sd=sd,
        log_prior=np.log(share).sum(axis=1),
        eigenvalue=np.maximum(value, 0.0),
        eigenvector=vector,
    )


def _log_likelihood(seen: FloatArray, nodes: _Nodes, pull: FloatArray) -> FloatArray:
    """Restricted log likelihood at all nodes, (q, m), up to a constant."""
    turned = (seen @ nodes.eigenvector) ** 2
    total = pull[None, :, None] ** 2 + nodes.eigenvalue[:, None, :]
    found: FloatArray = -0.5 * (np.log(total) + turned[:, None, :] / total).sum(axis=-1)
    return found


def level_likelihood(
    data: LevelData, sources: tuple[FloatArray, FloatArray, FloatArray], pull: FloatArray
) -> FloatArray:
    """Restricted log likelihood of given sizes of the sources, without any prior.

    Parameters
    ----------
    data : LevelData
        What was measured. [%]
    sources : tuple of array of float
        Nodes of re-fitting, walk and drift. [%, % / sqrt(h), %/h]
    pull : (m,) array of float
        Nodes of the scatter of a pull. [%]

    Returns
    -------
    (a, b, c, m) array of float
        Up to a constant; all the same where no build has two pulls. [1]
    """
    design = _design(data)
    nodes = _nodes(design, [(axis, np.ones(axis.size)) for axis in sources])
    found = _log_likelihood(design.residual.T @ data.level, nodes, pull)
    return found.reshape(*(axis.size for axis in sources), pull.size)


def level_scatter(data: LevelData, prior: ScatterBelief) -> LevelScatter:
    r"""Weight of each node of a grid of the parameters of the level.

    .. math:: V = s_e^2 I + s_i^2 ZZ' + s_w^2 \min(t_i, t_j) + s_d^2 (t_i - \bar t)(t_j - \bar t)

    The residuals :math:`Q'y` within builds are diagonal for all :math:`s_e` at once at each node of
    :math:`(s_i, s_w, s_d)`, so that the restricted likelihood costs one eigenvalue problem a node.

    Parameters
    ----------
    data : LevelData
        What was measured; at least one build has two pulls, or the prior is from an archive.
    prior : ScatterPrior or ArchivePrior
        What is believed of pull, re-fitting, walk and drift.

    Returns
    -------
    LevelScatter
        All nodes with their weights.

    Notes
    -----
    Where every pull is a fitting of its own, re-fitting is part of the pull unless an archive tells them apart, and
    where all times are the same there is no drift.

    References
    ----------
    1. H. D. Patterson, R. Thompson, "Recovery of inter-block information when block sizes are unequal",
       Biometrika 58, 1971 (from memory).
    """
    design = _design(data)
    each_fitted = _each_fitted(data)
    nodes = _nodes(design, prior.slow_nodes(each_fitted=each_fitted, timed=bool(np.ptp(data.hours) > 0.0)))
    seen = design.residual.T @ data.level
    pull, share = prior.pull_nodes(max(float(np.sqrt((seen**2).mean())), 1e-3) if seen.size else 1e-3)
    log_weight = _log_likelihood(seen, nodes, pull) + nodes.log_prior[:, None]
    log_weight += np.log(share)
    return LevelScatter(
        data=data,
        design=design,
        nodes=nodes,
        pull_sd=pull,
        log_weight=log_weight,
        refit_within=prior.refit_within_pull(each_fitted=each_fitted),
    )


def draw_levels(scatter: LevelScatter, step: IntArray, generator: np.random.Generator) -> LevelDraws:
    """Joint draws of the levels of all builds, each at a pull scatter that was chosen for it.

    Re-fitting, walk and drift are chosen by their weight given the scatter of the pull; then the errors of all pulls
    are drawn and conditioned on the residuals that were seen.

    Parameters
    ----------
    scatter : LevelScatter
        The grid.
    step : (d,) array of int
        Chosen node of `pull_sd` for each draw.
    generator : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    LevelDraws
        In the order of `step`.

    References
    ----------
    1. A. G. Journel, C. J. Huijbregts, *Mining Geostatistics*, 1978: conditioning of a draw by kriging (from memory).
    """
    node = np.empty_like(step)
    for which in np.unique(step):
        rows = np.flatnonzero(step == which)
        node[rows] = generator.permutation(systematic_nodes(scatter.log_weight[:, which], rows.size, generator))
    sd = np.column_stack((scatter.nodes.sd[node], scatter.pull_sd[step]))
    return _condition(scatter, node, sd, generator)


def _solved(scatter: LevelScatter, node: IntArray, pull: FloatArray, both: FloatArray) -> FloatArray:
    """Inverse covariance of the residuals times given residuals, (d, 2, r), each at its own node."""
    order = np.argsort(node, kind="stable")
    ranked = node[order]
    solved = np.empty_like(both)
    for which in np.unique(node):
        rows = order[np.searchsorted(ranked, which) : np.searchsorted(ranked, which, side="right")]
        turned = both[rows] @ scatter.nodes.eigenvector[which]
        turned /= (pull[rows, None] ** 2 + scatter.nodes.eigenvalue[which])[:, None, :]
        solved[rows] = turned @ scatter.nodes.eigenvector[which].T
    return solved


def _condition(scatter: LevelScatter, node: IntArray, sd: FloatArray, generator: np.random.Generator) -> LevelDraws:
    """Draw the errors of all pulls, condition them on the residuals that were seen, and leave the levels."""
    design, data, count = scatter.design, scatter.data, node.size
    normals = [generator.standard_normal((count, root.shape[1])) for root in design.roots]
    error = sd[:, 3:] * generator.standard_normal((count, data.level.size))
    for source, (root, normal) in enumerate(zip(design.roots, normals, strict=True)):
        error += sd[:, source : source + 1] * (normal @ root.T)
    seen = design.residual.T @ data.level
    both = np.stack((np.broadcast_to(seen, (count, seen.size)), seen - error @ design.residual), axis=1)
    solved = _solved(scatter, node, sd[:, 3], both)
    shift = np.zeros((count, 2, design.average.shape[0]))
    for source, root in enumerate(design.roots):
        cross = design.average @ root @ (root.T @ design.residual)
        shift += sd[:, source, None, None] ** 2 * (solved @ cross.T)
    average = design.average @ data.level
    trend = (design.roots[2].T @ design.residual)[0]
    return LevelDraws(
        mean=average - shift[:, 0],
        draws=average - error @ design.average.T - shift[:, 1],
        pull_sd=sd[:, 3],
        refit_sd=sd[:, 0],
        walk_sd=sd[:, 1],
        drift=sd[:, 2] * normals[2][:, 0] + sd[:, 2] ** 2 * (solved[:, 1] @ trend),
    )
