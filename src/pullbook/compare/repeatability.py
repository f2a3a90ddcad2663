"""Repeatability of the bench: scatter of a pull, of a re-fitting, and the drift of the session."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.quantiles import percentile_interval
from pullbook.curves.repeatability import LIMIT_FACTOR, shape_profile
from pullbook.records.curve import Interval
from pullbook.records.scatter import Repeatability

if TYPE_CHECKING:
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.curves.joint import JointDraws
    from pullbook.quantities.arrays import FloatArray

__all__ = ["repeatability_of"]


def repeatability_of(joint: JointDraws, curves: DrawnCurves, self_check_ratio: float | None) -> Repeatability:
    """Scatter of the bench in this session.

    ``s_r(rpm)^2 = pull_sd^2 + shape_sd^2 k(rpm)``, k the variance of the shape error after its mean over the range was
    taken out; the limit is ``r = 2.8 s_r``.

    Parameters
    ----------
    joint : JointDraws
        Draws of the sources of scatter. [%]
    curves : DrawnCurves
        Speeds of the answers. [rpm]
    self_check_ratio : float or None
        Half-width of a band over that of the independent method. [1]

    Returns
    -------
    Repeatability
        Medians with intervals. [%]

    Notes
    -----
    Sample-to-sample noise is left out: it belongs to the logger and averages away.

    References
    ----------
    1. ISO 5725-6, repeatability limit; ASTM E177 (both from memory).
    """
    drawn = joint.variances
    lengths, back = np.unique(drawn.length_rpm, return_inverse=True)
    profiles = np.stack([shape_profile(curves.speed_rpm, float(length)) for length in lengths])
    mean_square = drawn.pull_sd**2 + drawn.shape_sd**2 * profiles.mean(axis=1)[back]
    sd = _median(curves, np.sqrt(mean_square))
    share = np.bincount(back, weights=drawn.shape_sd**2, minlength=lengths.size) / back.size
    curve = np.sqrt(np.mean(drawn.pull_sd**2) + share @ profiles)
    # The mean over speed of the curve is that of the scalar, whatever the doubt about the sizes.
    curve *= sd.value / np.sqrt(np.mean(curve**2))
    return Repeatability(
        sd=sd,
        r=LIMIT_FACTOR * sd.value,
        sd_curve=curves.on_grid(curve),
        refit_sd=_median(curves, drawn.refit_sd),
        refit_assumed=joint.refit_assumed,
        drift_per_hour=_median(curves, drawn.drift),
        from_archive=joint.from_archive,
        self_check_ratio=self_check_ratio,
    )


def _median(curves: DrawnCurves, draws: FloatArray) -> Interval:
    low, high = percentile_interval(draws, curves.confidence)
    return Interval(value=float(np.median(draws)), low=low, high=high)
