"""Interval of a share that was counted, for whole counts: no library has to be loaded for it."""

from __future__ import annotations

from math import exp, lgamma, log, log1p

__all__ = ["share_interval"]

_HALVINGS = 60


def share_interval(successes: int, trials: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact interval of the share of successes in the long run, after Clopper and Pearson.

    Parameters
    ----------
    successes, trials : int
        How many of how many; at least one trial. [1]
    confidence : float
        Level, which the interval reaches or exceeds. [1]

    Returns
    -------
    low, high : float
        Ends. [1]

    References
    ----------
    1. C. J. Clopper, E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the binomial",
       Biometrika 26, 1934 (from memory).

    Examples
    --------
    >>> low, high = share_interval(19, 20)
    >>> round(low, 4), round(high, 4)
    (0.7513, 0.9987)
    """
    tail = 0.5 * (1.0 - confidence)
    low = 0.0 if successes == 0 else _where(successes, trials, tail)
    high = 1.0 if successes == trials else 1.0 - _where(trials - successes, trials, tail)
    return low, high


def _where(successes: int, trials: int, tail: float) -> float:
    """Share at which so many successes or more have the probability `tail`."""
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _at_least(successes, trials, middle) < tail else (low, middle)
    return 0.5 * (low + high)


def _at_least(successes: int, trials: int, share: float) -> float:
    ways = lgamma(trials + 1)
    return sum(
        exp(ways - lgamma(k + 1) - lgamma(trials - k + 1) + k * log(share) + (trials - k) * log1p(-share))
        for k in range(successes, trials + 1)
    )
