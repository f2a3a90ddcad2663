"""What the page shows of a plan and of a look on the way, in the sentences of the command line, as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pullbook.publish.outlook_words import advice, choice_text, choices_shown, next_headline, standing_sentence
from pullbook.publish.plan_words import (
    detectable_text,
    headline,
    order_text,
    share,
    target_sentence,
    unanswered_sentence,
)
from pullbook.quantities.phrases import hours_and_minutes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.outlook import Outlook
    from pullbook.records.plan import Offer, Plan

__all__ = ["outlook_shown", "plan_shown"]


def plan_shown(plan: Plan, system: UnitSystem) -> dict[str, Any]:
    """A plan for its section of the page.

    Parameters
    ----------
    plan : Plan
        The offers.
    system : UnitSystem
        Units of the reader.
    """
    targets = {target.name: target for target in plan.targets}
    return {
        "headline": headline(plan),
        "offers": [_offer(offer) for offer in plan.offers],
        "targets": [_target(plan, place, system) for place in range(plan.offers[0].wanted)],
        "confounded": _confounded(plan.offers),
        "not_estimable": list(plan.not_estimable),
        "unanswered": [unanswered_sentence(one, targets[one.target], plan, system) for one in plan.unanswered],
        "assumptions": list(plan.assumptions),
    }


def outlook_shown(outlook: Outlook, system: UnitSystem) -> dict[str, Any]:
    """A look on the way for its section of the page.

    Parameters
    ----------
    outlook : Outlook
        The session in the middle.
    system : UnitSystem
        Units of the reader.
    """
    asked = zip(outlook.standings, outlook.targets, strict=True)
    goes_on = bool(outlook.choices) and not outlook.stop
    return {
        "headline": next_headline(outlook),
        "standings": [
            {"says": standing_sentence(one, target, system), "decided": one not in outlook.open}
            for one, target in asked
        ],
        "advice": advice(outlook) if goes_on else "",
        "open": [one.target for one in outlook.open],
        "choices": [
            {"what": choice_text(one), "takes": hours_and_minutes(one.seconds), "odds": list(map(share, one.odds))}
            for one in (choices_shown(outlook) if goes_on else ())
        ],
        "assumptions": list(outlook.assumptions),
    }  # fmt: skip


def _offer(offer: Offer) -> dict[str, Any]:
    return {
        "name": offer.name,
        "takes": hours_and_minutes(offer.seconds),
        "pulls": offer.pulls,
        "changes": sum(bool(step.changed) for step in offer.steps),
        "order": order_text(offer),
        "odds": share(offer.odds),
    }


def _target(plan: Plan, place: int, system: UnitSystem) -> dict[str, Any]:
    """A question with what each offer can do for it."""
    target = plan.targets[place]
    found = [offer.targets[place] for offer in plan.offers]
    return {
        "name": target.name,
        "says": target_sentence(target, system).removeprefix(f"{target.name}: "),
        "odds": [share(one.odds) for one in found],
        "from": [detectable_text(one, target, system) for one in found],
    }


def _confounded(offers: Sequence[Offer]) -> list[dict[str, Any]]:
    """What orders cannot tell, each sentence once, with the offers that it is true of; none where it is true of all."""
    says = dict.fromkeys(sentence for offer in offers for sentence in offer.confounded)
    of = {one: [offer.name for offer in offers if one in offer.confounded] for one in says}
    return [{"says": one, "offers": names if len(names) < len(offers) else []} for one, names in of.items()]
