"""Whether the effect of a change goes with a property of the engine: regression over sessions on one moderator."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.pooling_between import restricted_likelihood
from pullbook.curves.pooling_fit import weighted_fit
from pullbook.curves.student import t_quantile

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["FEWEST_FOR_MODERATOR", "Moderated", "moderated"]

#: Below so many sessions no moderator is looked at: the common rule of ten for each.
FEWEST_FOR_MODERATOR = 10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moderated:
    """Straight line of the effect over a moderator.

    Attributes
    ----------
    sessions : int
        How many.
    confidence : float
        Level of all intervals. [1]
    centre : float
        Mean of the moderator. [unit of the moderator]
    middle : float
        Effect at the centre. [unit]
    slope, slope_low, slope_high : float
        Change of the effect with the moderator, and its interval. [unit / unit of the moderator]
    between : float
        Variance between sessions that the line leaves. [unit^2]
    explained : float
        Share of the variance between sessions that the line takes away; NaN where there was none. [1]
    covariance : tuple of float
        Variance of `middle`, their covariance, variance of `slope`. [unit^2 and so on]
    """

    sessions: int
    confidence: float
    centre: float
    middle: float
    slope: float
    slope_low: float
    slope_high: float
    between: float
    explained: float
    covariance: tuple[float, float, float]

    def at(self, moderator: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Effect on the line, with its interval at each value by itself.

        Parameters
        ----------
        moderator : (n,) array of float
            Where. [unit of the moderator]

        Returns
        -------
        effect, low, high : (n,) array of float
            Mean effect and the ends of its interval. [unit]
        """
        away = moderator - self.centre
        first, cross, second = self.covariance
        half = _t(self) * np.sqrt(first + 2.0 * cross * away + second * away**2)
        line = self.middle + self.slope * away
        return line, line - half, line + half


def _t(line: Moderated) -> float:
    return t_quantile(0.5 + 0.5 * line.confidence, line.sessions - 2)


def moderated(effect: FloatArray, sd: FloatArray, moderator: FloatArray, confidence: float = 0.95) -> Moderated | None:
    """Regression of the effects of sessions on one property, by REML with Knapp and Hartung's truncated intervals.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    sd : (k,) array of float
        Its standard error within the session, positive. [unit]
    moderator : (k,) array of float
        The property: displacement, power, timing of a camshaft. [any]
    confidence : float
        Level of the intervals. [1]

    Returns
    -------
    Moderated or None
        None below ten sessions, and where the moderator is the same in all. [unit]

    Notes
    -----
    What goes with a moderator over sessions need not come from it: sessions differ in more than one property.

    References
    ----------
    1. G. Knapp, J. Hartung, "Improved tests for a random effects meta-regression with a single covariate", Statistics
       in Medicine 22, 2003; the Cochrane Handbook on ten studies for each characteristic (both from memory).

    Examples
    --------
    >>> size = np.arange(10.0)
    >>> line = moderated(2.0 + 0.5 * size, np.ones(10), size)
    >>> round(line.slope, 9), line.between
    (0.5, 0.0)
    """
    if effect.size < FEWEST_FOR_MODERATOR or float(np.ptp(moderator)) == 0.0:
        return None
    centre, origin, variance, ones = float(moderator.mean()), float(effect[0]), sd**2, np.ones((effect.size, 1))
    # The regression is done on a moderator of unit size, whatever its unit.
    size = float(moderator.std())
    design = np.column_stack((ones, (moderator - centre) / size))
    shifted = effect - origin
    between, plain = restricted_likelihood(shifted, variance, design), restricted_likelihood(shifted, variance, ones)
    fit = weighted_fit(shifted, variance, design, np.array([between]))
    ratio = max(1.0, float(fit.q[0]) / (effect.size - 2))
    covariance = ratio * fit.covariance[0] / np.array([[1.0, size], [size, size**2]])
    slope = float(fit.coefficient[0, 1]) / size
    half = t_quantile(0.5 + 0.5 * confidence, effect.size - 2) * sqrt(float(covariance[1, 1]))
    return Moderated(
        sessions=effect.size,
        confidence=confidence,
        centre=centre,
        middle=origin + float(fit.coefficient[0, 0]),
        slope=slope,
        slope_low=slope - half,
        slope_high=slope + half,
        between=between,
        explained=max(0.0, 1.0 - between / plain) if plain > 0.0 else float("nan"),
        covariance=(float(covariance[0, 0]), float(covariance[0, 1]), float(covariance[1, 1])),
    )
