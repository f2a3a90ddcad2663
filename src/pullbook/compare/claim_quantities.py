"""What a claim is about, read off the draws: one number, or a curve over a range."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.drawn import gain_of
from pullbook.compare.peaks import build_peaks
from pullbook.curves.windows import window_weights
from pullbook.records.declaration import Quantity

if TYPE_CHECKING:
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.declaration import Claim

__all__ = ["ClaimQuantity", "claim_quantity", "claim_unit", "why_not_asked"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClaimQuantity:
    """What is held against the number claimed.

    Attributes
    ----------
    centre : (q,) array of float
        Best estimate: one number, or the curve at the speeds of the range. [N m, W or %]
    deviations : (d, q) array of float
        Draws minus `centre`. [as `centre`]
    speed_rpm : (q,) array of float
        Speeds of the range; the middle of the window where it is one number. [rpm]
    even : bool
        A linear functional, whose draws lie evenly about the estimate.
    """

    centre: FloatArray
    deviations: FloatArray
    speed_rpm: FloatArray
    even: bool


def claim_unit(claim: Claim) -> str:
    """Unit of the estimate of a claim: "N m", "W" or "%"."""
    if claim.in_percent:
        return "%"
    return "W" if claim.quantity is Quantity.POWER else "N m"


def why_not_asked(curves: DrawnCurves, claim: Claim) -> str:
    """Why this session cannot be asked a claim; empty where it can.

    Parameters
    ----------
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    claim : Claim
        The claim. [rpm]

    Returns
    -------
    str
        One sentence.
    """
    builds = (claim.of, claim.from_, *(claim.same_as or ()))
    missing = sorted({name for name in builds if name not in curves.cells})
    if missing:
        return f"There are no pulls of {' and '.join(missing)}, which the claim is about."
    if claim.of == claim.from_ or (claim.same_as is not None and claim.same_as[0] == claim.same_as[1]):
        return "A build cannot gain on itself."
    if curves.relative and not claim.in_percent:
        return "The torque signal is not calibrated, so that only a claim in per cent can be decided."
    if claim.where is None:
        return "The highest point may lie in the gap of the data." if len(curves.stretches) > 1 else ""
    if curves.weights(*claim.where) is None:
        low, high = curves.span_rpm
        return f"The pulls do not share the whole range of the claim (they share {low:,.0f} to {high:,.0f} rpm)."
    return ""


def claim_quantity(curves: DrawnCurves, claim: Claim) -> ClaimQuantity:
    """What a claim is about.

    "At least" and "at most" are about one number: the value at one speed, the mean over a range, or peak minus peak.
    "Within" is about every speed of its range.

    Parameters
    ----------
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    claim : Claim
        A claim that `why_not_asked` has nothing against. [rpm]

    Returns
    -------
    ClaimQuantity
        Estimate and draws. [N m, W or %]

    Notes
    -----
    In per cent it is a share of the same number of the `from` build: of its value at that speed, its mean over the
    range, or its peak. With `same_as` it is the gain of the first pair minus the gain of the second.
    """
    first = _of_pair(curves, claim, (claim.of, claim.from_))
    if claim.same_as is None:
        return first
    second = _of_pair(curves, claim, claim.same_as)
    return ClaimQuantity(
        centre=first.centre - second.centre,
        deviations=first.deviations - second.deviations,
        speed_rpm=first.speed_rpm,
        even=first.even and second.even,
    )


def _of_pair(curves: DrawnCurves, claim: Claim, pair: tuple[str, str]) -> ClaimQuantity:
    if claim.where is None:
        return _peak_quantity(curves, claim, pair)
    sampling, speed = _sampling(curves, claim, claim.where)
    if claim.quantity is Quantity.POWER:
        sampling = sampling * curves.angular_speed
    gain = gain_of(curves, {pair[0]: 1.0, pair[1]: -1.0})
    centre, deviations = sampling @ gain.centre, sampling @ gain.deviations
    if claim.in_percent:
        base, base_draws = sampling @ gain.from_centre, sampling @ gain.from_draws
        share = 100.0 * centre / base
        deviations = 100.0 * (centre[:, None] + deviations) / base_draws - share[:, None]
        centre = share
    return ClaimQuantity(centre=centre, deviations=deviations.T, speed_rpm=speed, even=not claim.in_percent)


def _sampling(curves: DrawnCurves, claim: Claim, where: tuple[float, float]) -> tuple[FloatArray, FloatArray]:
    """Rows of weights: one for a mean, one for each speed of a range that has to hold throughout."""
    low, high = where
    if claim.within is None or low == high:
        weights = curves.weights(low, high)
        assert weights is not None  # noqa: S101  (`why_not_asked` has looked)
        return weights[None, :], np.array([0.5 * (low + high)])
    inner = curves.speed_rpm[(curves.speed_rpm > low) & (curves.speed_rpm < high)]
    speed = np.concatenate(([low], inner, [high]))
    return np.stack([window_weights(curves.speed_rpm, at, at) for at in speed.tolist()]), speed


def _peak_quantity(curves: DrawnCurves, claim: Claim, pair: tuple[str, str]) -> ClaimQuantity:
    both = (build_peaks(curves, name) for name in pair)
    of, from_ = (peaks.power if claim.quantity is Quantity.POWER else peaks.torque for peaks in both)
    value, draws = of.height - from_.height, of.draws - from_.draws
    if claim.in_percent:
        value, draws = 100.0 * value / from_.height, 100.0 * draws / from_.draws
    speed = curves.speed_rpm[[of.index]]
    return ClaimQuantity(centre=np.array([value]), deviations=(draws - value)[:, None], speed_rpm=speed, even=False)
