"""What a comparison will know of the level of the builds, in many sessions of one order at a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.reml_draw import systematic_nodes

if TYPE_CHECKING:
    from pullbook.plan.level_grid import LevelGrid
    from pullbook.quantities.arrays import FloatArray

__all__ = ["LevelKnown", "LevelSessions", "level_sessions"]

_STEP: Final = 1.55  # from one node of the scatter of a pull to the next
_LOWEST: Final = 0.04  # ends of these nodes, in shares of what the residuals of a session show
_HIGHEST: Final = (30.0, 6.0)  # where few residuals leave a long tail, and where many do not
_MANY: Final = 5
_LEAST: Final = 1e-3  # residuals below are none [%]
_FACTORS: Final = 24  # of a product of inverse variances between 1e-9 and 1e9, which stays in the range of a float


@dataclass(frozen=True, slots=True, kw_only=True)
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
class LevelSessions:
    """Sessions of one order, with everything that they have in common worked out once.

    Attributes
    ----------
    grid : LevelGrid
        Of the order. [%]
    average : (s, m) array of float
        Contrasts of the means of the builds in each session. [%]
    pull : (p,) array of float
        Nodes of the scatter of a pull, the same for all sessions. [%]
    inverse : (q, p, r) array of float
        Inverse variances of the turned residuals. [1/%^2]
    turned : (q, s, r) array of float
        Residuals of each session in diagonal form. [%]
    fit : (q, p, s) array of float
        Logarithm of likelihood and prior of the slow sources, without what depends on the shape. [1]
    variance : (q, p, m) array of float
        Of each contrast at each node. [%^2]
    """

    grid: LevelGrid
    average: FloatArray
    pull: FloatArray
    inverse: FloatArray
    turned: FloatArray
    fit: FloatArray
    variance: FloatArray

    def known(self, number: int, shape_sd: float, normal: FloatArray, generator: np.random.Generator) -> LevelKnown:
        """What a comparison would know of one session.

        The same restricted likelihood, priors and mixture as the comparison has; only the scale of the shape error,
        which a session knows well, is taken as given.

        Parameters
        ----------
        number : int
            The session, from 0.
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
        ratio = np.log(self.pull / np.hypot(shape_sd, self.grid.refit_within))
        weight = self.fit[:, :, number] + 0.5 * ratio - np.logaddexp(0.0, ratio)
        chosen, times = np.unique(systematic_nodes(weight.ravel(), normal.shape[0], generator), return_counts=True)
        node, step = np.divmod(chosen, self.pull.size)
        share = self.inverse[node, step] * self.turned[node, number]
        mean = self.average[number] - np.matmul(share[:, None, :], self.grid.across[node])[:, 0]
        each = np.repeat(np.arange(chosen.size), times)
        centre = times @ mean / normal.shape[0]
        deviations = (mean - centre)[each] + np.sqrt(self.variance[node, step])[each] * normal
        return LevelKnown(error=centre, deviations=deviations)


def level_sessions(grid: LevelGrid, level: FloatArray) -> LevelSessions:
    """Sessions of an order from the levels of all pulls.

    Parameters
    ----------
    grid : LevelGrid
        Of the order. [%]
    level : (s, n) array of float
        Errors of the levels, where all builds are alike. [%]

    Returns
    -------
    LevelSessions
        [%]
    """
    seen = level @ grid.residual
    size = np.maximum(np.sqrt((seen**2).mean(axis=1)), _LEAST)
    low, high = _LOWEST * float(size.min()), _HIGHEST[seen.shape[1] > _MANY] * float(size.max())
    pull = np.geomspace(low, high, 1 + int(np.ceil(np.log(high / low) / np.log(_STEP))))
    inverse = 1.0 / (pull[None, :, None] ** 2 + grid.value[:, None, :])
    turned = np.matmul(seen, grid.vector)
    squares = np.matmul(inverse, (turned**2).swapaxes(1, 2))
    own = pull[:, None] ** 2 * (grid.average**2).sum(axis=1)
    variance = grid.spread[:, None, :] + own - np.matmul(inverse, grid.across**2)
    return LevelSessions(
        grid=grid,
        average=level @ grid.average.T,
        pull=pull,
        inverse=inverse,
        turned=turned,
        fit=(0.5 * _log_product(inverse) + grid.log_prior[:, None])[:, :, None] - 0.5 * squares,
        variance=np.maximum(variance, 0.0),
    )


def _log_product(values: FloatArray) -> FloatArray:
    """Logarithm of the product along the last axis; far fewer logarithms than a sum of them, and no overflow."""
    parts = range(0, values.shape[-1], _FACTORS)
    total: FloatArray = np.sum([np.log(np.prod(values[..., at : at + _FACTORS], axis=-1)) for at in parts], axis=0)
    return total
