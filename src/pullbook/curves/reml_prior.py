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
