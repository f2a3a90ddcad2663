"""Choice of the nodes of a parameter grid, in proportion to their weight."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["systematic_nodes"]


def systematic_nodes(log_weight: FloatArray, count: int, generator: np.random.Generator) -> IntArray:
    """Nodes in rising order, each one as often as its weight says, give or take one.

    One uniform number places an even comb on the cumulative weight, which leaves less to chance than independent
    choices do.

    Parameters
    ----------
    log_weight : (m,) array of float
        Logarithm of the weights, up to a constant. [1]
    count : int
        Number of nodes to choose.
    generator : numpy.random.Generator
        Source of the one number.

    Returns
    -------
    (count,) array of int
        Chosen nodes.

    References
    ----------
    1. J. Carpenter, P. Clifford, P. Fearnhead, "Improved particle filter for nonlinear problems", IEE Proceedings F
       146, 1999, section 3 (from memory).

    Examples
    --------
    >>> systematic_nodes(np.log([1.0, 3.0]), 4, np.random.default_rng(1)).tolist()
    [0, 1, 1, 1]
    """
    weight = np.exp(log_weight - log_weight.max())
    cumulative = np.cumsum(weight)
    comb = (np.arange(count) + generator.random()) * (cumulative[-1] / count)
    found: IntArray = np.minimum(np.searchsorted(cumulative, comb, side="right"), log_weight.size - 1)
    return found
