"""What sessions left for pooling and for learning, of the latest revision of each, in few questions to the database."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import and_, exists, select
from sqlalchemy.orm import aliased

from pullbook.records.archive_answer import ArchiveQuestion
from pullbook.records.pooled import KeptEvidence, KeptScatter
from pullbook.remember.blobs import joined
from pullbook.remember.find import conditions
from pullbook.remember.history import Event, Held, Piece
from pullbook.remember.matching import which_way
from pullbook.remember.picture import bench_key, source_start
from pullbook.remember.views import Engine, Revision, Session, Source

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sqlalchemy import ColumnElement, Connection

    from pullbook.records.pooled import ChangeAsked

__all__ = ["kept_evidence", "kept_scatter"]

_MANY: Final = 400  # values in one question


def kept_evidence(connection: Connection, asked: ChangeAsked | None) -> tuple[KeptEvidence, ...]:
    """Evidence of sessions in which a change was tested, the earliest first; of all sessions where none is asked for.

    Parameters
    ----------
    connection : Connection
        The archive.
    asked : ChangeAsked or None
        The change.

    Returns
    -------
    tuple of KeptEvidence
        Also sessions that answer by their words and kept no effect.
    """
    question = ArchiveQuestion()
    if asked is not None:
        words, sizes = (*asked.to.words, *asked.from_.words), (*asked.to.dimensions, *asked.from_.dimensions)
        question = ArchiveQuestion(words=words, dimensions=sizes)
    rows = _rows(connection, "evidence", conditions(question))
    texts = _taken(connection, [row.sha256 for row in rows if row.sha256])
    found: list[KeptEvidence] = []
    for row in rows:
        evidence = json.loads(texts[row.sha256]) if row.sha256 else {}
        ways = [] if asked is None else [which_way(one, asked) for one in evidence.get("effects", ())]
        matches = tuple((number, way) for number, way in enumerate(ways) if way)
        if asked is None or matches or not evidence.get("effects"):
            found.append(
                KeptEvidence(
                    session=row.uid, revision=row.revision, key=row.key, day=row.day, title=row.title,
                    engine=row.engine, folder=row.folder, dyno=row.dyno, standard=row.standard, evidence=evidence,
                    matches=matches,
                )
            )  # fmt: skip
    return tuple(found)


def kept_scatter(connection: Connection, dyno: str, bench: str, files: Iterable[str]) -> tuple[KeptScatter, ...]:
    """What all sessions of a bench say of its scatter, but for those that share a file of pulls.

    Parameters
    ----------
    connection : Connection
        The archive.
    dyno : str
        Kind of the dynamometer.
    bench : str
        Its name; empty for those of which nobody said it.
    files : iterable of str
        Hashes of the files of pulls of the session that is to be taught; none of them teaches it.
    """
    starts = sorted({source_start(sha256) for sha256 in files})
    own = exists().where(Source.session_id == Session.id, Source.start.in_(starts))
    rows = _rows(
        connection, "scatter", [Session.dyno == dyno, Session.bench == bench_key(bench), Session.excluded == "", ~own]
    )
    contents = _taken(connection, [row.sha256 for row in rows if row.sha256])
    return tuple(KeptScatter(session=row.uid, packed=contents[row.sha256]) for row in rows if row.sha256)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A session as it stands, and the hash of what it keeps in a role."""

    uid: str
    revision: int
    key: str
    day: str
    title: str
    engine: str
    folder: str
    dyno: str
    standard: str
    sha256: str


def _rows(connection: Connection, role: str, met: Sequence[ColumnElement[bool]]) -> list[_Row]:
    """Sessions by rising day; the last event about the latest revision that was not undone counts."""
    undoing = aliased(Event)
    stands = ~exists().where(undoing.undoes == Event.id)
    asked: Any = select(
        Session.uid, Session.revision, Revision.key, Session.day, Session.title, Engine.name, Session.folder,
        Session.dyno, Session.standard, Event.id, Event.content, Held.sha256,
    )  # fmt: skip
    asked = asked.select_from(Session).outerjoin(Engine, Session.engine_id == Engine.id)
    asked = asked.join(Revision, and_(Revision.session_id == Session.id, Revision.number == Session.revision))
    asked = asked.join(
        Event, and_(Event.subject == Session.uid, Event.kind.in_(("remember", "findings")), stands)
    ).outerjoin(Held, and_(Held.event_id == Event.id, Held.role == role))
    found: dict[str, _Row] = {}
    for row in connection.execute(asked.where(*met).order_by(Session.day, Session.id, Event.id)).all():
        told: tuple[Any, ...] = tuple(row)
        uid, revision, key, day, title, engine, folder, dyno, standard, _, content, sha256 = told
        before = found.get(uid)
        kept = sha256 if sha256 and json.loads(content)["key"] == key else before.sha256 if before else ""
        found[uid] = _Row(uid=uid, revision=revision, key=key, day=day, title=title, engine=engine or "",
                          folder=folder, dyno=dyno, standard=standard, sha256=kept)  # fmt: skip
    return list(found.values())


def _taken(connection: Connection, hashes: Sequence[str]) -> dict[str, bytes]:
    """Files of many hashes, each compared with it."""
    pieces: dict[str, list[bytes]] = {sha256: [] for sha256 in hashes}
    names = list(pieces)
    for start in range(0, len(names), _MANY):
        asked = select(Piece.sha256, Piece.content).where(Piece.sha256.in_(names[start : start + _MANY]))
        for sha256, content in connection.execute(asked.order_by(Piece.sha256, Piece.number)):
            pieces[sha256].append(content)
    return {sha256: joined(sha256, packed) for sha256, packed in pieces.items()}
