"""How the questions of a session stand, by the comparison of the pulls that there are."""

from __future__ import annotations

from dataclasses import replace
from math import nan
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

from pullbook.compare.claim_quantities import claim_quantity, claim_unit, why_not_asked
from pullbook.compare.claims import decide_claims
from pullbook.compare.differences import window_gains
from pullbook.compare.drawn import drawn_curves, gain_of
from pullbook.compare.history import draw_believing
from pullbook.curves.quantiles import half_widths
from pullbook.records.outlook import Standing, State
from pullbook.records.plan import Ask
from pullbook.records.verdict import Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.compare.drawn import DrawnCurves
    from pullbook.curves.archive_prior import ArchivePrior
    from pullbook.records.comparison import Comparison
    from pullbook.records.declaration import Claim
    from pullbook.records.plan import Target
    from pullbook.records.verdict import ClaimFinding

__all__ = ["standings_of", "unmeasured"]

_USUAL: Final = 1.959964
_ANSWERS: Final = {Verdict.SUPPORTED: "supported", Verdict.REFUTED: "refuted"}


def unmeasured(targets: Sequence[Target]) -> tuple[Standing, ...]:
    """Standings of questions of which nothing can be said yet.

    Parameters
    ----------
    targets : sequence of Target
        The questions.
    """
    return tuple(_nothing(target) for target in targets)


def standings_of(
    comparison: Comparison, targets: Sequence[Target], prior: ArchivePrior | None = None
) -> tuple[Standing, ...]:
    """How each question stands.

    Parameters
    ----------
    comparison : Comparison
        Pulls, claims, and the level of this look. [N m, rpm, s]
    targets : sequence of Target
        The questions. [%]
    prior : ArchivePrior or None
        What earlier sessions of the bench taught of its scatter.

    Returns
    -------
    tuple of Standing
        In the order of the targets. A gain is decided where its interval is clear of zero, or where all of it is
        smaller than the size that matters. [N m, W or %]
    """
    if all(pull.build != comparison.baseline for pull in comparison.pulls):
        return unmeasured(targets)
    joint, _ = draw_believing(comparison, prior)
    curves = drawn_curves(joint, comparison.baseline, comparison.torque_kind, comparison.confidence)
    if not curves.has_bands:
        return unmeasured(targets)
    claims = {claim.id: claim for claim in comparison.claims}
    found = {one.id: one for one in decide_claims(comparison.claims, curves, None, [])}
    return tuple(
        _of_gain(comparison, curves, target)
        if target.ask is Ask.CLEAR
        else _of_claim(curves, claims[target.name], found[target.name], target)
        for target in targets
    )


def _nothing(target: Target) -> Standing:
    return Standing(
        target=target.name, state=State.UNMEASURED, answer="", value=nan, low=nan, high=nan, unit=target.unit, room=nan,
        doubt=nan,
    )  # fmt: skip


def _of_claim(curves: DrawnCurves, claim: Claim, found: ClaimFinding, target: Target) -> Standing:
    if why_not_asked(curves, claim):
        return replace(_nothing(target), unit=claim_unit(claim))
    quantity = claim_quantity(curves, claim)
    widths = half_widths(quantity.deviations, 0.95)
    scale = 100.0 if claim.in_percent else 1.0
    if claim.within is not None:
        rooms = claim.within * scale - abs(quantity.centre)
        place = int((rooms - widths).argmin())
        room = float(rooms[place])
    elif claim.at_least is not None:
        place, room = 0, float(quantity.centre[0]) - claim.at_least * scale
    else:
        place, room = 0, (claim.at_most or 0.0) * scale - float(quantity.centre[0])
    answer = _ANSWERS.get(found.verdict, "")
    return Standing(
        target=target.name, state=State.DECIDED if answer else State.OPEN, answer=answer, value=found.estimate,
        low=found.low, high=found.high, unit=claim_unit(claim), room=room, doubt=float(widths[place]) / _USUAL,
    )  # fmt: skip


def _of_gain(comparison: Comparison, curves: DrawnCurves, target: Target) -> Standing:
    if any(name not in curves.cells for name, _ in target.contrast):
        return _nothing(target)
    window = target.window or curves.span_rpm
    gain = gain_of(curves, dict(target.contrast))
    found = window_gains(replace(comparison, windows=(window,)), curves, gain, target.name, [])
    if not found:
        return _nothing(target)
    percent = found[0].percent
    answer = "gain" if percent.low > 0.0 else "loss" if percent.high < 0.0 else ""
    if not answer and max(-percent.low, percent.high) < target.percent:
        answer = "no difference that matters"
    reach = NormalDist().inv_cdf(0.5 + 0.5 * comparison.confidence)
    return Standing(
        target=target.name, state=State.DECIDED if answer else State.OPEN, answer=answer, value=percent.value,
        low=percent.low, high=percent.high, unit="%", room=percent.value,
        doubt=(percent.high - percent.low) / (2.0 * reach),
    )  # fmt: skip
