"""Mean of one effect over several sessions, and an interval that holds as often as it says."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan, sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from pullbook.curves.pooling_between import dersimonian_laird, never_zero, paule_mandel, restricted_likelihood
from pullbook.curves.pooling_fit import weighted_fit
from pullbook.curves.student import t_quantile

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

    Between: TypeAlias = Literal["reml", "paule-mandel", "dersimonian-laird", "never zero"]

__all__ = ["PooledMean", "RandomEffects", "pooled_mean", "random_effects"]

_BETWEEN = {
    "reml": restricted_likelihood,
    "paule-mandel": paule_mandel,
    "dersimonian-laird": dersimonian_laird,
    "never zero": never_zero,
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RandomEffects:
    """Mean of the true effects of all sessions, by one estimate of how much they differ.

    Attributes
    ----------
    between : float
        Variance of the true effect from session to session. [unit^2]
    weight : (k,) array of float
        Share of each session; they sum to one. [1]
    mean : float
        Weighted mean. [unit]
    model_se : float
        Its standard error if `between` were exact. [unit]
    ratio : float
        Weighted scatter of the effects about the mean over what the model says, Hartung and Knapp's q. [1]
    """

    between: float
    weight: FloatArray
    mean: float
    model_se: float
    ratio: float

    def interval(self, confidence: float, *, smallest_ratio: float) -> tuple[float, float]:
        """Interval of the mean after Hartung and Knapp, with Student's t of k - 1 degrees of freedom.

        Parameters
        ----------
        confidence : float
            Level. [1]
        smallest_ratio : float
            What `ratio` is raised to where it is less: 1 for the truncated interval, 0 for the plain one. [1]

        Returns
        -------
        low, high : float
            Ends; NaN with one session. [unit]

        References
        ----------
        1. J. Hartung, G. Knapp, Statistics in Medicine 20, 2001; C. Roever, G. Knapp, T. Friede, BMC Medical Research
           Methodology 15, 2015, on truncation (both from memory).
        """
        t = t_quantile(0.5 + 0.5 * confidence, self.weight.size - 1)
        half = t * self.model_se * sqrt(max(self.ratio, smallest_ratio))
        return self.mean - half, self.mean + half


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PooledMean:
    """The mean that is printed, with its interval.

    Attributes
    ----------
    fit : RandomEffects
        Its weights never let one session speak alone.
    low, high : float
        Interval. [unit]
    """

    fit: RandomEffects
    low: float
    high: float


def random_effects(effect: FloatArray, sd: FloatArray, method: Between) -> RandomEffects:
    """Weighted mean of the effects of several sessions.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    sd : (k,) array of float
        Its standard error within the session, positive. [unit]
    method : {'reml', 'paule-mandel', 'dersimonian-laird', 'never zero'}
        How the variance between sessions is estimated.

    Returns
    -------
    RandomEffects
        Mean and weights. [unit]

    Notes
    -----
    NaN in, NaN out.

    Examples
    --------
    >>> fit = random_effects(np.array([1.0, 3.0, 5.0]), np.ones(3), "reml")
    >>> round(fit.mean, 9), round(fit.between, 9), round(fit.ratio, 9)
    (3.0, 3.0, 1.0)
    """
    # Effects of thirteen equal leading digits lose nothing that way.
    origin = float(effect[0])
    shifted, variance, ones = effect - origin, sd**2, np.ones((effect.size, 1))
    between = _BETWEEN[method](shifted, variance, ones) if effect.size > 1 else 0.0
    fit = weighted_fit(shifted, variance, ones, np.array([between]))
    weight: FloatArray = fit.weight[0] / fit.weight[0].sum()
    weight.setflags(write=False)
    return RandomEffects(
        between=between,
        weight=weight,
        mean=origin + float(fit.coefficient[0, 0]),
        model_se=sqrt(float(fit.covariance[0, 0, 0])),
        ratio=float(fit.q[0]) / max(effect.size - 1, 1),
    )


def pooled_mean(effect: FloatArray, sd: FloatArray, confidence: float = 0.95) -> PooledMean:
    r"""Mean of the effects that several sessions found for one change, with an interval that holds as often as it says.

    The weights are :math:`1/(s_i^2 + \tau^2)` with the :math:`\tau` of the largest :math:`\ell + \log\tau`, which never
    let one session speak alone. The interval is Hartung and Knapp's, but never narrower than plus or minus the standard
    error that the doubts of the sessions leave by themselves: sessions that agree by luck know no more for it.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    sd : (k,) array of float
        Its standard error within the session, positive. [unit]
    confidence : float
        Level of the interval. [1]

    Returns
    -------
    PooledMean
        The ends are NaN with one session. [unit]

    Notes
    -----
    The page on pooling in the documentation says how often the interval held in simulated sessions.

    Examples
    --------
    >>> one = pooled_mean(np.array([1.0, 3.0, 5.0]), np.ones(3))
    >>> round(one.low, 3), round(one.high, 3)
    (-1.968, 7.968)
    """
    fit = random_effects(effect, sd, "never zero")
    low, high = fit.interval(confidence, smallest_ratio=0.0)
    own = sqrt(float((fit.weight**2 * sd**2).sum()))
    half = max(0.5 * (high - low), own) if effect.size > 1 else nan
    return PooledMean(fit=fit, low=fit.mean - half, high=fit.mean + half)
