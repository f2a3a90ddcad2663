"""Effect of one change pooled over sessions: its mean with an interval, and what the next engine will probably show."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan, sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from pullbook.curves.chi_square import chi_square_above
from pullbook.curves.pooling_between import between_interval
from pullbook.curves.pooling_fit import weighted_fit
from pullbook.curves.pooling_mean import pooled_mean, random_effects
from pullbook.curves.student import t_quantile

if TYPE_CHECKING:
    from pullbook.curves.pooling_mean import PooledMean, RandomEffects
    from pullbook.quantities.arrays import FloatArray

    Heterogeneity: TypeAlias = Literal["none seen", "low", "moderate", "high"]

__all__ = [
    "FEWEST_FOR_PREDICTION",
    "FEWEST_FOR_SURE_PREDICTION",
    "PooledEffect",
    "leave_one_out",
    "pool_effects",
]

#: Below so many sessions no range for the next engine is given.
FEWEST_FOR_PREDICTION = 3
#: Below so many sessions that range is called approximate.
FEWEST_FOR_SURE_PREDICTION = 10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PooledEffect:
    """What several sessions say together of one change.

    Attributes
    ----------
    sessions : int
        How many.
    confidence : float
        Level of all intervals. [1]
    printed : PooledMean
        The mean and its interval. [unit]
    prediction : tuple of (float, float) or None
        Range in which the true effect on the next engine will probably lie; None below three sessions. [unit]
    approximate : bool
        Fewer than ten sessions stand behind that range.
    reml : RandomEffects
        The mean by REML, whose `between` is the one that is printed.
    reml_low, reml_high : float
        Its truncated Hartung-Knapp interval. [unit]
    between_low, between_high : float
        Interval of the variance between sessions. [unit^2]
    q : float
        Cochran's Q, chi-square of k - 1 if all sessions had one true effect. [1]
    q_p : float
        Probability of such a Q, or a larger one, if they had. [1]
    i_squared : float
        Share of the scatter of the estimates that is not explained by the doubt within the sessions. [1]
    heterogeneity : str
        'none seen', 'low', 'moderate' or 'high': borders at I^2 of 0, 1/2 and 3/4.
    """

    sessions: int
    confidence: float
    printed: PooledMean
    prediction: tuple[float, float] | None
    approximate: bool
    reml: RandomEffects
    reml_low: float
    reml_high: float
    between_low: float
    between_high: float
    q: float
    q_p: float
    i_squared: float
    heterogeneity: Heterogeneity


def pool_effects(effect: FloatArray, sd: FloatArray, confidence: float = 0.95) -> PooledEffect:
    r"""Pool the effects that several sessions found for one change.

    The mean is that of `pooled_mean`. The range for the next engine is

    .. math:: \hat\mu \pm t_{k-1}\sqrt{\tau^2 + \mathrm{se}^2}

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    sd : (k,) array of float
        Its standard error within the session, positive. [unit]
    confidence : float
        Level of the intervals. [1]

    Returns
    -------
    PooledEffect
        Mean, intervals and heterogeneity; the intervals are NaN with one session. [unit]

    References
    ----------
    1. J. P. T. Higgins, S. G. Thompson, D. J. Spiegelhalter, "A re-evaluation of random-effects meta-analysis", Journal
       of the Royal Statistical Society A 172, 2009; C. Partlett, R. D. Riley, Statistics in Medicine 36, 2017: the
       range for the next engine (both from memory).
    2. J. P. T. Higgins and others, "Measuring inconsistency in meta-analyses", BMJ 327, 2003: I^2 (from memory).

    Examples
    --------
    >>> pooled = pool_effects(np.array([1.0, 3.0, 5.0]), np.ones(3))
    >>> pooled.q, pooled.i_squared, pooled.heterogeneity, pooled.approximate
    (8.0, 0.75, 'high', True)
    """
    count, ones, shifted = effect.size, np.ones((effect.size, 1)), effect - effect[0]
    printed, reml = pooled_mean(effect, sd, confidence), random_effects(effect, sd, "reml")
    reml_low, reml_high = reml.interval(confidence, smallest_ratio=1.0)
    q = float(weighted_fit(shifted, sd**2, ones, np.zeros(1)).q[0])
    between_low, between_high = between_interval(shifted, sd**2, ones, confidence) if count > 1 else (nan, nan)
    share = max(0.0, 1.0 - (count - 1) / q) if q > 0.0 else 0.0
    return PooledEffect(
        sessions=count,
        confidence=confidence,
        printed=printed,
        prediction=_prediction(printed, confidence),
        approximate=count < FEWEST_FOR_SURE_PREDICTION,
        reml=reml,
        reml_low=reml_low,
        reml_high=reml_high,
        between_low=between_low,
        between_high=between_high,
        q=q,
        q_p=chi_square_above(q, count - 1) if count > 1 else nan,
        i_squared=share,
        heterogeneity=_heterogeneity(share),
    )


def _prediction(printed: PooledMean, confidence: float) -> tuple[float, float] | None:
    fit = printed.fit
    if fit.weight.size < FEWEST_FOR_PREDICTION:
        return None
    t = t_quantile(0.5 + 0.5 * confidence, fit.weight.size - 1)
    wide = sqrt(t**2 * fit.between + (0.5 * (printed.high - printed.low)) ** 2)
    return fit.mean - wide, fit.mean + wide


def _heterogeneity(i_squared: float) -> Heterogeneity:
    if i_squared == 0.0:
        return "none seen"
    if i_squared < 0.5:
        return "low"
    return "moderate" if i_squared < 0.75 else "high"


def leave_one_out(effect: FloatArray, sd: FloatArray, confidence: float = 0.95) -> tuple[PooledMean, ...]:
    """Pool without each session in turn: whether one of them carries the result.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    sd : (k,) array of float
        Its standard error within the session, positive. [unit]
    confidence : float
        Level of the intervals. [1]

    Returns
    -------
    tuple of PooledMean
        The i-th is without session i; none below three sessions. [unit]

    Examples
    --------
    >>> [round(one.fit.mean, 6) for one in leave_one_out(np.array([1.0, 3.0, 5.0]), np.ones(3))]
    [4.0, 3.0, 2.0]
    """
    if effect.size < 3:
        return ()
    return tuple(
        pooled_mean(np.delete(effect, without), np.delete(sd, without), confidence) for without in range(effect.size)
    )
