"""Several questions at once: probabilities adjusted so that the whole family errs rarely."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["holm"]


def holm(probabilities: FloatArray) -> FloatArray:
    """Probabilities adjusted by the step-down rule of Holm.

    In rising order, the j-th of m is multiplied by m - j + 1, is at least as large as the one before, and at most 1.

    Parameters
    ----------
    probabilities : (m,) array of float
        One for each question. [1]

    Returns
    -------
    (m,) array of float
        Adjusted, in the order given; compare them with the level of the family. [1]

    Notes
    -----
    NaN stays NaN and does not count as a question.

    References
    ----------
    1. S. Holm, A simple sequentially rejective multiple test procedure, Scand. J. Statist. 6 (1979) 65 (from memory).

    Examples
    --------
    >>> holm(np.array([0.04, 0.01, 0.03]))
    array([0.06, 0.03, 0.06])
    """
    adjusted = np.full(probabilities.shape, np.nan)
    asked = np.flatnonzero(np.isfinite(probabilities))
    order = asked[np.argsort(probabilities[asked], kind="stable")]
    factors = np.arange(order.size, 0, -1)
    adjusted[order] = np.minimum(np.maximum.accumulate(probabilities[order] * factors), 1.0)
    return adjusted
