"""A session goes into the archive: as a new one, as a revision of one that is there, or not at all where it is there.

Which session it is: that with the same content; else that of the same folder, if a file of pulls is in both; else
that which shares more than half of the files of pulls, as a folder that was moved does. Anything else is a new one.
"""

from __future__ import annotations

import hashlib
from functools import cache
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import func, select

from pullbook.records.archive_answer import Outcome, Remembered
from pullbook.remember.blobs import PackedFile, keep, packed
from pullbook.remember.channels import to_parquet
from pullbook.remember.drawn import draw, events_about
from pullbook.remember.events import add_event, content_text
from pullbook.remember.history import Event, Held
from pullbook.remember.packing import PIECE, columns_in
from pullbook.remember.picture import source_start
from pullbook.remember.standing import standing_of
from pullbook.remember.told_channels import tell_channels
from pullbook.remember.views import Revision, Session, Source

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from sqlalchemy import Connection

    from pullbook.records.archived import ArchivedSession, SessionMemory, Signed
    from pullbook.remember.columns import NumberColumns

__all__ = ["Parcel", "add_session", "differences", "make_parcel", "same_session", "told_of"]

_SHORT: Final = 12  # hexadecimal digits of the name of a session
_HALF: Final = 0.5
_FOUND: Final = ("findings", "scatter", "evidence")  # what another version of pullbook may find otherwise


class Parcel:
    """A session packed before the archive is locked, so that others wait as short as can be.

    Parameters
    ----------
    memory : SessionMemory
        The session.
    files : sequence of PackedFile
        What is not kept yet.
    held : list of (str, str, str)
        Role, name and hash of every file.
    """

    __slots__ = ("files", "held", "memory")

    def __init__(self, memory: SessionMemory, files: Sequence[PackedFile], held: list[tuple[str, str, str]]) -> None:
        self.memory = memory
        self.files = files
        self.held = held


def make_parcel(memory: SessionMemory, there: Callable[[list[str]], set[str]]) -> Parcel:
    """Pack a session.

    Parameters
    ----------
    memory : SessionMemory
        The session.
    there : callable of list of str to set of str
        Which hashes are kept already; those files are passed over.
    """
    hashes = {one["name"]: one["sha256"] for one in memory.content["files"]}
    raw = [("file", name, hashes[name], content) for name, content in memory.files.items()]
    found = [
        (role, name, hashlib.sha256(content).hexdigest(), content)
        for role, name, content in (
            ("content", "content.json", content_text(memory.content).encode()),
            ("findings", "findings.json", memory.findings), ("scatter", "scatter.bin", memory.scatter),
            ("evidence", "evidence.json", memory.evidence),
        ) if content
    ]  # fmt: skip
    kept = there([sha256 for _, _, sha256, _ in [*raw, *found]])
    files = {name: packed(content, sha256) for _, name, sha256, content in raw if sha256 not in kept}
    channels = _channels(memory, files)
    others = [packed(content, sha256) for _, _, sha256, content in [*found, *channels] if sha256 not in kept]
    held = [(role, name, sha256) for role, name, sha256, _ in [*raw, *found, *channels]]
    return Parcel(memory, [*files.values(), *others], held)


def _channels(memory: SessionMemory, files: Mapping[str, PackedFile]) -> list[tuple[str, str, str, bytes]]:
    """Files of the channels: what the columns of files tell, and numbers for what they do not."""

    @cache
    def columns_of(name: str) -> NumberColumns | None:
        if name not in memory.files or len(memory.files[name]) > PIECE:
            return None
        pieces = (files[name] if name in files else packed(memory.files[name])).pieces
        return columns_in(pieces[0]) if pieces else None

    told, rest = tell_channels(memory.channels, columns_of)
    return [
        ("channels", name, hashlib.sha256(content).hexdigest(), content)
        for name, content in (("channels.json", told), ("channels.parquet", to_parquet(rest)))
        if content
    ]


def told_of(memory: SessionMemory) -> dict[str, str]:
    """What an event says of a session; the rest is in a file that it holds.

    Parameters
    ----------
    memory : SessionMemory
        The session.
    """
    return {"key": memory.key, "title": memory.content["title"], "program": memory.content["program"]}


