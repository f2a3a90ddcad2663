"""Variance between sessions of the true effect of one change: by REML, by Paule-Mandel, by DerSimonian-Laird."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.chi_square import chi_square_quantile
from pullbook.curves.pooling_fit import weighted_fit

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "between_interval",
    "dersimonian_laird",
    "never_zero",
    "paule_mandel",
    "restricted_likelihood",
]

_NODES = 64
_MOST_STEPS = 200
_CLOSE = 1e-13
_WIDEST_DOUBLINGS = 60


def _falling_root(excess: Callable[[FloatArray], FloatArray], low: float, high: float) -> float:
    """Where a function that falls through zero between two points does so: false position, Illinois rule."""
    above, below = float(excess(np.array([low]))[0]), float(excess(np.array([high]))[0])
    side = 0
    for _ in range(_MOST_STEPS):
        if above <= 0.0 or below >= 0.0 or high - low <= _CLOSE * high:
            break
        middle = low + (high - low) * above / (above - below)
        if not low < middle < high:
            middle = 0.5 * (low + high)
        value = float(excess(np.array([middle]))[0])
        if value > 0.0:
            low, above, below = middle, value, below * (0.5 if side > 0 else 1.0)
            side = 1
        else:
            high, below, above = middle, value, above * (0.5 if side < 0 else 1.0)
            side = -1
    return low if above <= 0.0 else high if below >= 0.0 else 0.5 * (low + high)


def _far_enough(excess: Callable[[FloatArray], FloatArray], start: float) -> float:
    """Variance beyond which a function is no longer positive."""
    high = start
    for _ in range(_WIDEST_DOUBLINGS):
        if float(excess(np.array([high]))[0]) <= 0.0:
            break
        high *= 4.0
    return high


def _spread(effect: FloatArray, variance: FloatArray) -> float:
    return float(np.ptp(effect)) ** 2 + float(variance.max())


def _slope(effect: FloatArray, variance: FloatArray, design: FloatArray) -> Callable[[FloatArray], FloatArray]:
    """Twice the derivative of the restricted log likelihood by the variance between sessions."""

    def slope(between: FloatArray) -> FloatArray:
        fit = weighted_fit(effect, variance, design, between)
        squared = ((fit.weight**2)[:, None, :] * design.T) @ design
        trace = fit.weight.sum(axis=1) - np.trace(fit.covariance @ squared, axis1=1, axis2=2)
        value: FloatArray = (fit.weight**2 * fit.residual**2).sum(axis=1) - trace
        return value

    return slope


def restricted_likelihood(effect: FloatArray, variance: FloatArray, design: FloatArray) -> float:
    r"""Variance between sessions of the largest restricted likelihood.

    .. math:: \ell(\tau^2) = -\tfrac12\left[\sum_i \log(v_i + \tau^2) + \log\left|X'WX\right| + r'Wr\right]

    The whole profile over :math:`\tau^2 \ge 0` is looked at before its highest part is refined, so that neither the
    border nor a second maximum is mistaken for the answer.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    variance : (k,) array of float
        Its variance within the session, positive. [unit^2]
    design : (k, p) array of float
        Columns of the regression, fewer than there are sessions. [1]

    Returns
    -------
    float
        Zero where no variance beyond that within the sessions is likelier than some. [unit^2]

    References
    ----------
    1. W. Viechtbauer, "Bias and efficiency of meta-analytic variance estimators in the random-effects model", Journal
       of Educational and Behavioral Statistics 30, 2005 (from memory).

    Examples
    --------
    >>> round(restricted_likelihood(np.array([1.0, 3.0, 5.0]), np.ones(3), np.ones((3, 1))), 9)
    3.0
    """

    def profile(between: FloatArray) -> FloatArray:
        fit = weighted_fit(effect, variance, design, between)
        determinant = np.linalg.slogdet(fit.covariance)[1]
        value: FloatArray = 0.5 * (np.log(fit.weight).sum(axis=1) + determinant - fit.q)
        return value

    slope = _slope(effect, variance, design)
    highest = _far_enough(slope, _spread(effect, variance))
    nodes = np.concatenate(([0.0], np.geomspace(1e-3 * float(variance.min()), highest, _NODES)))
    best = int(np.argmax(profile(nodes)))
    if best == 0 and float(slope(nodes[:1])[0]) <= 0.0:
        return 0.0
    return _falling_root(slope, float(nodes[max(best - 1, 0)]), float(nodes[min(best + 1, _NODES)]))


def never_zero(effect: FloatArray, variance: FloatArray, design: FloatArray) -> float:
    r"""Variance between sessions of the largest :math:`\ell(\tau^2) + \log\tau`, which is never zero.

    Few sessions whose effects differ little are as well explained by some variance between them as by none. Weights
    made with none would let one precise session speak alone; these do not.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    variance : (k,) array of float
        Its variance within the session, positive. [unit^2]
    design : (k, p) array of float
        Columns of the regression, fewer than there are sessions. [1]

    Returns
    -------
    float
        Positive; a million times the variances where k - p is 1, where the maximum lies at infinity and the weights
        are even. [unit^2]

    References
    ----------
    1. Y. Chung, S. Rabe-Hesketh, I.-H. Choi, "Avoiding zero between-study variance estimates in random-effects
       meta-analysis", Statistics in Medicine 32, 2013 (from memory).

    Examples
    --------
    >>> round(never_zero(np.array([1.0, 3.0, 5.0]), np.ones(3), np.ones((3, 1))), 6)
    8.123106
    """
    if design.shape[0] - design.shape[1] < 2:
        return 1e6 * _spread(effect, variance)
    slope = _slope(effect, variance, design)

    def penalised(between: FloatArray) -> FloatArray:
        steeper: FloatArray = slope(between) + 1.0 / between
        return steeper

    high = _far_enough(penalised, _spread(effect, variance))
    nodes = np.geomspace(1e-9 * float(variance.min()), high, _NODES)
    last = int(np.flatnonzero(penalised(nodes) > 0.0)[-1])
    return _falling_root(penalised, float(nodes[last]), float(nodes[min(last + 1, _NODES - 1)]))


def _generalised_q(effect: FloatArray, variance: FloatArray, design: FloatArray) -> Callable[[FloatArray], FloatArray]:
    def q(between: FloatArray) -> FloatArray:
        return weighted_fit(effect, variance, design, between).q

    return q


def _where_q_is(effect: FloatArray, variance: FloatArray, design: FloatArray, wanted: float) -> float:
    """Variance at which the weighted sum of squares, which falls with it, has come down to a value."""
    q = _generalised_q(effect, variance, design)
    if float(q(np.zeros(1))[0]) <= wanted:
        return 0.0
    return _falling_root(lambda x: q(x) - wanted, 0.0, _far_enough(lambda x: q(x) - wanted, _spread(effect, variance)))


def paule_mandel(effect: FloatArray, variance: FloatArray, design: FloatArray) -> float:
    """Variance between sessions at which the weighted sum of squares is what it should be on average.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    variance : (k,) array of float
        Its variance within the session, positive. [unit^2]
    design : (k, p) array of float
        Columns of the regression, fewer than there are sessions. [1]

    Returns
    -------
    float
        Not negative. [unit^2]

    Notes
    -----
    What is printed is made without it: it stands beside, to be held against published values.

    References
    ----------
    1. R. C. Paule, J. Mandel, "Consensus values and weighting factors", Journal of Research of the National Bureau of
       Standards 87, 1982 (from memory).

    Examples
    --------
    >>> round(paule_mandel(np.array([1.0, 3.0, 5.0]), np.ones(3), np.ones((3, 1))), 9)
    3.0
    """
    return _where_q_is(effect, variance, design, float(design.shape[0] - design.shape[1]))


def dersimonian_laird(effect: FloatArray, variance: FloatArray, design: FloatArray) -> float:
    r"""Variance between sessions by moments, in one step from weights without it.

    .. math:: \tau^2 = \max\left(0, \frac{Q - (k - p)}{\operatorname{tr} P}\right)

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    variance : (k,) array of float
        Its variance within the session, positive. [unit^2]
    design : (k, p) array of float
        Columns of the regression, fewer than there are sessions. [1]

    Returns
    -------
    float
        Not negative. [unit^2]

    Notes
    -----
    What is printed is made without it: it stands beside, to be held against published values and in the study.

    References
    ----------
    1. R. DerSimonian, N. Laird, "Meta-analysis in clinical trials", Controlled Clinical Trials 7, 1986 (from memory).

    Examples
    --------
    >>> round(dersimonian_laird(np.array([1.0, 3.0, 5.0]), np.ones(3), np.ones((3, 1))), 9)
    3.0
    """
    fit = weighted_fit(effect, variance, design, np.zeros(1))
    weight = fit.weight[0]
    trace = weight.sum() - np.trace(fit.covariance[0] @ ((weight**2 * design.T) @ design))
    return max(0.0, float((fit.q[0] - design.shape[0] + design.shape[1]) / trace))


def between_interval(
    effect: FloatArray, variance: FloatArray, design: FloatArray, confidence: float
) -> tuple[float, float]:
    """Interval of the variance between sessions, from the distribution of the weighted sum of squares.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    variance : (k,) array of float
        Its variance within the session, positive. [unit^2]
    design : (k, p) array of float
        Columns of the regression, fewer than there are sessions. [1]
    confidence : float
        Level of the interval. [1]

    Returns
    -------
    low, high : float
        Ends; both zero where the effects agree better than their own doubts let expect. [unit^2]

    References
    ----------
    1. W. Viechtbauer, "Confidence intervals for the amount of heterogeneity in meta-analysis", Statistics in Medicine
       26, 2007: the Q profile (from memory).
    """
    freedom = design.shape[0] - design.shape[1]
    tail = 0.5 * (1.0 - confidence)
    low = _where_q_is(effect, variance, design, chi_square_quantile(1.0 - tail, freedom))
    high = _where_q_is(effect, variance, design, chi_square_quantile(tail, freedom))
    return low, high
