"""What a comparison will know of the level of the builds: its grid of scatter sizes for an order, without the pulls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.reml_draw import systematic_nodes
from pullbook.curves.reml_prior import half_cauchy_nodes, half_normal_nodes

if TYPE_CHECKING:
    from pullbook.curves.reml_prior import ScatterPrior
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["LevelGrid", "LevelKnown", "level_grid"]

_PULL_NODES: Final = 16
_LOWEST: Final = 0.04  # ends of the grid of the scatter of a pull, in shares of what the residuals show
_HIGHEST: Final = (30.0, 6.0)  # where few residuals leave a long tail, and where many do not
_MANY: Final = 5
_FACTORS: Final = 24  # of a product of inverse variances between 1e-9 and 1e9, which stays in the range of a float
# Nodes that are close enough to be one here: of walk and drift, and, where many residuals tell more, of all three.
_CLOSE: Final = ((0, 1), (2,), (3,), (4,), (5, 6))
_CLOSER: Final = ((0, 1), (2, 3), (4,), (5, 6))
_CLOSER_REFIT: Final = ((0, 1), (2,), (3,), (4,), (5,), (6, 7), (8,), (9, 10, 11))
_PLENTY: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelKnown:
    """Draws of the error of each contrast that a comparison would have.

    Attributes
    ----------
    error : (m,) array of float
        How far the estimate of each contrast is from the truth. [%]
    deviations : (d, m) array of float
        Draws about the estimate, of the level alone. [%]
    """

    error: FloatArray
    deviations: FloatArray


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

    def known(
        self, level: FloatArray, shape_sd: float, normal: FloatArray, generator: np.random.Generator
    ) -> LevelKnown:
        """What a comparison would know from the levels of all pulls.

        The same restricted likelihood, priors and mixture as the comparison has; only the scale of the shape error,
        which a session knows well, is taken as given.

        Parameters
        ----------
        level : (n,) array of float
            Errors of the levels, where all builds are alike. [%]
        shape_sd : float
            Scatter of the shape. [%]
        normal : (d, m) array of float
            Standard normal numbers. [1]
        generator : numpy.random.Generator
            Places the comb of nodes.

        Returns
        -------
        LevelKnown
            [%]
        """
        seen = self.residual.T @ level
        pull = max(float(np.sqrt((seen**2).mean())), 1e-3) * np.geomspace(
            _LOWEST, _HIGHEST[seen.size > _MANY], _PULL_NODES
        )
        turned = seen @ self.vector
        inverse = 1.0 / (pull[None, :, None] ** 2 + self.value[:, None, :])
        ratio = np.log(pull / np.hypot(shape_sd, self.refit_within))
        weight = 0.5 * (_log_product(inverse) - np.matmul(inverse, turned[:, :, None] ** 2)[:, :, 0])
        weight += self.log_prior[:, None] + 0.5 * ratio - np.logaddexp(0.0, ratio)
        node, step = np.divmod(systematic_nodes(weight.ravel(), normal.shape[0], generator), _PULL_NODES)
        chosen = inverse[node, step]
        across = self.across[node]
        mean = self.average @ level - np.einsum("dr,drm->dm", chosen * turned[node], across)
        variance = (
            self.spread[node]
            + pull[step, None] ** 2 * (self.average**2).sum(axis=1)
            - np.einsum("dr,drm->dm", chosen, across**2)
        )
        centre = mean.mean(axis=0)
        deviations = mean - centre + np.sqrt(np.maximum(variance, 0.0)) * normal
        return LevelKnown(error=centre, deviations=deviations)


def _log_product(values: FloatArray) -> FloatArray:
    """Logarithm of the product along the last axis; far fewer logarithms than a sum of them, and no overflow."""
    parts = range(0, values.shape[-1], _FACTORS)
    total: FloatArray = np.sum([np.log(np.prod(values[..., at : at + _FACTORS], axis=-1)) for at in parts], axis=0)
    return total


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
