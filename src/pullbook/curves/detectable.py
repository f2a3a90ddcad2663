"""The smallest true gain that a t test shows with 80 % power."""

from __future__ import annotations

from typing import Final

from pullbook.curves.student import t_quantile

__all__ = ["POWER", "detectable_gain"]

POWER: Final = 0.8


def detectable_gain(sd: float, degrees_of_freedom: int, confidence: float) -> float:
    """Smallest true gain that a two-sided t test shows with 80 % power.

    ``(t_{1 - alpha/2} + t_{0.8}) sd``

    Parameters
    ----------
    sd : float
        Standard deviation of the estimated gain. [%]
    degrees_of_freedom : int
        Of the scatter. [1]
    confidence : float
        Level of the test. [1]

    Returns
    -------
    float
        Gain. [%]

    Notes
    -----
    The sum of two quantiles stands for the noncentral t distribution; the error is below 1 % from 10 degrees of
    freedom.

    Examples
    --------
    >>> round(detectable_gain(0.5, 16, 0.95), 3)
    1.492
    """
    return (t_quantile(0.5 + confidence / 2.0, degrees_of_freedom) + t_quantile(POWER, degrees_of_freedom)) * sd
