"""From the events about a session to how it stands: its revisions, what was corrected, whether it is excluded.

An event that was undone counts as if it had never been; the undoing is an event itself and stays.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final, cast

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pullbook.records.archived import ArchivedSession

__all__ = ["CORRECTABLE", "RevisionState", "Standing", "StoredEvent", "standing_of"]

CORRECTABLE: Final = ("title", "date", "engine", "question", "notes")
"""What of a session can be corrected without a new revision."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredEvent:
    """An event as it is stored.

    Attributes
    ----------
    id : int
        Its number.
    kind, subject : str
        What was done, and to which session.
    told : dict of str to str
        What it says.
    session : ArchivedSession or None
        The session that it brings, if it brings one.
    undoes : int or None
        Number of the event that it undoes.
    """

    id: int
    kind: str
    subject: str
    told: dict[str, str]
    session: ArchivedSession | None
    undoes: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionState:
    """One revision of a session.

    Attributes
    ----------
    number, event : int
        Its number, from 1, and that of the event that brought it.
    key : str
        Hash of its content.
    content : ArchivedSession
        What was remembered.
    """

    number: int
    event: int
    key: str
    content: ArchivedSession


@dataclass(slots=True)
class Standing:
    """How a session stands.

    Attributes
    ----------
    uid : str
        Its name in the archive.
    revisions : list of RevisionState
        In order; none where all were undone.
    corrections : dict of str to str
        What was corrected since.
    excluded : str
        Why it is excluded; empty where it is not.
    """

    uid: str
    revisions: list[RevisionState] = field(default_factory=list[RevisionState])
    corrections: dict[str, str] = field(default_factory=dict[str, str])
    excluded: str = ""

    def told(self, what: str) -> str:
        """Title, date, engine, question or notes, as corrected."""
        if what in self.corrections:
            return self.corrections[what]
        latest = cast("dict[str, Any]", self.revisions[-1].content)
        found = latest["engine"]["name"] if what == "engine" else latest[what]
        return str(found or "")


def standing_of(uid: str, events: Iterable[StoredEvent]) -> Standing:
    """How a session stands after its events.

    Parameters
    ----------
    uid : str
        The session.
    events : iterable of StoredEvent
        Its events by rising number, undone ones too.
    """
    everything = list(events)
    undone = {event.undoes for event in everything if event.undoes is not None}
    standing = Standing(uid=uid)
    number = 0
    for event in everything:
        number += event.kind == "remember"
        if event.id not in undone:
            _apply(standing, event, number)
    return standing


def _apply(standing: Standing, event: StoredEvent, number: int) -> None:
    told, session = event.told, event.session
    if event.kind == "remember" and session is not None:
        standing.revisions.append(RevisionState(number=number, event=event.id, key=told["key"], content=session))
    elif event.kind == "findings" and session is not None:
        standing.revisions[:] = [
            replace(old, content=session) if old.key == told["key"] else old for old in standing.revisions
        ]
    elif event.kind == "exclude":
        standing.excluded = told["because"]
    elif event.kind == "correct":
        standing.corrections[told["what"]] = told["to"]
