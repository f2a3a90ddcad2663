"""What earlier versions of the tables held, written as they wrote it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from archive_cases import SIGNED
from sqlalchemy import column, insert, table

from pullbook.remember.events import content_text, seal
from pullbook.remember.remembering import make_parcel, told_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from pullbook.records.archived import SessionMemory

__all__ = ["write_as_0001"]

_COLUMNS: Final = {
    "event": ("uid", "at", "who", "kind", "subject", "content", "undoes", "sha256"),
    "blob": ("sha256", "size"),
    "piece": ("sha256", "number", "content"),
    "held": ("event_id", "role", "name", "sha256"),
}
_TABLES: Final = {name: table(name, column("id"), *map(column, names)) for name, names in _COLUMNS.items()}


def write_as_0001(connection: Connection, memory: SessionMemory) -> None:
    """Write a session as version 0001 did: hashes in hexadecimal digits, and nothing worked out from the history."""
    as_numbers = tuple(replace(table, first_line=0) for table in memory.channels)  # in Parquet, up to version 0003
    parcel = make_parcel(replace(memory, channels=as_numbers), lambda _: set())
    for file in parcel.files:
        connection.execute(insert(_TABLES["blob"]), {"sha256": file.sha256, "size": file.size})
        for number, content in enumerate(file.pieces):
            connection.execute(insert(_TABLES["piece"]), {"sha256": file.sha256, "number": number, "content": content})
    row: dict[str, Any] = {
        "uid": memory.key[:32], "at": SIGNED.at, "who": SIGNED.who, "kind": "remember", "subject": memory.key[:12],
        "content": content_text(told_of(memory)), "undoes": None,
    }  # fmt: skip
    event = _TABLES["event"]
    added = insert(event).values(row | {"sha256": seal(row, parcel.held, "")}).returning(event.c.id)
    number = connection.execute(added).scalar_one()
    rows = [{"event_id": number, "role": role, "name": name, "sha256": sha} for role, name, sha in parcel.held]
    connection.execute(insert(_TABLES["held"]), rows)
