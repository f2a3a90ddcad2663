"""What is said about sessions after they were remembered: excluded, corrected, undone; and the history of it all."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final

from sqlalchemy import select

from pullbook.errors import InputError
from pullbook.records.archive_answer import HistoryEntry
from pullbook.remember.drawn import draw
from pullbook.remember.events import add_event
from pullbook.remember.history import Event
from pullbook.remember.standing import CORRECTABLE
from pullbook.remember.views import Session

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from pullbook.records.archived import Signed

__all__ = ["correct", "exclude", "full_name", "history", "undo"]

_UNDOABLE: Final = frozenset({"remember", "findings", "exclude", "correct"})
_FEWEST: Final = 4  # digits of the name of a session
_MOST_EVENTS: Final = 2**31 - 1  # what a number of an event can be in either database
_NAMES: Final = "see their names with 'pullbook remember --find \"\"'"


def exclude(connection: Connection, session: str, because: str, signed: Signed) -> int:
    """Exclude a session from what is found and pooled; it stays in the archive.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    session : str
        Its name, or the beginning of it.
    because : str
        Why.
    signed : Signed
        Who, and when.

    Returns
    -------
    int
        Number of the event, by which it is undone.
    """
    if not because.strip():
        raise InputError("nobody said why", where="--exclude", remedy="write the reason behind the session")
    uid = full_name(connection, session)
    return _noted(connection, signed, "exclude", uid, {"because": because.strip()})


def correct(connection: Connection, session: str, what: str, to: str, signed: Signed) -> int:
    """Correct what was declared of a session, without touching its files.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    session : str
        Its name, or the beginning of it.
    what : str
        Title, date, engine, question or notes.
    to : str
        What it is to be.
    signed : Signed
        Who, and when.

    Returns
    -------
    int
        Number of the event, by which it is undone.
    """
    if what not in CORRECTABLE:
        raise InputError("this cannot be corrected here", where="--correct", value=what,
                         remedy=f"name one of {', '.join(CORRECTABLE)}; anything else is corrected in session.toml, "
                                "and the session remembered again")  # fmt: skip
    if what in {"title", "date"} and not to.strip():
        raise InputError(f"a session needs a {what}", where="--correct", remedy=f"write {what}=...")
    uid = full_name(connection, session)
    return _noted(connection, signed, "correct", uid, {"what": what, "to": to.strip()})


def undo(connection: Connection, number: int, signed: Signed) -> int:
    """Undo an event; both stay in the history.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    number : int
        Number of the event.
    signed : Signed
        Who, and when.

    Returns
    -------
    int
        Number of the undoing.
    """
    asked = select(Event.kind, Event.subject).where(Event.id == number)
    found = connection.execute(asked).one_or_none() if 0 < number <= _MOST_EVENTS else None
    if found is None or found.kind not in _UNDOABLE:
        what = "there is no such event" if found is None else "an undoing cannot be undone"
        raise InputError(what, where="--undo", value=str(number),
                         remedy="see the numbers with 'pullbook remember --history all', or do it again")  # fmt: skip
    if connection.execute(select(Event.id).where(Event.undoes == number)).one_or_none() is not None:
        raise InputError("this is undone already", where="--undo", value=str(number),
                         remedy="see 'pullbook remember --history all'")  # fmt: skip
    return _noted(connection, signed, "undo", found.subject, {}, undoes=number)


def _noted(
    connection: Connection, signed: Signed, kind: str, uid: str, content: dict[str, str], *, undoes: int | None = None
) -> int:
    number = add_event(connection, signed, kind, uid, content, undoes=undoes)
    draw(connection, uid)
    return number


def full_name(connection: Connection, session: str) -> str:
    """Full name of a session that is named by the beginning of it.

    Parameters
    ----------
    connection : Connection
        The archive.
    session : str
        The beginning of its name.

    Raises
    ------
    InputError
        If there is no such session, or several begin so.
    """
    name = session.strip().lower()
    found: list[str] = []
    if len(name) >= _FEWEST and name.isalnum():
        found = list(connection.execute(select(Session.uid).where(Session.uid.startswith(name)).limit(2)).scalars())
    if len(found) != 1:
        what = "there is no such session" if not found else "several sessions begin so"
        raise InputError(what, value=session, remedy=_NAMES)
    return found[0]


def history(connection: Connection, session: str) -> tuple[HistoryEntry, ...]:
    """Events in order.

    Parameters
    ----------
    connection : Connection
        The archive.
    session : str
        Name of a session, or the beginning of it; empty for all.

    Raises
    ------
    InputError
        If no event is about such a session.
    """
    asked = select(Event.id, Event.at, Event.who, Event.kind, Event.subject, Event.content, Event.undoes)
    if session:
        asked = asked.where(Event.subject.startswith(session.strip().lower(), autoescape=True))
    rows = connection.execute(asked.order_by(Event.id)).all()
    if session and not rows:
        raise InputError("there is no such session", value=session, remedy=_NAMES)
    undone = {row.undoes: row.id for row in rows if row.undoes is not None}
    return tuple(
        HistoryEntry(
            number=row.id, at=row.at, who=row.who, kind=row.kind, session=row.subject,
            says=_says(row.kind, row.content, row.undoes), undone_by=undone.get(row.id, 0),
        )
        for row in rows
    )  # fmt: skip


def _says(kind: str, content: str, undoes: int | None) -> str:
    told = json.loads(content)
    if kind in {"remember", "findings"}:
        what = "remembered" if kind == "remember" else f"findings of pullbook {told['program']} for"
        return f"{what} '{told['title']}'"
    if kind == "exclude":
        return f"excluded: {told['because']}"
    if kind == "correct":
        return f"{told['what']} is '{told['to']}'"
    return f"undid event {undoes}"
