"""Bands that hold over all speeds at once, from joint draws."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["simultaneous_band", "simultaneous_family"]

_ONE_SIGMA = 0.682689492137086


def _quantile(rows: FloatArray, level: float) -> FloatArray:
    """Order statistic over the last axis that leaves at most `1 - level` above it."""
    count = rows.shape[-1]
    rank = min(max(ceil(level * (count + 1)) - 1, 0), count - 1)
    ordered: FloatArray = np.partition(rows, rank, axis=-1)[..., rank]
    return ordered


def simultaneous_band(
    centre: FloatArray, draws: FloatArray, confidence: float
) -> tuple[FloatArray, FloatArray, float, FloatArray]:
    r"""Band about one curve that holds at all speeds at once.

    .. math:: s(r) = Q_{68.3\%} |d(r)|, \qquad q = Q_{1-\alpha} \max_r |d(r)| / s(r), \qquad c(r) \pm q\, s(r)

    with the deviations :math:`d` of the draws from the centre.

    Parameters
    ----------
    centre : (g,) array of float
        The curve. [any]
    draws : (d, g) array of float
        Joint draws of it. [unit of `centre`]
    confidence : float
        Level of the band. [1]

    Returns
    -------
    low, high : (g,) array of float
        The band. [unit of `centre`]
    q : float
        Half-width over the standard error. [1]
    se : (g,) array of float
        Standard error. [unit of `centre`]

    Notes
    -----
    Speeds where the centre is NaN, or all draws are, are left out and NaN in the answer. Without draws everything is
    NaN. The band of the negated curve is the negated band to the last bit.

    Examples
    --------
    >>> draws = np.random.default_rng(1).standard_normal((4000, 1)) * np.ones(5)
    >>> low, high, q, se = simultaneous_band(np.zeros(5), draws, 0.95)
    >>> round(q, 1), np.round(se, 1)
    (2.0, array([1., 1., 1., 1., 1.]))
    """
    lows, highs, q, ses = simultaneous_family(centre[None, :], draws[:, None, :], confidence)
    return lows[0], highs[0], q, ses[0]


def simultaneous_family(
    centres: FloatArray, draws: FloatArray, confidence: float
) -> tuple[FloatArray, FloatArray, float, FloatArray]:
    """Bands about several curves that hold at all speeds of all of them at once.

    Parameters
    ----------
    centres : (m, g) array of float
        The curves. [any]
    draws : (d, m, g) array of float
        Joint draws of them. [unit of `centres`]
    confidence : float
        Level of the family. [1]

    Returns
    -------
    low, high : (m, g) array of float
        The bands. [unit of `centres`]
    q : float
        Half-width over the standard error. [1]
    se : (m, g) array of float
        Standard errors. [unit of `centres`]

    Notes
    -----
    NaN and missing draws as in `simultaneous_band`.
    """
    nothing = np.full_like(centres, np.nan)
    there = np.isfinite(centres)
    if draws.shape[0] == 0 or not there.any():
        return nothing, nothing.copy(), float("nan"), nothing.copy()
    deviation = np.ascontiguousarray((draws[:, there] - centres[there]).T)
    np.abs(deviation, out=deviation)
    se = _quantile(deviation, _ONE_SIGMA)
    deviation /= np.where(se > 0.0, se, 1.0)[:, None]
    q = float(_quantile(deviation.max(axis=0), confidence))
    errors = nothing.copy()
    errors[there] = se
    return centres - q * errors, centres + q * errors, q, errors
