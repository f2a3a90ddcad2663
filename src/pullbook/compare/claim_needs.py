"""What would decide a claim that this session left open: more pulls, or more fittings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.words import needs_fittings, needs_none, needs_pulls
from pullbook.curves.equivalence import ONE_SIGMA
from pullbook.curves.quantiles import half_width, half_widths

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.compare.claim_quantities import ClaimQuantity
    from pullbook.compare.design_variance import DesignVariance
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.declaration import Claim

__all__ = ["what_would_decide"]

_PULLS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
_FITTINGS = (1, 2, 3, 4, 5, 6, 8, 10)


def what_would_decide(
    claim: Claim, quantity: ClaimQuantity, design: DesignVariance, curves: DrawnCurves, asked: int
) -> str:
    """What would decide a claim, if the gain stays what it is.

    The half-width of its interval is scaled by the standard deviation that a longer session would have had.

    Parameters
    ----------
    claim : Claim
        The claim. [N m, W or 1]
    quantity : ClaimQuantity
        What it is about. [N m, W or %]
    design : DesignVariance
        The session as it was run. [%]
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    asked : int
        Number of claims in the family.

    Returns
    -------
    str
        One sentence.

    Notes
    -----
    It takes the sizes of the sources of scatter as known, so that it is a little hopeful after few pulls.
    """
    wanted = _wanted_share(claim, quantity, curves.alpha / asked)
    contrast = _contrast(claim)
    window = _window(claim, quantity, curves)
    now = design.sd(contrast, window)
    builds = list(contrast)

    def decides(longer: DesignVariance) -> bool:
        return longer.sd(contrast, window) <= wanted * now

    per_fitting = max(1, round(design.cell.size / np.unique(design.fitting).size))
    if not design.each_pull_fitted:
        more = _first(_PULLS, lambda count: decides(design.with_pulls(builds, count)))
        if more:
            return needs_pulls(builds, more)
    more = _first(_FITTINGS, lambda count: decides(design.with_fittings(builds, count, per_fitting)))
    return needs_fittings(builds, more, per_fitting) if more else needs_none(builds, _FITTINGS[-1])


def _first(counts: tuple[int, ...], decides: Callable[[int], bool]) -> int:
    """Smallest count that decides, 0 where none does."""
    return 0 if not decides(counts[-1]) else next(count for count in counts if decides(count))


def _wanted_share(claim: Claim, quantity: ClaimQuantity, alpha: float) -> float:
    """Share of its present width that the interval would have to shrink to."""
    scale = 100.0 if claim.in_percent else 1.0
    if claim.within is None:
        limit = claim.at_least if claim.at_least is not None else claim.at_most
        distance = abs(float(quantity.centre[0]) - (limit or 0.0) * scale)
        return distance / half_width(quantity.deviations[:, 0], 1.0 - 2.0 * alpha)
    room = claim.within * scale - np.abs(quantity.centre)
    worst = int(room.argmin())
    if room[worst] >= 0.0:
        return float(np.min(room / half_widths(quantity.deviations, 1.0 - 2.0 * alpha)))
    one_sigma = half_widths(quantity.deviations, ONE_SIGMA)
    largest = np.max(np.abs(quantity.deviations) / one_sigma, axis=1)
    return float(np.max(-room / one_sigma)) / half_width(largest, 1.0 - alpha)


def _contrast(claim: Claim) -> dict[str, float]:
    """Weight of each build; a build that cancels is left out."""
    weights = {claim.of: 1.0, claim.from_: -1.0}
    if claim.same_as is not None:
        for name, sign in zip(claim.same_as, (-1.0, 1.0), strict=True):
            weights[name] = weights.get(name, 0.0) + sign
    return {name: weight for name, weight in weights.items() if weight != 0.0}


def _window(claim: Claim, quantity: ClaimQuantity, curves: DrawnCurves) -> FloatArray:
    """Weights of the speeds that matter: the window, or the one speed that decides."""
    if claim.where is not None and claim.within is None:
        weights = curves.weights(*claim.where)
    else:
        at = float(quantity.speed_rpm[int(np.abs(quantity.centre).argmax())])
        weights = curves.weights(at, at)
    return np.full(curves.speed_rpm.shape, 1.0 / curves.speed_rpm.size) if weights is None else weights
