"""Scatter of an invented bench: what makes two pulls of one build differ.

Four things, all in per cent of torque: an error of each pull (a level and a smooth shape), noise from sample to
sample, an error of each fitting of the parts (again a level and a shape), and the drift of the day (a trend and
a random walk).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

__all__ = ["Scatter", "draw_scatter", "draw_shape", "matern52"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Standard deviations of an invented bench.

    Attributes
    ----------
    pull_level, pull_shape : float
        Level and smooth shape error of one pull. [% of torque]
    length_rpm : float
        Correlation length of the shape errors. [rpm]
    white : float
        Noise of one sample. [% of torque]
    fitting_level, fitting_shape : float
        Level and smooth shape error of one fitting of the parts. [% of torque]
    drift : float
        Linear drift of the level. [%/h]
    walk : float
        Random walk of the level. [% / sqrt(h)]
    """

    pull_level: float = 0.40
    pull_shape: float = 0.30
    length_rpm: float = 400.0
    white: float = 0.50
    fitting_level: float = 0.25
    fitting_shape: float = 0.15
    drift: float = 0.40
    walk: float = 0.25


def matern52(distance: FloatArray, length: float) -> FloatArray:
    r"""Matern correlation with smoothness 5/2.

    .. math::
        C(d) = \Big(1 + s + \frac{s^2}{3}\Big) e^{-s}, \qquad s = \frac{\sqrt 5\, d}{\ell}

    Parameters
    ----------
    distance : (...) array of float
        Distance, not negative. [rpm]
    length : float
        Correlation length. [rpm]

    Returns
    -------
    correlation : (...) array of float
        Correlation, same shape as `distance`. [1]

    References
    ----------
    .. [1] C. E. Rasmussen, C. K. I. Williams, "Gaussian Processes for Machine Learning", 2006, eq. (4.17); from
       memory.

    Examples
    --------
    >>> import numpy as np
    >>> matern52(np.array([0.0, 400.0]), 400.0).round(4).tolist()
    [1.0, 0.524]
    """
    scaled = np.sqrt(5.0) * np.asarray(distance) / length
    return np.asarray((1.0 + scaled + scaled**2 / 3.0) * np.exp(-scaled), dtype=np.float64)


def draw_shape(speed_rpm: FloatArray, length_rpm: float, rng: np.random.Generator) -> FloatArray:
    """Smooth random curve over engine speed with mean 0 and standard deviation 1.

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Engine speed, in any order. [rpm]
    length_rpm : float
        Correlation length. [rpm]
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    shape : (n,) array of float
        Values of the curve. [1]

    Notes
    -----
    Drawn on knots a quarter of the correlation length apart and joined by straight lines, so that a pull of any
    sampling rate costs the same; the joining takes up to 2.5 % off the variance between two knots.
    """
    knots = np.arange(speed_rpm.min(), speed_rpm.max() + length_rpm / 4.0, length_rpm / 4.0)
    correlation = matern52(np.abs(knots[:, None] - knots[None, :]), length_rpm)
    root = np.linalg.cholesky(correlation + 1e-9 * np.eye(len(knots)))
    return np.interp(speed_rpm, knots, root @ rng.standard_normal(len(knots)))


def draw_scatter(
    speeds_rpm: Sequence[FloatArray],
    hours: Sequence[float],
    fittings: Sequence[int],
    scatter: Scatter,
    rng: np.random.Generator,
) -> tuple[FloatArray, ...]:
    """Errors of all pulls of a session, sample by sample.

    Parameters
    ----------
    speeds_rpm : sequence of (n,) array of float
        Engine speed of each pull, in run order. [rpm]
    hours : sequence of float
        When each pull was made, rising. [h]
    fittings : sequence of int
        Number of the fitting that each pull was made with.
    scatter : Scatter
        Standard deviations.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    errors : tuple of (n,) array of float
        What to add to each pull. [% of torque]

    Examples
    --------
    >>> import numpy as np
    >>> speed = np.linspace(2000.0, 7000.0, 50)
    >>> errors = draw_scatter([speed, speed], [0.0, 0.1], [1, 1], Scatter(), np.random.default_rng(1))
    >>> [len(error) for error in errors]
    [50, 50]
    """
    clock = np.asarray(hours, dtype=np.float64)
    steps = np.sqrt(np.diff(clock, prepend=clock[0]))
    day = scatter.drift * rng.standard_normal() * clock + scatter.walk * np.cumsum(
        steps * rng.standard_normal(len(clock))
    )
    all_speeds = np.concatenate(list(speeds_rpm))
    span = np.linspace(all_speeds.min(), all_speeds.max(), 200)
    of_fitting = {
        number: scatter.fitting_level * rng.standard_normal()
        + scatter.fitting_shape * draw_shape(span, scatter.length_rpm, rng)
        for number in dict.fromkeys(fittings)
    }
    return tuple(
        level
        + np.interp(speed, span, of_fitting[fitting])
        + scatter.pull_level * rng.standard_normal()
        + scatter.pull_shape * draw_shape(speed, scatter.length_rpm, rng)
        + scatter.white * rng.standard_normal(len(speed))
        for speed, level, fitting in zip(speeds_rpm, day, fittings, strict=True)
    )
