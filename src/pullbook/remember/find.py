"""What have we tested? Sessions by their words, dimensions, engine and day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Select, and_, or_, select

from pullbook.records.archive_answer import Found, FoundSession
from pullbook.remember.views import Dimension, Engine, Session, Step, Word
from pullbook.remember.words import stem, stems

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement, Connection

    from pullbook.records.archive_answer import ArchiveQuestion, DimensionAsked

__all__ = ["conditions", "find_sessions"]

_FEW: Final = 500  # values in one question


def find_sessions(connection: Connection, question: ArchiveQuestion) -> Found:
    """Sessions that answer a question, the latest first.

    Parameters
    ----------
    connection : Connection
        The archive.
    question : ArchiveQuestion
        What is looked for.
    """
    met = conditions(question)
    latest = (Session.day.desc(), Session.event_id.desc())
    ids = connection.execute(_joined(select(Session.id)).where(*met).order_by(*latest)).scalars().all()
    asked = _joined(select(Session, Engine.name.label("engine"))).order_by(*latest)
    few = question.most <= _FEW  # the conditions need not be met a second time
    asked = asked.where(Session.id.in_(ids[: question.most])) if few else asked.where(*met).limit(question.most)
    rows = connection.execute(asked).mappings()
    return Found(sessions=tuple(_found(row) for row in rows), count=len(ids))


def _joined(asked: Any) -> Any:  # noqa: ANN401 - the type of a selection is that of its columns, whatever they are
    return asked.select_from(Session).outerjoin(Engine, Session.engine_id == Engine.id)


def conditions(question: ArchiveQuestion) -> list[ColumnElement[bool]]:
    """What a session has to meet; `Engine` has to be joined where a name of an engine is asked for.

    Parameters
    ----------
    question : ArchiveQuestion
        What is looked for.
    """
    met: list[ColumnElement[bool]] = []
    words = [found for word in question.words if (found := stem(word))]  # marks alone leave nothing
    met += [Session.id.in_(_dimension(asked, words)) for asked in question.dimensions]
    met += [_has(word) for word in words]
    met += [_engine(word) for word in sorted(stems([question.engine]))]
    if question.since:
        met.append(Session.day >= question.since)
    if question.until:
        met.append(and_(Session.day <= question.until, Session.day != ""))
    if not question.excluded:
        met.append(Session.excluded == "")
    return met


def _has(word: str) -> ColumnElement[bool]:
    """A word of the session begins so."""
    return Session.id.in_(select(Word.session_id).where(Word.word >= word, Word.word < _behind(word)))


def _behind(word: str) -> str:
    """First text that does not begin with a word, in the order of code points."""
    return word[:-1] + chr(ord(word[-1]) + 1)


def _engine(word: str) -> ColumnElement[bool]:
    """The name of the engine has a word that begins so."""
    spread = Engine.key
    return or_(spread.startswith(word, autoescape=True), spread.contains(f" {word}", autoescape=True))


def _dimension(asked: DimensionAsked, words: list[str]) -> Select[Any]:
    """Sessions with a dimension, or a step of one, in a range; where there are words, one has to be about it."""
    table, value = (Step, Step.difference) if asked.difference else (Dimension, Dimension.value)
    found = select(table.session_id).where(table.kind == asked.kind, value >= asked.low, value <= asked.high)
    if words:
        found = found.where(or_(*[table.label.contains(f" {word}", autoescape=True) for word in words]))
    return found


def _found(row: Any) -> FoundSession:  # noqa: ANN401 - a row of a query has no type of its own
    return FoundSession(
        session=row["uid"],
        revision=row["revision"],
        date=row["day"],
        title=row["title"],
        engine=row["engine"] or "",
        changed=tuple(row["changed"].split("\n")) if row["changed"] else (),
        headline=row["headline"],
        folder=row["folder"],
        pulls=row["pulls"],
        excluded=row["excluded"],
    )
