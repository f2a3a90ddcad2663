"""What a comparison will know of the level of the builds: its grid of scatter sizes for an order, without the pulls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.reml_prior import half_cauchy_nodes, half_normal_nodes

if TYPE_CHECKING:
    from pullbook.curves.reml_prior import ScatterPrior
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["LevelGrid", "level_grid"]

# Nodes that are close enough to be one here: of walk and drift, and, where many residuals tell more, of all three.
_CLOSE: Final = ((0, 1), (2,), (3,), (4,), (5, 6))
_CLOSER: Final = ((0, 1), (2, 3), (4,), (5, 6))
_CLOSER_REFIT: Final = ((0, 1), (2,), (3,), (4,), (5,), (6, 7), (8,), (9, 10, 11))
_PLENTY: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelGrid:
    """Grid of the sizes of re-fitting, walk and drift, and what an order makes of each node.

    Attributes
    ----------
    hours : (n,) array of float
        When each pull is made. [h]
    fitting : (n,) array of int
        Its fitting, from 0.
    average : (m, n) array of float
        Contrasts of the means of the builds. [1]
    residual : (n, r) array of float
        Orthonormal contrasts within the builds. [1]
    log_prior : (q,) array of float
        Of each node. [1]
    value, vector : (q, r), (q, r, r) arrays of float
        Covariance of the residuals without the pull, in diagonal form. [%^2, 1]
    across : (q, r, m) array of float
        Covariance of turned residuals and contrasts. [%^2]
    spread : (q, m) array of float
        Variance of the contrasts of the means, without the pull. [%^2]
    refit_within : float
        Scale of the re-fitting that is part of the pull: zero unless every pull is a fitting of its own. [%]
    """

    hours: FloatArray
    fitting: IntArray
    average: FloatArray
    residual: FloatArray
    log_prior: FloatArray
    value: FloatArray
    vector: FloatArray
    across: FloatArray
    spread: FloatArray
    refit_within: float


def level_grid(
    cell: IntArray, fitting: IntArray, hours: FloatArray, contrasts: FloatArray, prior: ScatterPrior
) -> LevelGrid:
    """Grid for an order of pulls.

    Parameters
    ----------
    cell, fitting : (n,) array of int
        Build and fitting of each pull, from 0; at least one build has two pulls.
    hours : (n,) array of float
        When each is made. [h]
    contrasts : (m, c) array of float
        Weights of the builds. [1]
    prior : ScatterPrior
        That of the comparison. [%]

    Returns
    -------
    LevelGrid
        For any pulls made in this order. [%]
    """
    member = (cell[:, None] == np.arange(contrasts.shape[1])).astype(np.float64)
    residual = np.linalg.qr(member, mode="complete")[0][:, contrasts.shape[1] :]
    average = contrasts @ (member / member.sum(axis=0)).T
    each_fitted = int(fitting.max()) + 1 == fitting.size
    steps = np.sqrt(np.diff(hours, prepend=hours[0]))
    roots = (
        (fitting[:, None] == np.arange(int(fitting.max()) + 1)).astype(np.float64),
        np.tril(np.ones((hours.size, hours.size))) * steps,
        (hours - hours.mean())[:, None],
    )
    plenty = residual.shape[1] > _PLENTY
    close, refit = (_CLOSER, _CLOSER_REFIT) if plenty else (_CLOSE, tuple((n,) for n in range(12)))
    axes = (
        (np.zeros(1), np.ones(1)) if each_fitted else _fewer(*half_cauchy_nodes(prior.refit_scale), refit),
        _fewer(*half_normal_nodes(prior.walk_scale), close),
        _fewer(*half_normal_nodes(prior.drift_scale), close),
    )
    size = np.stack([axis.ravel() for axis in np.meshgrid(*(nodes for nodes, _ in axes), indexing="ij")], axis=1) ** 2
    share = np.stack([axis.ravel() for axis in np.meshgrid(*(mass for _, mass in axes), indexing="ij")], axis=1)
    inside = np.stack([part @ part.T for part in (residual.T @ root for root in roots)])
    value, vector = np.linalg.eigh((size @ inside.reshape(3, -1)).reshape(-1, *inside.shape[1:]))
    across = np.stack([(residual.T @ root) @ (average @ root).T for root in roots])
    return LevelGrid(
        hours=hours,
        fitting=fitting,
        average=average,
        residual=residual,
        log_prior=np.log(share).sum(axis=1),
        value=np.maximum(value, 0.0),
        vector=vector,
        across=np.swapaxes(vector, -1, -2) @ (size @ across.reshape(3, -1)).reshape(-1, *across.shape[1:]),
        spread=size @ np.stack([((average @ root) ** 2).sum(axis=1) for root in roots]),
        refit_within=prior.refit_scale if each_fitted else 0.0,
    )


def _fewer(
    nodes: FloatArray, shares: FloatArray, together: tuple[tuple[int, ...], ...]
) -> tuple[FloatArray, FloatArray]:
    """Nodes with close ones taken together, so that shares and mean squares stay."""
    joint = np.array([shares[list(part)].sum() for part in together])
    square = np.array([(shares[list(part)] * nodes[list(part)] ** 2).sum() for part in together])
    return np.sqrt(square / joint), joint
