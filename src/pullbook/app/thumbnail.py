"""A pull as a little curve: few enough points to be looked at, not to be measured on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.channels import Channel
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.pull import Pull

__all__ = ["POINTS", "thumbnail"]

POINTS: Final = 80


def thumbnail(pull: Pull) -> dict[str, object]:
    """Torque over speed in at most `POINTS` points of rising speed; none where nothing was measured.

    Samples whose speeds lie close together are averaged. A signal without calibration is shown as a share of its
    largest value.

    Parameters
    ----------
    pull : Pull
        The pull.

    Returns
    -------
    dict
        ``speed_rpm`` [rpm] and ``torque`` [N m, or 1] as lists, and ``unit``: "N m", or "" for a share.
    """
    relative = pull.torque_kind is TorqueKind.RELATIVE
    speed = pull.channels[Channel.SPEED]
    torque = pull.channels[Channel.LOAD_SIGNAL if relative else Channel.TORQUE]
    told = np.isfinite(speed) & np.isfinite(torque)
    speed, torque = _thinned(speed[told], torque[told])
    if relative and torque.size:
        torque = torque / (float(np.max(np.abs(torque))) or 1.0)
    return {
        "speed_rpm": [round(value) for value in speed.tolist()],
        "torque": [float(f"{value:.4g}") for value in torque.tolist()],
        "unit": "" if relative else "N m",
    }


def _thinned(speed: FloatArray, torque: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Means of the samples between evenly spaced speeds; all of them, by speed, where they are few."""
    if speed.size <= POINTS:
        order = np.argsort(speed, kind="stable")
        return speed[order], torque[order]
    low, high = float(speed.min()), float(speed.max())
    place = np.minimum(((speed - low) / ((high - low) or 1.0) * POINTS).astype(np.int64), POINTS - 1)
    count = np.bincount(place, minlength=POINTS)
    filled = count > 0
    means = [np.bincount(place, weights=values, minlength=POINTS)[filled] / count[filled] for values in (speed, torque)]
    return means[0], means[1]
