"""A session comes out of the archive as it went in: its files byte for byte, and its findings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from pullbook.errors import InputError
from pullbook.records.kept_session import KeptSession
from pullbook.remember.blobs import taken_out
from pullbook.remember.drawn import events_about
from pullbook.remember.history import Event, Held
from pullbook.remember.notes import full_name
from pullbook.remember.standing import standing_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from pullbook.remember.standing import StoredEvent

__all__ = ["take_out"]


def take_out(connection: Connection, session: str) -> KeptSession:
    """Latest revision of a session, every byte of it held against its hash.

    Parameters
    ----------
    connection : Connection
        The archive.
    session : str
        Its name, or the beginning of it.

    Raises
    ------
    InputError
        If there is no such session, or several begin so.
    FailureError
        If something of it is damaged.
    """
    uid = full_name(connection, session)
    events = events_about(connection, uid)
    standing = standing_of(uid, events)
    if not standing.revisions:
        raise InputError("there is no such session", value=session,
                         remedy="see their names with 'pullbook remember --find \"\"'")  # fmt: skip
    latest = standing.revisions[-1]
    held = select(Held.name, Held.sha256).where(Held.event_id == latest.event, Held.role == "file")
    hashes = {row.name: row.sha256 for row in connection.execute(held)}
    order = [one["name"] for one in latest.content["files"]]
    return KeptSession(
        session=uid,
        revision=latest.number,
        at=connection.execute(select(Event.at).where(Event.id == latest.event)).scalar_one(),
        content=latest.content,
        corrections=standing.corrections,
        excluded=standing.excluded,
        files={name: taken_out(connection, hashes[name]) for name in order},
        findings=_findings(connection, events, latest.key),
    )


def _findings(connection: Connection, events: list[StoredEvent], key: str) -> bytes:
    """Findings of a revision, the latest that were worked out for it."""
    undone = {event.undoes for event in events}
    found = [one.id for one in events if one.id not in undone and one.told.get("key") == key]
    asked = select(Held.sha256).where(Held.event_id.in_(found), Held.role == "findings").order_by(Held.event_id.desc())
    sha256 = connection.execute(asked.limit(1)).scalar_one_or_none()
    return taken_out(connection, sha256) if sha256 else b""
