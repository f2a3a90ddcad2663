"""Whether edits may be made: they must not put anything wrong into a session file, nor make anything wrong in it."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Final

from pullbook.capture.session_edit_names import lost_build
from pullbook.capture.session_edit_places import place_text
from pullbook.capture.session_edit_track import edited_places
from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.session_edit import Edit
    from pullbook.quantities.toml_statements import Path
    from pullbook.records.draft import Draft, Problem

__all__ = ["demand_no_worse", "demand_sound"]

_NUMBER: Final = re.compile(r"\[\d+\]")


def demand_sound(before: Draft, after: Draft, edits: Sequence[Edit]) -> None:
    """Refuse edits after which a place that they touched is wrong, or anything else that was not before.

    What is only not there yet stops no edit, except that a new entry has to have the keys that it needs itself.

    Parameters
    ----------
    before, after : Draft
        The file without and with the edits.
    edits : sequence of Edit
        The edits.

    Raises
    ------
    InputError
        If they are refused: the problem, at its place in the edited file.
    """
    touched = edited_places(before.values, edits)
    for problem in after.problems:
        if any(_stops(problem, place, added=added) for place, added in touched):
            raise _refusal(problem)
    lost = lost_build(before.values, after.values)
    if lost is not None:
        raise lost
    demand_no_worse(before, after)


def demand_no_worse(before: Draft, after: Draft) -> None:
    """Refuse a text in which something is wrong that was not before; what is only not there yet does not count.

    Parameters
    ----------
    before, after : Draft
        The file as it is, and as it would be.

    Raises
    ------
    InputError
        If it is refused: the first new problem.
    """
    known = Counter(_told(problem) for problem in before.problems)
    for problem in after.problems:
        if not problem.unfinished and known[_told(problem)] <= 0:
            raise _refusal(problem)
        known[_told(problem)] -= 1


def _stops(problem: Problem, place: Path, *, added: bool) -> bool:
    """Whether a problem at or below a place that was touched stops the edit."""
    if problem.unfinished and (problem.elsewhere or not added):
        return False
    above = place_text(place)
    return problem.at == above or problem.at.startswith((f"{above}.", f"{above}["))


def _told(problem: Problem) -> tuple[str, str, str]:
    """A problem wherever it stands: entries change their numbers when others come and go."""
    return _NUMBER.sub("", problem.what), problem.value, _NUMBER.sub("", problem.at)


def _refusal(problem: Problem) -> InputError:
    where = f"session.toml: {problem.at}" if problem.at else problem.where
    return InputError(problem.what, where=where, value=problem.value, remedy=problem.coded or problem.remedy)
