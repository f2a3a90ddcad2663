"""Whether a session folder is in the archive, and as it stands."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from pullbook.records.recollection import Recalled
from pullbook.remember.drawn import events_about
from pullbook.remember.history import Event
from pullbook.remember.remembering import differences, same_session
from pullbook.remember.standing import standing_of
from pullbook.remember.views import Revision, Session

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from pullbook.records.recollection import SessionState

__all__ = ["look_up"]


def look_up(connection: Connection, state: SessionState) -> Recalled | None:
    """Session of which a folder is a state.

    Parameters
    ----------
    connection : Connection
        The archive.
    state : SessionState
        The folder.

    Returns
    -------
    Recalled or None
        The revision with the same content, else the latest one of the session that it would become a revision of;
        None where it would be a new session.
    """
    asked: Any = select(Session.uid, Session.revision, Session.excluded, Revision.number, Event.at, Event.content)
    asked = asked.join(Revision, Revision.session_id == Session.id).join(Event, Revision.event_id == Event.id)
    row: Any = connection.execute(asked.where(Revision.key == state.key)).one_or_none()
    changed: tuple[str, ...] = ()
    if row is None:
        uid = same_session(connection, state.folder, [state.files[name] for name in state.pulls])
        if not uid:
            return None
        latest = Revision.number == Session.revision
        row = connection.execute(asked.where(Session.uid == uid, latest)).one()
        content = standing_of(uid, events_about(connection, uid)).revisions[-1].content
        changed = tuple(differences({one["name"]: one["sha256"] for one in content["files"]}, state.files))
    return Recalled(
        session=row.uid, revision=row.number, latest=row.revision, at=row.at, excluded=row.excluded,
        program=json.loads(row.content)["program"], changed=changed,
    )  # fmt: skip
