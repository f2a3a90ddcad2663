"""DrawnCurves and Gain: the joint draws in the units of the findings, on the speeds that were measured."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import nan, pi
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.bands import simultaneous_band
from pullbook.curves.quantiles import half_width, percentile_interval
from pullbook.curves.windows import window_weights
from pullbook.records.curve import CurveBand, Interval
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.curves.joint import JointDraws
    from pullbook.quantities.arrays import FloatArray

__all__ = ["DrawnCurves", "Gain", "drawn_curves", "gain_of", "spread_interval", "uneven_interval"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnCurves:
    """Curves of all builds with their draws; speeds in a gap of the data are left out.

    Attributes
    ----------
    grid_rpm : (g,) array of float
        All speeds of the findings. [rpm]
    kept : (k,) array of int
        Places of the speeds that were measured.
    speed_rpm : (k,) array of float
        Those speeds. [rpm]
    stretches : tuple of slice
        Runs of neighbouring speeds without a gap.
    cells : tuple of str
        Names of the c builds.
    centre : (c, k) array of float
        Torque. [N m, or % of the baseline]
    draws : (c, k, d) array of float
        Draws of the torque; no draws where no doubt can be stated. [as `centre`]
    unit_share : (k,) array of float
        Torque that is one per cent of the common reference. [as `centre`]
    confidence : float
        Level of intervals and bands. [1]
    relative : bool
        Per cent only: no torque, no power.
    """

    grid_rpm: FloatArray
    kept: np.ndarray[tuple[int], np.dtype[np.intp]]
    speed_rpm: FloatArray
    stretches: tuple[slice, ...]
    cells: tuple[str, ...]
    centre: FloatArray
    draws: FloatArray
    unit_share: FloatArray
    confidence: float
    relative: bool

    @property
    def has_bands(self) -> bool:
        """A doubt can be stated."""
        return bool(self.draws.shape[2] > 0)

    @property
    def alpha(self) -> float:
        """Level of a test. [1]."""
        return 1.0 - self.confidence

    @property
    def angular_speed(self) -> FloatArray:
        """Power of one unit of torque. [rad/s]."""
        return self.speed_rpm * (2.0 * pi / 60.0)

    @property
    def span_rpm(self) -> tuple[float, float]:
        """First and last speed. [rpm]."""
        return float(self.speed_rpm[0]), float(self.speed_rpm[-1])

    def place(self, build: str) -> int:
        """Number of a build among the cells."""
        return self.cells.index(build)

    def on_grid(self, values: FloatArray) -> FloatArray:
        """Values at all speeds, NaN in a gap. [as `values`]."""
        full = np.full(self.grid_rpm.shape, nan)
        full[self.kept] = values
        return full

    def weights(self, low_rpm: float, high_rpm: float) -> FloatArray | None:
        """Weights of the mean over a window, or None where the window is not inside one stretch. [1]."""
        for stretch in self.stretches:
            part = window_weights(self.speed_rpm[stretch], low_rpm, high_rpm)
            if np.isfinite(part).all():
                weights = np.zeros_like(self.speed_rpm)
                weights[stretch] = part
                return weights
        return None

    def band(self, centre: FloatArray, deviations: FloatArray) -> CurveBand:
        """Simultaneous band of a curve. [as `centre`]."""
        return self._given(centre, *self.limits(centre, deviations))

    def bands(self, centre: FloatArray, limits: tuple[FloatArray, FloatArray]) -> tuple[CurveBand, CurveBand | None]:
        """Torque with given limits, and power, which is the same times angular speed. [N m, W]."""
        lever = self.angular_speed
        power = None if self.relative else self._given(centre * lever, limits[0] * lever, limits[1] * lever)
        return self._given(centre, *limits), power

    def _given(self, centre: FloatArray, low: FloatArray, high: FloatArray) -> CurveBand:
        return CurveBand(mean=self.on_grid(centre), low=self.on_grid(low), high=self.on_grid(high))

    def limits(self, centre: FloatArray, deviations: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Ends of the simultaneous band at the measured speeds, NaN where no doubt can be stated. [as `centre`]."""
        if not self.has_bands:
            nothing = np.full(centre.shape, nan)
            return nothing, nothing
        low, high, _, _ = simultaneous_band(np.zeros_like(centre), deviations.T, self.confidence)
        return centre + low, centre + high


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gain:
    """A weighted sum of curves whose weights sum to zero, and what it is measured from.

    Attributes
    ----------
    centre : (k,) array of float
        Torque gain. [N m, or % of the baseline]
    deviations : (k, d) array of float
        Draws minus `centre`. [as `centre`]
    from_centre : (k,) array of float
        Torque that it is a gain on: the part with negative weights, scaled to weight one. [as `centre`]
    from_draws : (k, d) array of float
        Draws of it. [as `centre`]
    """

    centre: FloatArray
    deviations: FloatArray
    from_centre: FloatArray
    from_draws: FloatArray

    def percent(self) -> tuple[FloatArray, FloatArray]:
        """Gain in per cent of what it is measured from, as centre and deviations. [%]."""
        centre = 100.0 * self.centre / self.from_centre
        draws = 100.0 * (self.centre[:, None] + self.deviations) / self.from_draws
        return centre, draws - centre[:, None]


