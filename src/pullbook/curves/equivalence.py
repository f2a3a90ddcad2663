"""Is a curve within a margin, or outside it? Probabilities from draws of the curve."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.quantiles import half_widths, tail_probability

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["ONE_SIGMA", "inside_probability", "one_sided_probability", "outside_probability", "smallest_margin"]

#: Share of a normal distribution within one standard deviation, 68.27 %.
ONE_SIGMA = 2.0 * NormalDist().cdf(1.0) - 1.0


def one_sided_probability(distance: float, deviations: FloatArray) -> float:
    """Probability that a centred error is at least `distance`, from draws taken as symmetric about zero.

    Parameters
    ----------
    distance : float
        Distance from the estimate to the bound; negative where the estimate lies on the wrong side. [any]
    deviations : (d,) array of float
        Draws minus their centre. [as `distance`]

    Returns
    -------
    float
        Probability, at least 1/(2 (d + 1)). [1]

    Notes
    -----
    With ``k`` draws of at least that size in either direction it is ``(k + 1)/(d + 1)/2``: exactly the level at which
    the two-sided interval of the same draws touches the bound.

    Examples
    --------
    >>> one_sided_probability(1.5, np.array([-2.0, -1.0, 1.0]))
    0.25
    """
    beyond = int(np.count_nonzero(np.abs(deviations) >= abs(distance)))
    p = 0.5 * tail_probability(beyond, deviations.shape[0])
    return p if distance >= 0.0 else 1.0 - p


def inside_probability(centre: FloatArray, deviations: FloatArray, margin: float) -> float:
    """Probability of data as good as these if the curve left the margin somewhere (two one-sided tests everywhere).

    Parameters
    ----------
    centre : (g,) array of float
        Curve. [any]
    deviations : (d, g) array of float
        Draws minus `centre`. [as `centre`]
    margin : float
        The curve is to stay between -margin and +margin at every speed. [as `centre`]

    Returns
    -------
    float
        Largest of the probabilities at the single speeds. [1]

    Notes
    -----
    Each speed is its own hypothesis and all have to be rejected, so that no adjustment for the number of speeds is
    needed, and the error is at most the level (1.2-1.6 % at a level of 5 % in the simulations of the method).

    References
    ----------
    1. R. L. Berger, J. C. Hsu, Bioequivalence trials, intersection-union tests and equivalence confidence sets,
       Statist. Sci. 11 (1996) 283 (from memory).
    2. D. J. Schuirmann, J. Pharmacokin. Biopharm. 15 (1987) 657 (from memory).

    Examples
    --------
    >>> inside_probability(np.array([0.0]), np.array([[-2.0], [-1.0], [1.0]]), 1.5)
    0.25
    """
    room = margin - np.abs(centre)
    if room.min() < 0.0:
        worst = int(room.argmin())
        return one_sided_probability(float(room[worst]), deviations[:, worst])
    beyond = int(np.count_nonzero(np.abs(deviations) >= room, axis=0).max())
    return 0.5 * tail_probability(beyond, deviations.shape[0])


def outside_probability(centre: FloatArray, deviations: FloatArray, margin: float) -> float:
    """Probability of data as far out as these if the curve kept within the margin at every speed.

    The largest excess over the margin in standard errors, against the largest error of a draw anywhere in the range.

    Parameters
    ----------
    centre : (g,) array of float
        Curve. [any]
    deviations : (d, g) array of float
        Draws minus `centre`. [as `centre`]
    margin : float
        Margin, not negative. [as `centre`]

    Returns
    -------
    float
        Probability; at or below 1 - confidence exactly where a band that holds over the range leaves the margin. [1]

    Examples
    --------
    >>> outside_probability(np.array([9.0]), np.array([[-2.0], [-1.0], [1.0]]), 1.5)
    0.25
    """
    scale = half_widths(deviations, ONE_SIGMA)
    excess = float(np.max((np.abs(centre) - margin) / scale))
    largest = np.max(np.abs(deviations) / scale, axis=1)
    return tail_probability(int(np.count_nonzero(largest >= excess)), deviations.shape[0])


def smallest_margin(centre: FloatArray, deviations: FloatArray, alpha: float) -> float:
    """Smallest margin within which the curve is proved to stay at every speed.

    Parameters
    ----------
    centre : (g,) array of float
        Curve. [any]
    deviations : (d, g) array of float
        Draws minus `centre`. [as `centre`]
    alpha : float
        Level of each one-sided test. [1]

    Returns
    -------
    float
        Largest distance from zero of the pointwise interval of level 1 - 2 alpha. [as `centre`]

    Examples
    --------
    >>> smallest_margin(np.array([1.0, 0.0]), np.array([[-2.0, 1.0], [2.0, -1.0], [1.0, 1.0]]), 0.25)
    3.0
    """
    return float(np.max(np.abs(centre) + half_widths(deviations, 1.0 - 2.0 * alpha)))