def add_session(connection: Connection, parcel: Parcel, signed: Signed) -> Remembered:
    """Add a session to the archive.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    parcel : Parcel
        The session.
    signed : Signed
        Who, and when.
    """
    memory = parcel.memory
    same = select(Session.uid, Revision.number).join(Revision, Revision.session_id == Session.id)
    found = connection.execute(same.where(Revision.key == memory.key)).one_or_none()
    if found is not None:
        return _again(connection, parcel, signed, str(found.uid), int(found.number))
    pulls = {pull["file"] for pull in memory.content["pulls"]}
    hashes = [one["sha256"] for one in memory.content["files"] if one["name"] in pulls]
    uid = same_session(connection, memory.content["folder"], hashes) or _new_name(connection, memory)
    before = standing_of(uid, events_about(connection, uid)).revisions
    keep(connection, parcel.files)
    add_event(connection, signed, "remember", uid, told_of(memory), held=parcel.held)
    draw(connection, uid)
    number = connection.execute(select(Session.revision).where(Session.uid == uid)).scalar_one()
    outcome = Outcome.REVISED if before else Outcome.NEW
    changed = tuple(differences(_hashes(before[-1].content), _hashes(memory.content))) if before else ()
    return Remembered(session=uid, revision=int(number), outcome=outcome, changed=changed)


def _again(connection: Connection, parcel: Parcel, signed: Signed, uid: str, number: int) -> Remembered:
    """A session that is there already: its findings are added where another version of pullbook found others."""
    memory = parcel.memory
    findings = [one for one in parcel.held if one[0] in _FOUND]
    held = select(Held.sha256).join(Event, Held.event_id == Event.id)
    there = set(connection.execute(held.where(Event.subject == uid, Held.role.in_(_FOUND))).scalars())
    if all(sha256 in there for _, _, sha256 in findings):
        return Remembered(session=uid, revision=number, outcome=Outcome.SAME)
    keep(connection, parcel.files)
    content = [one for one in parcel.held if one[0] == "content"]
    add_event(connection, signed, "findings", uid, told_of(memory), held=[*content, *findings])
    draw(connection, uid)
    return Remembered(session=uid, revision=number, outcome=Outcome.FINDINGS,
                      changed=(f"findings of pullbook {memory.content['program']}",))  # fmt: skip


def same_session(connection: Connection, folder: str, pulls: Iterable[str]) -> str:
    """Name of the session of which a folder is another state; empty where it is a new one.

    Parameters
    ----------
    connection : Connection
        The archive.
    folder : str
        Where the folder is.
    pulls : iterable of str
        Hashes of its files of pulls.
    """
    starts = {source_start(sha256) for sha256 in pulls}
    shared = func.count(Source.start)
    asked = (
        select(Session.uid, Session.folder, shared.label("shared"))
        .join(Source, Source.session_id == Session.id)
        .where(Source.start.in_(starts))
        .group_by(Session.id, Session.uid, Session.folder)
        .order_by(shared.desc(), Session.id)
    )
    rows: list[Any] = list(connection.execute(asked))
    here = [row.uid for row in rows if row.folder == folder]
    moved = [row.uid for row in rows if row.shared > _HALF * len(starts)]
    return next(iter([*here, *moved]), "")


def _new_name(connection: Connection, memory: SessionMemory) -> str:
    """A name that no session has; an undone one that comes again has its old name."""
    uid = memory.key[:_SHORT]
    taken = connection.execute(select(Session.id).where(Session.uid == uid)).one_or_none()
    return memory.key[: 2 * _SHORT] if taken is not None else uid


def _hashes(content: ArchivedSession) -> dict[str, str]:
    return {one["name"]: one["sha256"] for one in content["files"]}


def differences(old: Mapping[str, str], new: Mapping[str, str]) -> list[str]:
    """What changed between two states of a session, in words.

    Parameters
    ----------
    old, new : mapping of str to str
        Hash of each file, by its name.

    Examples
    --------
    >>> differences({"session.toml": "00", "a.csv": "01"}, {"session.toml": "02", "b.csv": "01"})
    ['session.toml changed', 'b.csv is new', 'a.csv is gone']
    """
    added = [f"{name} is new" for name in new if name not in old]
    changed = [f"{name} changed" for name in new if name in old and old[name] != new[name]]
    gone = [f"{name} is gone" for name in old if name not in new]
    return [*changed, *added, *gone]
