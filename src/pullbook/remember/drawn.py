"""The rows of a session in the tables that say how things stand: written, read back, taken away."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import and_, delete, insert, select

from pullbook.remember.blobs import taken_out
from pullbook.remember.history import Event, Held
from pullbook.remember.picture import Picture, picture_of
from pullbook.remember.standing import StoredEvent, standing_of
from pullbook.remember.views import OF_SESSION, Engine, Fitted, Part, Session
from pullbook.remember.words import key_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import Connection

    from pullbook.remember.picture import Row

__all__ = ["draw", "drawn", "events_about", "picture_from_history"]

_TABLES: Final = {table.__tablename__: table for table in OF_SESSION}


def events_about(connection: Connection, uid: str) -> list[StoredEvent]:
    """Events of a session by rising number.

    Parameters
    ----------
    connection : Connection
        The archive.
    uid : str
        The session.
    """
    asked = select(Event.id, Event.kind, Event.subject, Event.content, Event.undoes, Held.sha256)
    asked = asked.outerjoin(Held, and_(Held.event_id == Event.id, Held.role == "content"))
    rows = connection.execute(asked.where(Event.subject == uid).order_by(Event.id)).all()
    return [
        StoredEvent(
            id=row.id, kind=row.kind, subject=row.subject, undoes=row.undoes, told=json.loads(row.content),
            session=json.loads(taken_out(connection, row.sha256)) if row.sha256 else None,
        )
        for row in rows
    ]  # fmt: skip


def picture_from_history(connection: Connection, uid: str) -> Picture | None:
    """Rows that a session has to have after its events.

    Parameters
    ----------
    connection : Connection
        The archive.
    uid : str
        The session.
    """
    return picture_of(standing_of(uid, events_about(connection, uid)))


def draw(connection: Connection, uid: str) -> None:
    """Work out the rows of a session anew from its events.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    uid : str
        The session.
    """
    _take_away(connection, uid)
    picture = picture_from_history(connection, uid)
    if picture is None:
        return
    row = dict(picture.session)
    engine = row.pop("engine")
    row["engine_id"] = _named(connection, Engine, engine) if key_of(engine) else None
    session = connection.execute(insert(Session).values(row).returning(Session.id)).scalar_one()
    for name, rows in picture.rows.items():
        if name == "fitted":
            rows = [_with_part(connection, one) for one in rows]  # noqa: PLW2901 - the same rows with their part
        if rows:
            connection.execute(insert(_TABLES[name]), [{**one, "session_id": session} for one in rows])


def _take_away(connection: Connection, uid: str) -> None:
    session = connection.execute(select(Session.id).where(Session.uid == uid)).scalar_one_or_none()
    if session is None:
        return
    for table in OF_SESSION:
        connection.execute(delete(table).where(table.session_id == session))
    connection.execute(delete(Session).where(Session.id == session))


def _with_part(connection: Connection, row: Mapping[str, Any]) -> Row:
    return {
        "part_id": _named(connection, Part, row["name"]), "factor": row["factor"], "level": row["level"],
    }  # fmt: skip


def _named(connection: Connection, table: type[Engine | Part], name: str) -> int:
    """Number of the engine or part of a name; made where it is new."""
    key = key_of(name)
    found = connection.execute(select(table.id).where(table.key == key)).scalar_one_or_none()
    if found is None:
        found = connection.execute(insert(table).values(key=key, name=name).returning(table.id)).scalar_one()
    return int(found)


def drawn(connection: Connection, uid: str) -> Picture | None:
    """Rows that a session has, in the form in which they are worked out; None where it has none.

    Parameters
    ----------
    connection : Connection
        The archive.
    uid : str
        The session.
    """
    asked = select(Session, Engine.name.label("engine")).outerjoin(Engine, Session.engine_id == Engine.id)
    found = connection.execute(asked.where(Session.uid == uid)).mappings().one_or_none()
    if found is None:
        return None
    row = dict(found)
    session = row.pop("id")
    del row["engine_id"]
    rows: dict[str, list[Row]] = {}
    for name, table in _TABLES.items():
        columns = [column for column in table.__table__.columns if column.name not in {"id", "session_id"}]
        if table is Fitted:
            named = select(Part.name, Fitted.factor, Fitted.level).join(Part, Fitted.part_id == Part.id)
            asked_rows = named.where(Fitted.session_id == session).order_by(Fitted.id)
        else:
            asked_rows = select(*columns).where(table.session_id == session).order_by(*table.__table__.primary_key)
        rows[name] = [dict(one) for one in connection.execute(asked_rows).mappings()]
    return Picture(session=row, rows=rows)
