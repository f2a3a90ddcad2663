"""What would decide a claim that this session left open: more pulls, or more fittings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.design_variance import design_variance
from pullbook.compare.words import needs_fittings, needs_none, needs_pulls
from pullbook.curves.equivalence import ONE_SIGMA
from pullbook.curves.quantiles import half_width, half_widths
from pullbook.curves.student import t_quantile

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pullbook.compare.claim_quantities import ClaimQuantity
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.curves.design_variance import DesignVariance
    from pullbook.curves.joint import JointDraws, VarianceDraws
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.comparison import Comparison
    from pullbook.records.declaration import Claim

__all__ = ["Planning", "planning", "what_would_decide"]

_PULLS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
_FITTINGS = (1, 2, 3, 4, 5, 6, 8, 10)


def what_would_decide(
    claim: Claim, quantity: ClaimQuantity, planning: Planning, curves: DrawnCurves, asked: int
) -> str:
    """What would decide a claim, if the gain stays what it is.

    More pulls leave the doubt about the size of re-fitting as it is: the half-width is that of a mixture over the draws
    of all sizes. More fittings measure re-fitting: then it is a t interval with the typical sizes.

    Parameters
    ----------
    claim : Claim
        The claim. [N m, W or 1]
    quantity : ClaimQuantity
        What it is about. [N m, W or %]
    planning : Planning
        The session as it was run, and the draws of the sizes. [%]
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    asked : int
        Number of claims in the family.

    Returns
    -------
    str
        One sentence.
    """
    design = planning.design
    alpha = curves.alpha / asked
    contrast, window = _contrast(claim), _window(claim, quantity, curves)
    wanted = _wanted_share(claim, quantity, alpha) * planning.half_width(design, contrast, window, alpha)
    builds = list(contrast)

    def by_pulls(count: int) -> bool:
        return planning.half_width(design.with_pulls(builds, count), contrast, window, alpha) <= wanted

    def by_fittings(count: int) -> bool:
        longer = design.with_fittings(builds, count, per_fitting)
        return t_quantile(1.0 - alpha, longer.fitting_freedom) * longer.sd(contrast, window) <= wanted

    per_fitting = max(1, round(design.cell.size / np.unique(design.fitting).size))
    if not design.each_pull_fitted:
        more = _first(_PULLS, by_pulls)
        if more:
            return needs_pulls(builds, more)
    more = _first(_FITTINGS, by_fittings)
    return needs_fittings(builds, more, per_fitting) if more else needs_none(builds, _FITTINGS[-1])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Planning:
    """What is needed to say how long a session would have to be.

    Attributes
    ----------
    design : DesignVariance
        The session as it was run. [%]
    drawn : VarianceDraws
        Draws of the sizes of the scatter. [%]
    normal : (d,) array of float
        Standard normal numbers, one for each draw. [1]
    """

    design: DesignVariance
    drawn: VarianceDraws
    normal: FloatArray

    def half_width(
        self, design: DesignVariance, contrast: Mapping[str, float], window: FloatArray, alpha: float
    ) -> float:
        """Half-width of the interval of level 1 - 2 alpha of a gain, over all sizes that were drawn. [%]."""
        return half_width(self.normal * design.drawn_sds(self.drawn, contrast, window), 1.0 - 2.0 * alpha)


def planning(comparison: Comparison, joint: JointDraws, speed_rpm: FloatArray) -> Planning:
    """Planning from a session and its draws.

    Parameters
    ----------
    comparison : Comparison
        The pulls.
    joint : JointDraws
        Draws of the sizes. [%]
    speed_rpm : (k,) array of float
        Speeds of the answers. [rpm]

    Returns
    -------
    Planning
        Its normal numbers come from the seed of the draws. [%]
    """
    generator = np.random.default_rng(joint.seed)
    return Planning(
        design=design_variance(comparison, joint, speed_rpm),
        drawn=joint.variances,
        normal=generator.standard_normal(joint.variances.pull_sd.size),
    )


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
