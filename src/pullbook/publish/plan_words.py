"""A plan in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.quantities.phrases import counted, hours_and_minutes
from pullbook.quantities.showing import UnitSystem
from pullbook.quantities.sizes import size_shown
from pullbook.records.plan import Ask

if TYPE_CHECKING:
    from pullbook.records.plan import Offer, Plan, Target, TargetOdds, Unanswered

__all__ = [
    "detectable_text",
    "headline",
    "offer_sentence",
    "order_text",
    "share",
    "target_sentence",
    "unanswered_sentence",
]


def share(odds: float) -> str:
    """Odds for a reader: never "100 %", because nothing is certain.

    Parameters
    ----------
    odds : float
        Probability. [1]

    Returns
    -------
    str
        In per cent.

    Examples
    --------
    >>> share(0.834), share(1.0), share(0.002)
    ('83 %', 'above 99 %', 'below 1 %')
    """
    if odds > 0.99:
        return "above 99 %"
    return "below 1 %" if odds < 0.01 else f"{100.0 * odds:.0f} %"


def order_text(offer: Offer) -> str:
    """Run order in short, as in "A 2, B 3, A 2".

    Parameters
    ----------
    offer : Offer
        The order.

    Returns
    -------
    str
        Builds with their pulls.
    """
    return ", ".join(f"{step.build} {step.pulls}" for step in offer.steps)


def headline(plan: Plan) -> str:
    """What a plan comes to, in one sentence.

    Parameters
    ----------
    plan : Plan
        The offers.

    Returns
    -------
    str
        One sentence.
    """
    first = plan.offers[0]
    if first.odds < plan.aim:
        return (
            f"No order within {hours_and_minutes(plan.within)} answers all of it with {share(plan.aim)} odds; the "
            f"surest takes {hours_and_minutes(first.seconds)} and answers the hardest with {share(first.odds)}."
        )
    return (
        f"{hours_and_minutes(first.seconds)} and {counted(first.pulls, 'pull')} answer what was asked with "
        f"{share(first.odds)} odds at the least."
    )


def target_sentence(target: Target, system: UnitSystem = UnitSystem.METRIC) -> str:
    """What has to be told, in one sentence.

    Parameters
    ----------
    target : Target
        The target.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        One sentence.
    """
    size = size_shown(target.size, target.unit, system)
    if target.unit != "%":
        size = f"{size} ({target.percent:.2g} %)"
    where = " at the peak" if target.at_peak else "" if target.window is None else _window(target.window)
    if target.ask is Ask.CLAIM:
        return f"{target.name}: whether it holds, if the truth is {size} off the number{where}."
    if target.ask is Ask.WITHIN:
        return f"{target.name}: that the difference is within {size}{where}, if there is none."
    return f"{target.name}: a true difference of {size}{where or ' over all of the range'}."


def _window(window: tuple[float, float]) -> str:
    low, high = window
    return f" at {low:,.0f} rpm" if low == high else f" over {low:,.0f} to {high:,.0f} rpm"


def offer_sentence(offer: Offer) -> str:
    """An offer in one sentence.

    Parameters
    ----------
    offer : Offer
        The order.

    Returns
    -------
    str
        One sentence.
    """
    changes = sum(bool(step.changed) for step in offer.steps)
    return (
        f"{offer.name[0].upper()}{offer.name[1:]}: {hours_and_minutes(offer.seconds)}, {counted(offer.pulls, 'pull')}, "
        f"{counted(changes, 'change')} of parts; odds of an answer {share(offer.odds)}."
    )


def unanswered_sentence(missing: Unanswered, target: Target, plan: Plan, system: UnitSystem) -> str:
    """What can be decided in the time instead, and the time that would do.

    Parameters
    ----------
    missing : Unanswered
        The target that stays open.
    target : Target
        The same.
    plan : Plan
        For the time.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        One sentence.
    """
    smallest = size_shown(missing.smallest, target.unit, system)
    wanted = size_shown(target.size, target.unit, system)
    then = (
        f"{wanted} would take {hours_and_minutes(missing.seconds)}"
        if missing.seconds is not None
        else f"not even {hours_and_minutes(missing.searched)} would do for {wanted}"
    )
    return (
        f"{target.name}: no order within {hours_and_minutes(plan.within)} decides {wanted} with {share(plan.aim)} "
        f"odds; the smallest difference that can be decided is {smallest}, and {then}."
    )


def detectable_text(one: TargetOdds, target: Target, system: UnitSystem) -> str:
    """Smallest size that is answered with 80 % odds, in the unit of the target.

    Parameters
    ----------
    one : TargetOdds
        What the order can do.
    target : Target
        The target.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        As in "5.1 N m".
    """
    return size_shown(one.detectable_size, target.unit, system)
