"""A session in the middle, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.publish.plan_words import share
from pullbook.quantities.phrases import counted, hours_and_minutes
from pullbook.quantities.sizes import size_shown
from pullbook.records.outlook import State

if TYPE_CHECKING:
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.outlook import Choice, Outlook, Standing
    from pullbook.records.plan import Target

__all__ = ["advice", "choice_text", "choices_shown", "next_headline", "standing_sentence"]

_SHOWN: Final = 6


def next_headline(outlook: Outlook) -> str:
    """What a look comes to, in one sentence.

    Parameters
    ----------
    outlook : Outlook
        The session in the middle.
    """
    done = f"{outlook.made} of {outlook.planned} planned pulls made"
    if outlook.stop:
        return f"stop: {outlook.stop} ({done})."
    return f"{done}; {counted(len(outlook.open), 'question')} of {len(outlook.standings)} open."


def standing_sentence(standing: Standing, target: Target, system: UnitSystem) -> str:
    """How one question stands.

    Parameters
    ----------
    standing : Standing
        The question. [N m, W or %]
    target : Target
        What is asked.
    system : UnitSystem
        Units of the sentence.
    """
    head = f"{standing.target} ({target.says.rstrip('.')})" if target.says else standing.target
    if standing.state is State.UNMEASURED:
        return f"{head}: not measured yet."
    value, low, high = (size_shown(one, standing.unit, system) for one in (standing.value, standing.low, standing.high))
    said = standing.answer if standing.state is State.DECIDED else "open"
    return f"{head}: {said}; {value}, interval {low} to {high}."


def choice_text(choice: Choice) -> str:
    """What would be done, in short, as in "A 1, change to B 2".

    Parameters
    ----------
    choice : Choice
        Builds with their pulls.

    Examples
    --------
    >>> from pullbook.records.outlook import Choice
    >>> choice_text(Choice(steps=(("A", 1), ("B", 2)), changes=1, seconds=60.0, odds=(), planned=True))
    'A 1, change to B 2 (as planned)'
    """
    stays = len(choice.steps) > choice.changes
    texts = [
        f"{'' if number == 0 and stays else 'change to '}{build} {count}"
        for number, (build, count) in enumerate(choice.steps)
    ]
    return ", ".join(texts) + (" (as planned)" if choice.planned else "")


def advice(outlook: Outlook) -> str:
    """Which choice decides soonest, in one sentence.

    Parameters
    ----------
    outlook : Outlook
        With at least one choice.
    """
    best = outlook.choices[0]
    names = [one.target for one in outlook.open]
    what = names[best.odds.index(best.best)]
    return (
        f"Soonest for its odds: {choice_text(best)}, in {hours_and_minutes(best.seconds)}; decides {what} with "
        f"{share(best.best)} odds, if what was seen so far is about right."
    )


def choices_shown(outlook: Outlook) -> tuple[Choice, ...]:
    """Choices that are worth a look: the first ones, and the run order as it was planned to its end.

    Parameters
    ----------
    outlook : Outlook
        With its choices, the one that decides soonest first.
    """
    rest = outlook.planned - outlook.made
    planned = (one for one in outlook.choices[_SHOWN:] if one.planned and one.pulls == rest)
    return (*outlook.choices[:_SHOWN], *planned)
