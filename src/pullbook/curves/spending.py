"""How much of an error rate each look at growing data may spend, and the level at which it then tests."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.quantities.arrays import FloatArray

__all__ = ["crossing", "look_levels", "spent"]

_POWER: Final = 2.0  # between the shapes of Pocock and of O'Brien and Fleming
_NORMAL: Final = NormalDist()
_POINTS: Final = 801
_FAR: Final = 8.0
_HALVINGS: Final = 50


def spent(fraction: float, alpha: float) -> float:
    """Share of an error rate that may be spent up to a fraction of the information: its square. [1].

    Parameters
    ----------
    fraction : float
        Information over that of the plan; all is spent from 1 on. [1]
    alpha : float
        Error rate over all looks. [1]

    References
    ----------
    1. K. K. G. Lan, D. L. DeMets, Discrete sequential boundaries for clinical trials, Biometrika 70 (1983) 659
       (from memory).
    2. K. Kim, D. L. DeMets, Design and analysis of group sequential tests based on the type I error spending rate
       function, Biometrika 74 (1987) 149: powers of the fraction (from memory).

    Examples
    --------
    >>> round(spent(0.5, 0.05), 6), spent(1.2, 0.05)
    (0.0125, 0.05)
    """
    return float(alpha * min(fraction, 1.0) ** _POWER)


def look_levels(information: Sequence[float], spends: Sequence[float]) -> tuple[float, ...]:
    """One-sided level of the test at each look, so that all looks together spend what they may.

    Parameters
    ----------
    information : sequence of float
        Of each look, rising. [any unit]
    spends : sequence of float
        Error rate spent up to and with each look, rising. [1]

    Returns
    -------
    tuple of float
        Levels. [1]

    Notes
    -----
    The estimate moves as a Brownian motion in the information. The density of paths that have not crossed yet is
    carried from look to look, and each boundary found by halving.

    References
    ----------
    1. P. Armitage, C. K. McPherson, B. C. Rowe, Repeated significance tests on accumulating data, J. R. Statist. Soc. A
       132 (1969) 235 (from memory).
    2. C. Jennison, B. W. Turnbull, Group Sequential Methods with Applications to Clinical Trials, 2000, ch. 7 and 19
       (from memory).

    Examples
    --------
    >>> [round(level, 4) for level in look_levels([1.0, 2.0], [0.0125, 0.05])]
    [0.0125, 0.0446]
    """
    before, levels = 0.0, list[float]()

    def boundary(place: int, crosses: Callable[[float], float]) -> float:
        nonlocal before
        share = max(spends[place] - before, 0.0)
        before = spends[place]
        low, high = -_FAR, _FAR
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if crosses(middle) > share else (low, middle)
        levels.append(1.0 - _NORMAL.cdf(high))
        return high

    _walk(information, boundary)
    return tuple(levels)


def crossing(information: Sequence[float], boundaries: Sequence[float]) -> float:
    """Probability that a Brownian motion is beyond one of the boundaries on one side. [1].

    Parameters
    ----------
    information : sequence of float
        Of each look, rising. [any unit]
    boundaries : sequence of float
        Standardised, one for each look. [1]

    Examples
    --------
    >>> round(crossing([1.0], [1.96]), 3)
    0.025
    """
    total = [0.0]

    def boundary(place: int, crosses: Callable[[float], float]) -> float:
        total[0] += crosses(boundaries[place])
        return boundaries[place]

    _walk(information, boundary)
    return total[0]


def _walk(information: Sequence[float], boundary: Callable[[int, Callable[[float], float]], float]) -> None:
    """Carry the density of paths below all boundaries from look to look; each boundary is asked for in its turn."""
    place, density, last = np.zeros(1), np.ones(1), 0.0
    for number, now in enumerate(information):
        step, root = np.sqrt(now - last), np.sqrt(now)

        def crosses(
            at: float, place: FloatArray = place, density: FloatArray = density, step: float = step, root: float = root
        ) -> float:
            return float(density @ _upper((at * root - place) / step))

        top = min(boundary(number, crosses), _FAR) * root
        grid = np.linspace(-_FAR * root, top, _POINTS)
        weight = np.full(_POINTS, 2.0)
        weight[1::2], weight[0], weight[-1] = 4.0, 1.0, 1.0  # Simpson
        distance = (grid[:, None] - place[None, :]) / step
        carried = np.exp(-0.5 * distance**2) @ density / (step * np.sqrt(2.0 * np.pi))
        place, density, last = grid, carried * weight * (grid[1] - grid[0]) / 3.0, now


def _upper(value: FloatArray) -> FloatArray:
    return np.array([1.0 - _NORMAL.cdf(one) for one in value.tolist()])
