"""Correlation of the error of a pull over engine speed, and what a spline basis keeps of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.curves.basis import SplineBasis
    from pullbook.quantities.arrays import FloatArray

__all__ = ["matern52", "projected_matern52"]


def matern52(distance_rpm: FloatArray, length_rpm: float) -> FloatArray:
    r"""Matern correlation of smoothness 5/2.

    .. math:: C(d) = \left(1 + s + s^2/3\right) e^{-s}, \qquad s = \sqrt 5\, d / \ell

    Parameters
    ----------
    distance_rpm : array of float
        Distance of two speeds. [rpm]
    length_rpm : float
        Correlation length. [rpm]

    Returns
    -------
    array of float
        Correlation. [1]

    References
    ----------
    1. C. E. Rasmussen, C. K. I. Williams, *Gaussian Processes for Machine Learning*, 2006, equation 4.17
       (from memory).

    Examples
    --------
    >>> matern52(np.array([0.0, 400.0]), 400.0)
    array([1.        , 0.52399411])
    """
    s = np.sqrt(5.0) * np.abs(distance_rpm) / length_rpm
    correlation: FloatArray = (1.0 + s + s * s / 3.0) * np.exp(-s)
    return correlation


def projected_matern52(basis: SplineBasis, lengths_rpm: FloatArray) -> FloatArray:
    """Covariance of the spline coefficients of curves with a Matern-5/2 error of unit variance.

    The curve is projected by least squares on five speeds in each knot step.

    Parameters
    ----------
    basis : SplineBasis
        The functions.
    lengths_rpm : (l,) array of float
        Correlation lengths. [rpm]

    Returns
    -------
    (l, k, k) array of float
        One covariance for each length. [1]
    """
    points = 5 * (basis.count - 3) + 1
    speed = basis.low_rpm + np.linspace(0.0, basis.step_rpm * (basis.count - 3), points)
    projection = np.linalg.pinv(basis.values(speed))
    distance = speed[:, None] - speed[None, :]
    return np.stack([projection @ matern52(distance, float(length)) @ projection.T for length in lengths_rpm])
