"""Is the archive whole? Every byte of it is held against a hash or worked out anew, and what is damaged is named."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import and_, func, select, text
from sqlalchemy.exc import DBAPIError

from pullbook.errors import FailureError
from pullbook.records.archive_answer import CheckedArchive, Damage
from pullbook.remember.channels import PARQUET, from_parquet
from pullbook.remember.drawn import drawn, picture_from_history
from pullbook.remember.events import seal
from pullbook.remember.history import HISTORY, Blob, Event, Held, Piece, Table
from pullbook.remember.packing import unpack
from pullbook.remember.told_channels import demand_told
from pullbook.remember.views import Session
from pullbook.remember.words import key_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from sqlalchemy import Connection

    from pullbook.remember.picture import Picture

__all__ = ["check_archive"]

_MOST: Final = 200  # damages that are named
_AGAIN: Final = "can be worked out again with --repair"


def check_archive(connection: Connection, step: Callable[[str, int, int], None]) -> CheckedArchive:
    """Check all that an archive holds.

    Parameters
    ----------
    connection : Connection
        The archive.
    step : callable of (str, int, int)
        Is told what is being checked, and how far it is.
    """
    damages: list[Damage] = []
    parts: tuple[tuple[str, Callable[[Connection], Iterator[Damage]]], ...] = (
        ("the structure of the file", _structure), ("references between rows", _references),
        ("the events", _events), ("the files", _files), ("how sessions stand", _standings),
    )  # fmt: skip
    for number, (what, part) in enumerate(parts):
        step(f"checking {what}", number, len(parts))
        try:
            damages += part(connection)
        except (DBAPIError, TypeError, ValueError) as error:  # a value of another kind than its column
            why = error.orig if isinstance(error, DBAPIError) else error
            damages.append(Damage(what=f"{what} cannot be read ({why})", lost=what))
            connection.rollback()
    step("checking", len(parts), len(parts))
    counts = [_or_none(connection, select(func.count()).select_from(table)) for table in (Session, Event, Blob)]
    raw = _or_none(connection, select(func.sum(Blob.size)).where(Blob.sha256.in_(_raw_files())))
    return CheckedArchive(
        sessions=counts[0], events=counts[1], files=counts[2], size=_size(connection), raw_size=raw,
        damages=tuple(damages[:_MOST]),
    )  # fmt: skip


def _raw_files() -> Any:  # noqa: ANN401 - the type of a selection is that of its columns
    return select(Held.sha256).where(Held.role == "file").distinct()


def _or_none(connection: Connection, asked: Any) -> int:  # noqa: ANN401 - as above
    try:
        return int(connection.execute(asked).scalar_one() or 0)
    except DBAPIError:
        connection.rollback()
        return 0


def _size(connection: Connection) -> int:
    """What the archive takes. [byte]."""
    try:
        if connection.dialect.name == "sqlite":
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
            return int(pages * connection.exec_driver_sql("PRAGMA page_size").scalar_one())
        tables = (f"pg_total_relation_size('{name}')" for name in Table.metadata.tables)
        return int(connection.execute(text(f"SELECT {' + '.join(tables)}")).scalar_one())
    except DBAPIError:
        connection.rollback()
        return 0


def _structure(connection: Connection) -> Iterator[Damage]:
    """What the database itself says, and whether the history is still protected."""
    if connection.dialect.name == "sqlite":
        for (says,) in connection.exec_driver_sql("PRAGMA integrity_check").all():
            if says != "ok":
                yield Damage(what=f"the file is damaged: {says}", lost="perhaps rows; the lines below name them")
        named = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        expected = {f"{table.__tablename__}_no_{doing}" for table in HISTORY for doing in ("update", "delete")}
    else:
        named = (
            "SELECT tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
            "WHERE NOT tgisinternal AND relnamespace = current_schema()::regnamespace"
        )
        expected = {f"{table.__tablename__}_only_added" for table in HISTORY}
    missing = expected - set(connection.execute(text(named)).scalars())
    for name in sorted(missing):
        yield Damage(what=f"the trigger {name}, which protects the history, is missing")


def _references(connection: Connection) -> Iterator[Damage]:
    """Rows that refer to rows that are not there."""
    for table in Table.metadata.sorted_tables:
        for key in table.foreign_key_constraints:
            other = key.referred_table.alias()
            pairs = [
                (own, other.c[element.column.name]) for own, element in zip(key.columns, key.elements, strict=True)
            ]
            joined = table.outerjoin(other, and_(*[own == far for own, far in pairs]))
            lost = select(func.count()).select_from(joined)
            lost = lost.where(pairs[0][1].is_(None), pairs[0][0].is_not(None))
            count = connection.execute(lost).scalar_one()
            if count:
                far_away = f"rows of {key.referred_table.name} that are gone"
                yield Damage(what=f"{count} rows of {table.name} refer to {far_away}", lost="what was there")


def _events(connection: Connection) -> Iterator[Damage]:
    """Events that are not what was sealed."""
    uids = {row.id: row.uid for row in connection.execute(select(Event.id, Event.uid))}
    asked = select(
        Event.id, Event.uid, Event.at, Event.who, Event.kind, Event.subject, Event.content, Event.undoes, Event.sha256
    )
    rows = [
        {str(name): value for name, value in row.items()}
        for row in connection.execute(asked.order_by(Event.id)).mappings()
    ]
    last = 0
    for row in rows:
        held = select(Held.role, Held.name, Held.sha256).where(Held.event_id == row["id"])
        files = [(one.role, one.name, one.sha256) for one in connection.execute(held)]
        undoes = "" if row["undoes"] is None else uids.get(row["undoes"], "?")
        if seal(row, files, undoes) != row["sha256"]:
            about = f"event {row['id']} ({row['kind']}, session {row['subject']}, {row['at']})"
            yield Damage(what=f"{about} is not what was written", lost="what it said")
        if row["id"] != last + 1 and connection.dialect.name == "sqlite":
            yield Damage(what=f"events {last + 1} to {row['id'] - 1} are gone", lost="what they said")
        last = row["id"]


def _files(connection: Connection) -> Iterator[Damage]:
    """Files that are not what their hash says, and columns or findings that cannot be read."""
    roles: dict[str, set[str]] = {}
    for held in connection.execute(select(Held.sha256, Held.role)):
        roles.setdefault(held.sha256, set()).add(held.role)
    for sha256, size in connection.execute(select(Blob.sha256, Blob.size).order_by(Blob.sha256)).all():
        try:
            why = _file_damage(connection, sha256, size, roles.get(sha256, set()))
        except DBAPIError as error:
            why = f"cannot be read ({error.orig})"
        if why:
            yield from _named(connection, sha256, why)


def _file_damage(connection: Connection, sha256: str, size: int, roles: set[str]) -> str:
    """Why a file is damaged; empty where it is whole."""
    asked = select(Piece.content).where(Piece.sha256 == sha256).order_by(Piece.number)
    digest, length, content = hashlib.sha256(), 0, b""
    try:
        for piece in connection.execute(asked).scalars():
            content = unpack(piece)
            digest.update(content)
            length += len(content)
    except ValueError as error:
        return f"cannot be unpacked ({error})"
    if digest.hexdigest() != sha256 or length != size:
        return f"is not what was written ({length} of {size} bytes)" if length != size else "is not what was written"
    return _unreadable(roles, content)


def _unreadable(roles: set[str], content: bytes) -> str:
    try:
        if "channels" in roles:
            (from_parquet if content.startswith(PARQUET) else demand_told)(content)
        if roles & {"findings", "content", "evidence"}:
            json.loads(content)
    except ValueError as error:
        return str(error)
    return ""


def _named(connection: Connection, sha256: str, why: str) -> Iterator[Damage]:
    """The files of sessions that have a hash."""
    asked = select(Held.name, Event.subject, Event.id, Session.title).join(Event, Held.event_id == Event.id)
    asked = asked.outerjoin(Session, Session.uid == Event.subject).where(Held.sha256 == sha256)
    rows = connection.execute(asked).all()
    for row in rows:
        whose = f"session {row.subject}" + (f" '{row.title}'" if row.title else "")
        yield Damage(what=f"{row.name} of {whose} {why}", lost=f"{row.name} as remembered with event {row.id}")
    if not rows:
        yield Damage(what=f"the file {sha256[:12]}, which no session has, {why}")


def _standings(connection: Connection) -> Iterator[Damage]:
    """Sessions whose rows are not what their history says."""
    there = set(connection.execute(select(Session.uid)).scalars())
    for uid in sorted(there | set(connection.execute(select(Event.subject).distinct()).scalars())):
        try:
            expected = picture_from_history(connection, uid)
        except (ValueError, KeyError, TypeError, FailureError):
            yield Damage(what=f"how session {uid} stands cannot be worked out from its damaged history",
                         lost="see the damaged event")  # fmt: skip
            continue
        if not _same(expected, drawn(connection, uid)):
            yield Damage(what=f"the rows by which session {uid} is found are not what its history says; they {_AGAIN}")


def _same(expected: Picture | None, found: Picture | None) -> bool:
    if expected is None or found is None:
        return expected is found
    session = {**found.session, "engine": key_of(found.session["engine"] or "")}
    wanted = {**expected.session, "engine": key_of(expected.session["engine"])}
    return session == wanted and all(
        _plain(name, rows) == _plain(name, found.rows[name]) for name, rows in expected.rows.items()
    )


def _plain(name: str, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows in which a part has its key: its name is written as the first session wrote it."""
    return [{**row, "name": key_of(row["name"])} for row in rows] if name == "fitted" else rows
