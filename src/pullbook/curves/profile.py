"""Profile of the scatter over engine speed: where the pulls of one build differ more than elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["scatter_profile"]

_SMOOTHING_RPM = 400.0
_PRIOR_FREEDOM = 8.0


def scatter_profile(variance: FloatArray, freedom: int, grid_rpm: FloatArray) -> FloatArray:
    r"""Standard deviation over speed relative to its mean, smoothed and drawn towards one.

    .. math:: h^2(r) = \frac{\nu\, v(r) / \bar v + 8}{\nu + 8}

    with the variance :math:`v` smoothed by a Gaussian of 400 rpm, and then scaled to a mean square of one.

    Parameters
    ----------
    variance : (g,) array of float
        Residual variance at each speed. [%^2]
    freedom : int
        Its degrees of freedom :math:`\nu`.
    grid_rpm : (g,) array of float
        Speeds. [rpm]

    Returns
    -------
    (g,) array of float
        The profile. [1]

    Examples
    --------
    >>> scatter_profile(np.ones(3), 4, np.array([2000.0, 2050.0, 2100.0]))
    array([1., 1., 1.])
    """
    kernel = np.exp(-0.5 * ((grid_rpm[:, None] - grid_rpm[None, :]) / _SMOOTHING_RPM) ** 2)
    smoothed = (kernel @ variance) / kernel.sum(axis=1)
    mean = float(smoothed.mean())
    if mean <= 0.0:
        return np.ones_like(grid_rpm)
    squared = (freedom * smoothed / mean + _PRIOR_FREEDOM) / (freedom + _PRIOR_FREEDOM)
    profile: FloatArray = np.sqrt(squared / squared.mean())
    return profile
