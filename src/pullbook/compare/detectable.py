"""What the session could have seen: the smallest true gain that it shows with 80 % power."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.drawn import gain_of
from pullbook.curves.detectable import POWER
from pullbook.curves.quantiles import half_widths
from pullbook.curves.student import t_quantile
from pullbook.records.scatter import Detectable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.compare.drawn import DrawnCurves
    from pullbook.curves.design_variance import DesignVariance
    from pullbook.quantities.arrays import FloatArray

__all__ = ["detectable_gains"]


def detectable_gains(
    curves: DrawnCurves,
    design: DesignVariance,
    pairs: Sequence[tuple[str, str]],
    windows: Sequence[tuple[float, float]],
) -> tuple[Detectable, ...]:
    """Smallest gains that the session shows, for each pair over the whole range and then over each window.

    A gain is shown where its interval is clear of zero: it has to exceed the half-width of the interval by what the
    estimate misses in four of five sessions, ``h + t_{0.8} sd``. Where the sizes of the scatter are well known this is
    the formula of `detectable_gain`.

    Parameters
    ----------
    curves : DrawnCurves
        Curves of all builds, whose draws give the half-width. [N m, or %]
    design : DesignVariance
        Order of the pulls and sizes of the scatter. [%]
    pairs : sequence of (str, str)
        Differences, as (of, from).
    windows : sequence of (float, float)
        Windows; those that are not measured throughout are left out. [rpm]

    Returns
    -------
    tuple of Detectable
        In the order of the pairs, in per cent of the mean of all builds. [%]
    """
    whole = curves.span_rpm
    spans: dict[tuple[float, float], FloatArray] = {whole: 0.0 * curves.speed_rpm + 1.0 / curves.speed_rpm.size}
    for window in windows:
        weights = curves.weights(*window)
        if weights is not None and window != whole:
            spans[window] = weights
    miss = t_quantile(POWER, design.degrees_of_freedom)
    rows = np.stack(list(spans.values()))
    found: list[Detectable] = []
    for of, from_ in pairs:
        deviations = gain_of(curves, {of: 1.0, from_: -1.0}).deviations
        widths = half_widths((rows / curves.unit_share @ deviations).T, curves.confidence)
        for (low, high), weights, width in zip(spans, rows, widths.tolist(), strict=True):
            least = width + miss * design.sd({of: 1.0, from_: -1.0}, weights)
            found.append(Detectable(of=of, from_=from_, from_rpm=low, to_rpm=high, percent=least))
    return tuple(found)
