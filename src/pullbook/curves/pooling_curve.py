"""Effect of one change over speed, pooled over sessions: on rpm, or on speed relative to that of the torque peak."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, log, sqrt
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.halving import first_beyond
from pullbook.curves.profile import scatter_profile

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.curves.pooling_mean import RandomEffects
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["PooledCurve", "on_relative_speed", "pool_curves", "relative_axis", "widest_of_many"]

_RELATIVE_STEP = 0.01
_SIZES = 200
_HALVINGS = 36


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PooledCurve:
    """Pooled effect at every speed.

    Attributes
    ----------
    sessions : (g,) array of int
        How many sessions were measured there. [1]
    mean : (g,) array of float
        Pooled effect; NaN where fewer than two sessions were measured. [unit]
    low, high : (g,) array of float
        Band that holds the mean effect at all speeds at once. [unit]
    next_low, next_high : (g,) array of float
        Band in which the true effect on the next engine will probably lie; NaN below three sessions. [unit]
    """

    sessions: IntArray
    mean: FloatArray
    low: FloatArray
    high: FloatArray
    next_low: FloatArray
    next_high: FloatArray


def relative_axis(speeds_rpm: Sequence[FloatArray], peaks_rpm: Sequence[float]) -> FloatArray:
    """Speeds as shares of that of the torque peak, a hundredth apart, that take in all sessions.

    Parameters
    ----------
    speeds_rpm : sequence of (n,) array of float
        Rising speeds of each session. [rpm]
    peaks_rpm : sequence of float
        Speed of the torque peak of the baseline of each. [rpm]

    Returns
    -------
    (g,) array of float
        Shares. [1]

    Examples
    --------
    >>> relative_axis([np.array([3960.0, 4040.0])], [4000.0])
    array([0.99, 1.  , 1.01])
    """
    low = min(float(speed[0]) / peak for speed, peak in zip(speeds_rpm, peaks_rpm, strict=True))
    high = max(float(speed[-1]) / peak for speed, peak in zip(speeds_rpm, peaks_rpm, strict=True))
    first, last = np.ceil(low / _RELATIVE_STEP - 1e-9), np.floor(high / _RELATIVE_STEP + 1e-9)
    return np.arange(first, last + 1.0) * _RELATIVE_STEP


def on_relative_speed(share: FloatArray, speed_rpm: FloatArray, curve: FloatArray, peak_rpm: float) -> FloatArray:
    """Curve of one session at shares of the speed of its torque peak, by straight lines between its points.

    Parameters
    ----------
    share : (g,) array of float
        Wanted speeds over that of the torque peak. [1]
    speed_rpm : (n,) array of float
        Rising speeds of the session. [rpm]
    curve : (n,) array of float
        Its curve, NaN in a gap. [any]
    peak_rpm : float
        Speed of the torque peak of its baseline. [rpm]

    Returns
    -------
    (g,) array of float
        NaN where the session was not measured; nothing is continued beyond it. [unit of `curve`]

    Examples
    --------
    >>> on_relative_speed(np.array([0.5, 1.0, 1.6]), np.array([2000.0, 6000.0]), np.array([1.0, 3.0]), 4000.0)
    array([ 1.,  2., nan])
    """
    wanted = share * peak_rpm
    inside = (wanted >= speed_rpm[0] - 1e-6) & (wanted <= speed_rpm[-1] + 1e-6)
    return np.where(inside, np.interp(wanted, speed_rpm, curve), np.nan)


def widest_of_many(places: float, degrees_of_freedom: float, confidence: float) -> float:
    r"""Quantile of the largest of several normal deviations that share one estimate of their size.

    .. math:: \int_0^\infty \operatorname{erf}\!\left(u s/\sqrt 2\right)^m f_\nu(s)\,ds = \gamma

    Parameters
    ----------
    places : float
        Number of independent deviations, which need not be whole. [1]
    degrees_of_freedom : float
        Of the estimate of their size, at least 1, which need not be whole. [1]
    confidence : float
        Level. [1]

    Returns
    -------
    float
        Quantile; Student's t where there is one place. [1]

    References
    ----------
    1. The Studentised maximum modulus; J. C. Hsu, *Multiple Comparisons*, 1996 (from memory).

    Examples
    --------
    >>> round(widest_of_many(1.0, 4, 0.95), 2)
    2.78
    """
    freedom = degrees_of_freedom
    size = np.linspace(0.0, 1.0 + 6.0 / sqrt(freedom), _SIZES + 1)[1:]
    density = (freedom - 1.0) * np.log(size) - 0.5 * freedom * size**2
    share = np.exp(density - density.max())
    share /= share.sum()

    def held(u: float) -> float:
        inside = np.array([erf(u * float(one) / sqrt(2.0)) for one in size])
        return float((share * inside**places).sum())

    return first_beyond(lambda u: held(u) < confidence, 2.0, _HALVINGS)


def _places(band_factors: FloatArray, confidence: float) -> float:
    """How many independent places would need the factor that the bands of the sessions have."""
    factor = float(np.median(band_factors))
    return max(1.0, log(confidence) / log(erf(factor / sqrt(2.0))))


def pool_curves(
    effect: FloatArray,
    sd: FloatArray,
    speed_rpm: FloatArray,
    fit: RandomEffects,
    band_factors: FloatArray,
    confidence: float = 0.95,
) -> PooledCurve:
    r"""Pool curves of the effect of one change with the weights of its pooled scalar, the same at every speed.

    The variance of the mean at a speed is that of the model, :math:`\sum w_i^2 (s_i^2(n) + \tau^2)`, times what the
    curves scatter about it over what they should: on average over the range, with a profile over speed that is drawn
    towards a flat one. An average over speed knows more than one speed does, by Box's factor of the degrees of freedom.
    The variance is never less than what the doubts of the sessions leave by themselves. The band is wider than
    Student's t by the number of places at which the sessions' own bands say that curves are free to move.

    Parameters
    ----------
    effect : (k, g) array of float
        Effect of each session at each speed; NaN where it was not measured. [unit]
    sd : (k, g) array of float
        Its standard error. [unit]
    speed_rpm : (g,) array of float
        Rising speeds, or shares of the torque peak times a typical speed of it. [rpm]
    fit : RandomEffects
        The pooled scalar: its weights and the variance between sessions. [unit]
    band_factors : (k,) array of float
        Half-width of each session's band over its standard error. [1]
    confidence : float
        Level of the bands. [1]

    Returns
    -------
    PooledCurve
        Mean and bands. [unit]

    Examples
    --------
    >>> from pullbook.curves.pooling_mean import random_effects
    >>> fit = random_effects(np.array([1.0, 2.0, 3.0]), np.ones(3), "never zero")
    >>> curves = np.array([[1.0, 0.0], [2.0, 1.0], [3.0, np.nan]])
    >>> pool_curves(curves, np.ones((3, 2)), np.array([2000.0, 2050.0]), fit, np.full(3, 2.8)).mean
    array([2. , 0.5])
    """
    seen = np.isfinite(effect) & np.isfinite(sd)
    sessions: IntArray = seen.sum(axis=0).astype(np.int64)
    several = sessions >= 2
    count = np.where(several, sessions, 2)
    weight = np.where(seen, fit.weight[:, None], 0.0)
    weight /= np.where(several, weight.sum(axis=0), 1.0)
    known, doubt = np.where(seen, effect, 0.0), np.where(seen, sd, 0.0) ** 2
    mean = (weight * known).sum(axis=0)
    own = (weight**2 * doubt).sum(axis=0)
    model = own + (weight**2).sum(axis=0) * fit.between
    # What each session adds to the scatter about the mean, over what the model expects of all.
    part = np.where(several, np.sqrt(weight / model) * (known - mean), 0.0)
    scale = np.ones(speed_rpm.size)
    ratio = (part**2).sum(axis=0) / (count - 1)
    scale[several] = _scale(ratio[several], int(count.min()) - 1, speed_rpm[several])
    variance = np.maximum(scale * model, own)
    factor = _factors(count, _gain(part), _places(band_factors, confidence), confidence)
    half = np.where(several, factor * np.sqrt(variance), np.nan)
    onward = np.where(sessions >= 3, factor * np.sqrt(variance + scale * fit.between), np.nan)
    mean = np.where(several, mean, np.nan)
    return PooledCurve(
        sessions=sessions, mean=mean, low=mean - half, high=mean + half, next_low=mean - onward, next_high=mean + onward
    )


def _gain(part: FloatArray) -> float:
    """How many times more is known of a variance that is averaged over speed than of one at a single speed.

    G. E. P. Box, Annals of Mathematical Statistics 25, 1954 (from memory).
    """
    gram = part @ part.T
    square = float((gram**2).sum())
    return float(np.trace(gram)) ** 2 / square if square > 0.0 else 1.0


def _factors(count: IntArray, gain: float, places: float, confidence: float) -> FloatArray:
    wide = {int(one): widest_of_many(places, gain * (int(one) - 1), confidence) for one in np.unique(count)}
    return np.array([wide[int(one)] for one in count])


def _scale(ratio: FloatArray, freedom: int, speed_rpm: FloatArray) -> FloatArray:
    """Observed over expected variance at each speed: its mean, times its profile."""
    if not ratio.size:
        return ratio
    scale: FloatArray = float(ratio.mean()) * scatter_profile(ratio, freedom, speed_rpm) ** 2
    return scale
