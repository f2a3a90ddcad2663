"""ScatterPrior: what is believed of re-fitting and drift before the pulls are looked at, on grids of its own making."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.quantities.arrays import FloatArray

__all__ = ["ScatterPrior", "half_cauchy_nodes", "half_normal_nodes"]

# In units of the scale. Close together where a prior has its mass, and far enough out for its tail.
_CAUCHY_NODES = (0.0, 0.15, 0.3, 0.5, 0.75, 1.05, 1.5, 2.1, 3.0, 4.5, 6.7, 10.0)
_PULL_SHARES, _PULL_NODES = (0.04, 30.0), 64
_SHAPE_SHARES, _SHAPE_NODES = (0.05, 5.0), 28
_NORMAL_NODES = (0.0, 0.25, 0.6, 1.0, 1.5, 2.2, 3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatterPrior:
    """Scales of the priors; each one is an assumption that a reader of the findings must be told.

    Attributes
    ----------
    refit_scale : float
        Half-Cauchy scale of the standard deviation of the level of a re-fitting, cut off at ten times it. [%]
    walk_scale : float
        Half-normal scale of the random walk of the level. [% / sqrt(h)]
    drift_scale : float
        Half-normal scale of the standard deviation of the linear drift. [%/h]
    refit_shape_scale : float
        Half-Cauchy scale of the shape error of a re-fitting over that of a pull, cut off at ten times it. [1]
    """

    refit_scale: float
    walk_scale: float
    drift_scale: float
    refit_shape_scale: float

    @property
    def from_archive(self) -> bool:
        """Never: how far pulls differ has to be in the session itself."""
        return False

    def pull_nodes(self, residual: float) -> tuple[FloatArray, FloatArray]:
        """Nodes of the scatter of the level of a pull, and the share of the belief at each.

        Parameters
        ----------
        residual : float
            Root mean square of the levels within builds. [%]

        Returns
        -------
        nodes : (m,) array of float
            Standard deviations. [%]
        shares : (m,) array of float
            All one: a flat logarithm. [1]
        """
        return residual * np.geomspace(*_PULL_SHARES, _PULL_NODES), np.ones(_PULL_NODES)

    def slow_nodes(self, *, each_fitted: bool, timed: bool) -> list[tuple[FloatArray, FloatArray]]:
        """Nodes and shares of re-fitting, walk and drift; one that the order of the pulls rules out has the node zero.

        Parameters
        ----------
        each_fitted : bool
            Every pull is a fitting of its own, so that pull and re-fitting cannot be told apart and need not be.
        timed : bool
            The pulls have different times.

        Returns
        -------
        list of tuple of array of float
            Nodes [%, % / sqrt(h), %/h] and shares [1].
        """
        none = (np.zeros(1), np.ones(1))
        refit = none if each_fitted else half_cauchy_nodes(self.refit_scale)
        if not timed:
            return [refit, none, none]
        return [refit, half_normal_nodes(self.walk_scale), half_normal_nodes(self.drift_scale)]

    def refit_within_pull(self, *, each_fitted: bool) -> float:
        """Scale of the re-fitting error that is part of the scatter of a pull. [%]."""
        return self.refit_scale if each_fitted else 0.0

    def shape_nodes(self, residual: float) -> tuple[FloatArray, FloatArray]:
        """Nodes of the smooth shape error of a pull, and the share of the belief at each.

        Parameters
        ----------
        residual : float
            Root mean square of the coefficients within builds. [%]

        Returns
        -------
        nodes : (m,) array of float
            Standard deviations. [%]
        shares : (m,) array of float
            All one: a flat logarithm. [1]
        """
        return residual * np.geomspace(*_SHAPE_SHARES, _SHAPE_NODES), np.ones(_SHAPE_NODES)

    def ratio_nodes(self, *, each_fitted: bool) -> tuple[FloatArray, FloatArray]:
        """Nodes and shares of the shape error of a re-fitting over that of a pull. [1]."""
        if each_fitted:
            return np.zeros(1), np.ones(1)
        return half_cauchy_nodes(self.refit_shape_scale)

    def length_shares(self, lengths_rpm: FloatArray) -> FloatArray:
        """Share of the belief at each correlation length [rpm]: all one, a flat logarithm. [1]."""
        return np.ones(lengths_rpm.size)


def _masses(nodes: FloatArray, cdf: Callable[[float], float]) -> FloatArray:
    """Share of a prior between the midpoints around each node."""
    edges = np.concatenate(([0.0], 0.5 * (nodes[1:] + nodes[:-1]), [nodes[-1]]))
    masses = np.diff([cdf(float(edge)) for edge in edges])
    shares: FloatArray = masses / masses.sum()
    return shares


def half_cauchy_nodes(scale: float) -> tuple[FloatArray, FloatArray]:
    """Nodes of a half-Cauchy prior, cut off at ten times its scale, and the share of the prior at each.

    Parameters
    ----------
    scale : float
        Half of the prior lies below it. [any]

    Returns
    -------
    nodes : (m,) array of float
        Rising from zero. [unit of `scale`]
    shares : (m,) array of float
        They sum to one. [1]

    References
    ----------
    1. A. Gelman, "Prior distributions for variance parameters in hierarchical models", Bayesian Analysis 1, 2006
       (from memory).

    Examples
    --------
    >>> nodes, shares = half_cauchy_nodes(0.3)
    >>> round(float(nodes[-1]), 12), round(float(shares.sum()), 12)
    (3.0, 1.0)
    """
    nodes = np.array(_CAUCHY_NODES) * scale
    return nodes, _masses(nodes / scale, math.atan)


def half_normal_nodes(scale: float) -> tuple[FloatArray, FloatArray]:
    """Nodes of a half-normal prior, up to three times its scale, and the share of the prior at each.

    Parameters
    ----------
    scale : float
        Standard deviation of the normal distribution that is folded. [any]

    Returns
    -------
    nodes : (m,) array of float
        Rising from zero. [unit of `scale`]
    shares : (m,) array of float
        They sum to one. [1]

    Examples
    --------
    >>> half_normal_nodes(0.2)[0][:3]
    array([0.  , 0.05, 0.12])
    """
    nodes = np.array(_NORMAL_NODES) * scale
    return nodes, _masses(nodes / scale, lambda s: math.erf(s / math.sqrt(2.0)))
