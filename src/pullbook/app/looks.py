"""Looks at a session on the way: what they leave of the error rate, said and kept in ``session.toml``."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.app.edit_session import apply_edits
from pullbook.capture.session_edit_record import Edit
from pullbook.curves.spending import look_levels, spent
from pullbook.errors import RefusalError

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.records.session import Session

__all__ = ["keep_look", "level_after", "look_confidence", "looks_said", "pulls_made", "with_look"]

_ALPHA: Final = 0.05
_LEAST: Final = 0.001  # smaller levels are not told from none by the draws of a comparison


def pulls_made(session: Session) -> int:
    """Pulls of a session that were not left out by the tester. [1]."""
    return sum(not entry.left_out for entry in session.pulls)


def look_confidence(session: Session) -> float:
    """Level of intervals and bands that makes all looks together as sure as a session that was looked at once. [1].

    Parameters
    ----------
    session : Session
        Its pulls and its looks.

    Raises
    ------
    RefusalError
        If it is too early to look, or the error rate is all spent.

    Notes
    -----
    Each side of an interval has half of the error rate, and each of m claims its share: the boundary is that of an
    error rate of 5 % over the larger of 2 and m, times that number.
    """
    looks, planned = session.plan.looks, session.plan.planned
    if not looks:
        return 1.0 - _ALPHA
    made = max(pulls_made(session), looks[-1])
    before = [look for look in looks if look < made]
    if before and before[-1] >= planned:
        raise RefusalError(
            f"the error rate of 5 % was all spent at the look after {before[-1]} of {planned} pulls, and there are "
            f"{made} now", where=session.title,
            remedy="leave the later pulls out with 'left_out', or begin a new session with them",
        )  # fmt: skip
    level = _level((*before, made), planned, len(session.claims))
    if level < _LEAST:
        raise RefusalError(
            f"it is too early to look after {made} of {planned} pulls: this look could claim nothing",
            where=session.title, remedy="make the next pulls of the plan first",
        )  # fmt: skip
    return 1.0 - level


def level_after(session: Session, made: int, planned: int) -> float:
    """Level that a look after so many pulls would have, after the looks that there were. [1].

    Parameters
    ----------
    session : Session
        Its looks.
    made : int
        Pulls at that look, not more than planned. [1]
    planned : int
        Pulls of the plan. [1]
    """
    before = (look for look in session.plan.looks if look < made)
    return max(_level((*before, made), session.plan.planned or planned, len(session.claims)), _LEAST)


def _level(looks: tuple[int, ...], planned: int, claims: int) -> float:
    """Level of the last look, over all claims."""
    parts = max(2, claims)
    return parts * look_levels(looks, [spent(look / planned, _ALPHA / parts) for look in looks])[-1]


def with_look(session: Session, planned: int) -> Session:
    """Session with a look at the pulls that it has.

    Parameters
    ----------
    session : Session
        With the pulls that were made.
    planned : int
        Pulls of the plan; what the first look said stays. [1]
    """
    made, plan = pulls_made(session), session.plan
    looks = plan.looks if plan.looks and plan.looks[-1] >= made else (*plan.looks, made)
    return replace(session, plan=replace(plan, looks=looks, planned=plan.planned or planned))


def keep_look(folder: Path, session: Session) -> None:
    """Write the looks of a session into its file.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    session : Session
        With its looks.

    Raises
    ------
    FailureError
        If the file cannot be written; it is as it was.
    """
    looks = [f"{made} of {session.plan.planned}" for made in session.plan.looks]
    apply_edits(folder, [Edit("set", "plan.looks", looks)])


def looks_said(session: Session) -> tuple[str, ...]:
    """What a reader has to know of the looks, as a sentence; nothing where there were none."""
    looks, planned = session.plan.looks, session.plan.planned
    if not looks:
        return ()
    made = " and ".join(str(look) for look in looks)
    confidence = look_confidence(session)
    if confidence < 1.0 - _ALPHA + 0.5 * _LEAST:
        at_the_end = (
            f"The session was looked at first after {made} of {planned} planned pulls: intervals, bands and claims are "
            "held at 95 %, and later pulls cannot be added."
        )
        return (at_the_end,)
    held = f"{100.0 * confidence:.1f} %"
    said = (
        f"The session was looked at on the way, after {made} of {planned} planned pulls: intervals, bands and claims "
        f"are held at {held} instead of 95 %, so that all looks together err in at most 5 of 100 sessions."
    )
    return (said,)
