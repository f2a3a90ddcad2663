"""Events are written here, each sealed with a hash over all that it says and holds."""

from __future__ import annotations

import hashlib
import json
import secrets
from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select

from pullbook.remember.history import Event, Held

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sqlalchemy import Connection

    from pullbook.records.archived import Signed

__all__ = ["add_event", "content_text", "seal"]


def content_text(content: Mapping[str, Any]) -> str:
    """Content of an event as it is stored.

    Parameters
    ----------
    content : mapping of str to object
        Plain data, without NaN.
    """
    return json.dumps(content, separators=(",", ":"), sort_keys=True, ensure_ascii=True, allow_nan=False)


def seal(event: Mapping[str, Any], held: Iterable[tuple[str, str, str]], undoes: str) -> str:
    """Hash over an event and what it holds.

    Parameters
    ----------
    event : mapping of str to object
        Its columns.
    held : iterable of (str, str, str)
        Role, name and hash of each file.
    undoes : str
        The ``uid`` of the event that it undoes; empty for none.
    """
    told = [event[name] for name in ("uid", "at", "who", "kind", "subject", "content")]
    text = json.dumps([told, sorted(held), undoes], separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def add_event(  # noqa: PLR0913 - an event says all of this
    connection: Connection, signed: Signed, kind: str, subject: str, content: Mapping[str, Any], *,
    held: Iterable[tuple[str, str, str]] = (), undoes: int | None = None,
) -> int:  # fmt: skip
    """Write an event.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    signed : Signed
        Who, and when.
    kind : str
        What is done.
    subject : str
        The session it is about.
    content : mapping of str to object
        What belongs to it.
    held : iterable of (str, str, str)
        Role, name and hash of each file that it holds.
    undoes : int or None
        Number of the event that it undoes.

    Returns
    -------
    int
        Its number.
    """
    files = sorted(held)
    row: dict[str, Any] = {
        "uid": secrets.token_hex(16), "at": signed.at, "who": signed.who, "kind": kind, "subject": subject,
        "content": content_text(content),
    }  # fmt: skip
    other = "" if undoes is None else connection.execute(select(Event.uid).where(Event.id == undoes)).scalar_one()
    row |= {"undoes": undoes, "sha256": seal(row, files, other)}
    number = connection.execute(insert(Event).values(row).returning(Event.id)).scalar_one()
    if files:
        rows = [{"event_id": number, "role": role, "name": name, "sha256": sha} for role, name, sha in files]
        connection.execute(insert(Held), rows)
    return int(number)
