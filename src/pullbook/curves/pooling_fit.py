"""Weighted least squares of the effects of several sessions, at many variances between sessions at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["WeightedFit", "weighted_fit"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightedFit:
    """Weighted least squares of effects on a design, at one or several variances between sessions.

    Attributes
    ----------
    weight : (m, k) array of float
        Inverse total variance of each session. [1/unit^2]
    coefficient : (m, p) array of float
        Estimates. [unit]
    covariance : (m, p, p) array of float
        Their covariance if the total variances were exact. [unit^2]
    residual : (m, k) array of float
        Effects minus fit. [unit]
    """

    weight: FloatArray
    coefficient: FloatArray
    covariance: FloatArray
    residual: FloatArray

    @property
    def q(self) -> FloatArray:
        """Weighted sum of squares of the residuals, (m,). [1]."""
        total: FloatArray = (self.weight * self.residual**2).sum(axis=1)
        return total


def weighted_fit(effect: FloatArray, variance: FloatArray, design: FloatArray, between: FloatArray) -> WeightedFit:
    """Fit effects by weights of the inverse total variance, at all given variances between sessions at once.

    Parameters
    ----------
    effect : (k,) array of float
        Estimated effect of each session. [unit]
    variance : (k,) array of float
        Its variance within the session, positive. [unit^2]
    design : (k, p) array of float
        Columns of the regression; one column of ones for a mean. [1]
    between : (m,) array of float
        Variances between sessions. [unit^2]

    Returns
    -------
    WeightedFit
        One fit for each variance. [unit]
    """
    weight = 1.0 / (variance + between[:, None])
    normal = (weight[:, None, :] * design.T) @ design
    covariance: FloatArray = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    coefficient = (covariance @ ((weight * effect) @ design)[..., None])[..., 0]
    return WeightedFit(
        weight=weight,
        coefficient=coefficient,
        covariance=covariance,
        residual=effect - coefficient @ design.T,
    )
