"""The order of the pulls of a session and the sizes of its scatter, as its draws know them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.design_variance import DesignVariance, ScatterSizes

if TYPE_CHECKING:
    from pullbook.curves.joint import JointDraws
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.comparison import Comparison

__all__ = ["design_variance"]


def design_variance(comparison: Comparison, joint: JointDraws, speed_rpm: FloatArray) -> DesignVariance:
    """Order of the pulls, with the medians of the sources of scatter as the session knows them.

    Parameters
    ----------
    comparison : Comparison
        The pulls.
    joint : JointDraws
        Draws of the sources. [%]
    speed_rpm : (k,) array of float
        Speeds of the answers. [rpm]

    Returns
    -------
    DesignVariance
        For planning: with medians, not with the doubt about the sizes themselves. [%]
    """
    fittings: dict[tuple[str, int], int] = {}
    names = joint.cells
    drawn = joint.variances
    pulls = sorted(comparison.pulls, key=lambda pull: pull.time)
    return DesignVariance(
        cells=names,
        cell=np.array([names.index(pull.build) for pull in pulls]),
        fitting=np.array([fittings.setdefault((pull.build, pull.fitting), len(fittings)) for pull in pulls]),
        hours=np.array([pull.time - pulls[0].time for pull in pulls]) / 3600.0,
        sizes=ScatterSizes(
            pull=float(np.median(drawn.pull_sd)),
            refit=float(np.median(drawn.refit_sd)),
            walk=float(np.median(drawn.walk_sd)),
            drift=float(np.sqrt(np.mean(drawn.drift**2))),
            shape=float(np.median(drawn.shape_sd)),
            refit_shape=float(np.median(drawn.refit_shape_ratio)),
            length_rpm=float(np.median(drawn.length_rpm)),
        ),
        speed_rpm=speed_rpm,
    )
