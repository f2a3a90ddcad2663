"""Verdicts on claims: support and refutation each at the full level, the family of claims held together by Holm."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import nan
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.claim_needs import what_would_decide
from pullbook.compare.claim_quantities import claim_quantity, claim_unit, why_not_asked
from pullbook.compare.refusals import claim_refused
from pullbook.compare.words import claim_why
from pullbook.curves.equivalence import inside_probability, one_sided_probability, outside_probability
from pullbook.curves.multiplicity import holm
from pullbook.curves.quantiles import half_width, half_widths, percentile_interval, tail_probability
from pullbook.records.verdict import ClaimFinding, Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.compare.claim_needs import Planning
    from pullbook.compare.claim_quantities import ClaimQuantity
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.records.declaration import Claim
    from pullbook.records.verdict import Refusal

__all__ = ["decide_claims", "judge"]

_NOTHING = "One pull each and no history: no claim is decided."


@dataclass(frozen=True, slots=True, kw_only=True)
class _Evidence:
    """Estimate, interval and the probabilities of both hypotheses of one claim."""

    estimate: float
    low: float
    high: float
    p_false: float
    p_true: float


def judge(quantity: ClaimQuantity, claim: Claim, confidence: float) -> tuple[float, float]:
    """Probabilities of data at least this much for a claim if it were false, and against it if it were true.

    Parameters
    ----------
    quantity : ClaimQuantity
        What the claim is about. [N m, W or %]
    claim : Claim
        The claim. [N m, W or 1]
    confidence : float
        Level of intervals; tests use 1 - confidence. [1]

    Returns
    -------
    tuple of (float, float)
        `p_false` and `p_true`. [1]

    Notes
    -----
    Exactly one of the two hypotheses is true, so that each may be tested at the full level (partitioning). Measured at
    the boundary: see the error rates in the documentation.

    References
    ----------
    1. H. Finner, K. Strassburger, The partitioning principle, Ann. Statist. 30 (2002) 1194 (from memory).
    """
    evidence = _evidence(quantity, claim, confidence)
    return evidence.p_false, evidence.p_true


def _evidence(quantity: ClaimQuantity, claim: Claim, confidence: float) -> _Evidence:
    scale = 100.0 if claim.in_percent else 1.0
    if claim.within is not None:
        return _within(quantity, claim.within * scale, confidence)
    if claim.at_least is not None:
        return _bound(quantity, claim.at_least * scale, confidence, sign=1.0)
    return _bound(quantity, (claim.at_most or 0.0) * scale, confidence, sign=-1.0)


def _bound(quantity: ClaimQuantity, limit: float, confidence: float, *, sign: float) -> _Evidence:
    """At least (sign 1) or at most (sign -1): one number against one limit."""
    value, deviations = float(quantity.centre[0]), quantity.deviations[:, 0]
    room = sign * (value - limit)
    if quantity.even:
        p_false = one_sided_probability(room, deviations)
        width = half_width(deviations, confidence)
        return _Evidence(estimate=value, low=value - width, high=value + width, p_false=p_false, p_true=1.0 - p_false)
    against = int(np.count_nonzero(sign * deviations <= -room))
    in_favour = int(np.count_nonzero(sign * deviations >= -room))
    low, high = percentile_interval(value + deviations, confidence)
    return _Evidence(
        estimate=value,
        low=low,
        high=high,
        p_false=tail_probability(against, deviations.size),
        p_true=tail_probability(in_favour, deviations.size),
    )


def _within(quantity: ClaimQuantity, margin: float, confidence: float) -> _Evidence:
    """Within a margin at every speed of the range.

    The interval is the hull of the pointwise intervals of level 1 - 2 alpha: the claim is supported where it lies
    inside the margin. The estimate is the gain where it is farthest from zero.
    """
    width = half_widths(quantity.deviations, 2.0 * confidence - 1.0)
    worst = int(np.abs(quantity.centre).argmax())
    return _Evidence(
        estimate=float(quantity.centre[worst]),
        low=float((quantity.centre - width).min()),
        high=float((quantity.centre + width).max()),
        p_false=inside_probability(quantity.centre, quantity.deviations, margin),
        p_true=outside_probability(quantity.centre, quantity.deviations, margin),
    )


def decide_claims(
    claims: Sequence[Claim], curves: DrawnCurves, plans: Planning | None, refusals: list[Refusal]
) -> tuple[ClaimFinding, ...]:
    """Verdicts on all claims of a session.

    Parameters
    ----------
    claims : sequence of Claim
        The claims. [N m, W or 1]
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    plans : Planning or None
        The session as it was run, for what would decide an undetermined claim; None where no doubt can be
        stated. [%]
    refusals : list of Refusal
        Claims that cannot be asked are added to it.

    Returns
    -------
    tuple of ClaimFinding
        In the order of the claims. [N m, W or %]

    Notes
    -----
    The smaller of the two probabilities of each claim goes through Holm over the m claims that can be asked; m, not
    2 m, because only one hypothesis of each claim is true.
    """
    quantities = [_asked(curves, claim, refusals) for claim in claims]
    evidences = [
        None if quantity is None else _evidence(quantity, claim, curves.confidence)
        for claim, quantity in zip(claims, quantities, strict=True)
    ]
    smaller = [nan if one is None else min(one.p_false, one.p_true) for one in evidences]
    adjusted = holm(np.array(smaller, dtype=np.float64)).tolist()
    asked = sum(one is not None for one in evidences)
    found: list[ClaimFinding] = []
    for claim, quantity, evidence, p in zip(claims, quantities, evidences, adjusted, strict=True):
        if quantity is None or evidence is None:
            found.append(_not_decided(claim, curves))
            continue
        finding = _finding(claim, evidence, p, curves.alpha, asked)
        if finding.verdict is Verdict.UNDETERMINED and plans is not None:
            finding = replace(finding, needs=what_would_decide(claim, quantity, plans, curves, asked))
        found.append(finding)
    return tuple(found)


def _asked(curves: DrawnCurves, claim: Claim, refusals: list[Refusal]) -> ClaimQuantity | None:
    why = why_not_asked(curves, claim)
    if why:
        refusals.append(claim_refused(claim.id, why))
    if why or not curves.has_bands:
        return None
    return claim_quantity(curves, claim)


def _not_decided(claim: Claim, curves: DrawnCurves) -> ClaimFinding:
    """Claim that could not be asked; where only the doubt is missing, the estimate is given all the same."""
    why = why_not_asked(curves, claim)
    estimate = nan
    if not why:
        centre = claim_quantity(curves, claim).centre
        estimate = float(centre[np.abs(centre).argmax()])
    return ClaimFinding(
        id=claim.id,
        verdict=Verdict.UNDETERMINED,
        estimate=estimate,
        low=nan,
        high=nan,
        unit=claim_unit(claim),
        p_false=nan,
        p_true=nan,
        why=why or _NOTHING,
    )


def _finding(claim: Claim, evidence: _Evidence, adjusted: float, alpha: float, asked: int) -> ClaimFinding:
    verdict = Verdict.UNDETERMINED
    if adjusted <= alpha:
        verdict = Verdict.SUPPORTED if evidence.p_false < evidence.p_true else Verdict.REFUTED
    return ClaimFinding(
        id=claim.id,
        verdict=verdict,
        estimate=evidence.estimate,
        low=evidence.low,
        high=evidence.high,
        unit=claim_unit(claim),
        p_false=evidence.p_false,
        p_true=evidence.p_true,
        why=claim_why(claim, verdict, adjusted, asked),
    )