def drawn_curves(joint: JointDraws, baseline: str, torque_kind: TorqueKind, confidence: float) -> DrawnCurves:
    """Joint draws in the units of the findings.

    Parameters
    ----------
    joint : JointDraws
        Curves and draws in per cent of the common reference. [%]
    baseline : str
        Name of the baseline.
    torque_kind : TorqueKind
        Measured torque is given in N m, a relative signal in per cent of the baseline's mean curve.
    confidence : float
        Level of intervals and bands. [1]

    Returns
    -------
    DrawnCurves
        Without the speeds at which the reference is NaN. [N m, or %]

    Notes
    -----
    Without degrees of freedom and archive the draws are dropped: nothing in them was learnt from the scatter of pulls.
    """
    kept = np.flatnonzero(np.isfinite(joint.reference))
    breaks = np.flatnonzero(np.diff(kept) > 1) + 1
    edges = [0, *breaks.tolist(), kept.size]
    relative = torque_kind is TorqueKind.RELATIVE
    share = joint.reference[kept] / 100.0
    if relative:
        share = 100.0 / joint.centre[joint.cells.index(baseline), kept]
    draws = joint.draws if joint.degrees_of_freedom > 0 or joint.from_archive else joint.draws[:0]
    whole = kept.size == joint.grid_rpm.size
    turned = draws.transpose(1, 2, 0) if whole else draws[:, :, kept].transpose(1, 2, 0)
    return DrawnCurves(
        grid_rpm=joint.grid_rpm,
        kept=kept,
        speed_rpm=joint.grid_rpm[kept],
        stretches=tuple(slice(a, b) for a, b in pairwise(edges)),
        cells=joint.cells,
        centre=joint.centre[:, kept] * share,
        draws=np.multiply(turned, share[:, None], order="C"),
        unit_share=share,
        confidence=confidence,
        relative=relative,
    )


def gain_of(curves: DrawnCurves, weights: Mapping[str, float]) -> Gain:
    """Weighted sum of the curves of some builds.

    Parameters
    ----------
    curves : DrawnCurves
        The curves. [N m, or %]
    weights : mapping of str to float
        Weight of each build; they sum to zero. [1]

    Returns
    -------
    Gain
        Centre and draws. [N m, or %]

    Notes
    -----
    Reversed weights give the negated centre and deviations to the last bit.
    """
    whole = -sum(weight for weight in weights.values() if weight < 0.0)
    below = {name: -weight / whole for name, weight in weights.items() if weight < 0.0}
    centre, draws = _sum(curves, weights)
    from_centre, from_draws = _sum(curves, below)
    return Gain(centre=centre, deviations=draws - centre[:, None], from_centre=from_centre, from_draws=from_draws)


def _sum(curves: DrawnCurves, weights: Mapping[str, float]) -> tuple[FloatArray, FloatArray]:
    # Positive and negative parts apart, so that reversed weights give the same sums with the sign reversed.
    parts = [
        [(curves.place(name), abs(weight)) for name, weight in weights.items() if weight * sign > 0.0]
        for sign in (1.0, -1.0)
    ]
    centre, draws = (_plain_sum(values, parts[0]) for values in (curves.centre, curves.draws))
    if not parts[1]:
        return centre, draws
    return centre - _plain_sum(curves.centre, parts[1]), draws - _plain_sum(curves.draws, parts[1])


def _plain_sum(values: FloatArray, terms: list[tuple[int, float]]) -> FloatArray:
    total: FloatArray | None = None
    for place, weight in terms:
        term = values[place] if weight == 1.0 else values[place] * weight
        total = term if total is None else total + term
    return np.zeros(values.shape[1:]) if total is None else total


def spread_interval(curves: DrawnCurves, value: float, deviations: FloatArray) -> Interval:
    """Interval of a linear functional: as far to both sides as the confidence of its draws asks. [as `value`]."""
    if not curves.has_bands:
        return Interval(value=value, low=nan, high=nan)
    width = half_width(deviations, curves.confidence)
    return Interval(value=value, low=value - width, high=value + width)


def uneven_interval(curves: DrawnCurves, value: float, draws: FloatArray) -> Interval:
    """Interval of any functional: percentiles of its draws. [as `value`]."""
    if not curves.has_bands:
        return Interval(value=value, low=nan, high=nan)
    low, high = percentile_interval(draws, curves.confidence)
    return Interval(value=value, low=low, high=high)
