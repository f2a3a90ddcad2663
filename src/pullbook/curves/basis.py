"""SplineBasis: cubic B-splines on evenly spaced knots, and the least-squares fit of one pull on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["SplineBasis", "fit_spline", "spline_basis"]

# The second differences of neighbouring coefficients are held together by this share of the weight that the samples
# give to one function. It bends nothing that is measured, and bridges what is not.
STIFFNESS = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class SplineBasis:
    """Cubic B-splines whose knots lie evenly between two speeds and go on beyond them.

    Attributes
    ----------
    low_rpm, step_rpm : float
        First speed, and the distance of the knots. [rpm]
    count : int
        Number of functions, at least 4.
    """

    low_rpm: float
    step_rpm: float
    count: int

    def values(self, speed_rpm: FloatArray) -> FloatArray:
        """Values of all functions at given speeds; outside the range the outermost polynomial goes on.

        Parameters
        ----------
        speed_rpm : (n,) array of float
            Engine speed. [rpm]

        Returns
        -------
        (n, k) array of float
            One column for each function; each row sums to one. [1]

        References
        ----------
        1. C. de Boor, *A Practical Guide to Splines*, 1978, chapter IX (from memory); the tests hold it to
           `scipy.interpolate.BSpline.design_matrix`.

        Examples
        --------
        >>> basis = SplineBasis(low_rpm=2000.0, step_rpm=500.0, count=5)
        >>> basis.values(np.array([2000.0, 2250.0]))[:, :4]
        array([[0.16666667, 0.66666667, 0.16666667, 0.        ],
               [0.02083333, 0.47916667, 0.47916667, 0.02083333]])
        """
        place = (speed_rpm - self.low_rpm) / self.step_rpm
        cell = np.clip(np.floor(place), 0, self.count - 4).astype(np.int64)
        t = place - cell
        s = 1.0 - t
        pieces = (s**3, 3 * t**3 - 6 * t**2 + 4, 3 * s**3 - 6 * s**2 + 4, t**3)
        values = np.zeros((speed_rpm.size, self.count))
        rows = np.arange(speed_rpm.size)
        for offset, piece in enumerate(pieces):
            values[rows, cell + offset] = piece / 6.0
        return values


def spline_basis(low_rpm: float, high_rpm: float, step_rpm: float, most: int) -> SplineBasis:
    """Basis on a range with knots about a given step apart, but never more than so many functions.

    Parameters
    ----------
    low_rpm, high_rpm : float
        The range. [rpm]
    step_rpm : float
        Wanted distance of the knots. [rpm]
    most : int
        Largest number of functions; at least 4 are made all the same.

    Returns
    -------
    SplineBasis
        With knots on both ends of the range.

    Examples
    --------
    >>> spline_basis(2000.0, 6500.0, 215.0, 1000).count
    24
    """
    count = max(4, min(most, 3 + round((high_rpm - low_rpm) / step_rpm)))
    return SplineBasis(low_rpm=low_rpm, step_rpm=(high_rpm - low_rpm) / (count - 3), count=count)


def fit_spline(
    values: FloatArray, signal: FloatArray, weight: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    r"""Weighted least-squares coefficients of one signal, and their covariance for unit noise.

    .. math:: b = (B'\Omega B + \lambda D'D)^{-1} B'\Omega y

    with second differences :math:`D` and a :math:`\lambda` of 0.0001 times the mean weight of a function, so that a
    stretch without samples is bridged and nothing else is smoothed.

    Parameters
    ----------
    values : (n, k) array of float
        Values of the functions at the samples. [1]
    signal : (n,) array of float
        The samples. [any]
    weight : (n,) array of float or None
        Inverse variance of each sample over the mean one; None for even weights. [1]

    Returns
    -------
    coefficients : (k,) array of float
        Coefficients. [unit of `signal`]
    noise : (k, k) array of float
        Covariance of the coefficients where a sample of weight one has variance one. [1]

    Notes
    -----
    The penalty bends a curve by less than half a per cent of the second difference of its coefficients.

    References
    ----------
    1. P. H. C. Eilers, B. D. Marx, "Flexible smoothing with B-splines and penalties", Statistical Science 11, 1996
       (from memory).
    """
    weighted = values if weight is None else values * weight[:, None]
    normal = weighted.T @ values
    bend = np.diff(np.eye(normal.shape[0]), n=2, axis=0)
    normal += STIFFNESS * float(np.trace(normal)) / normal.shape[0] * (bend.T @ bend)
    noise = np.linalg.inv(normal)
    noise = 0.5 * (noise + noise.T)
    return noise @ (weighted.T @ signal), noise
