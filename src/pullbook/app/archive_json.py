"""What the archive answers as JSON, in the form ``pullbook.archive/1``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pullbook.app.session_content import SCHEMA

if TYPE_CHECKING:
    from pullbook.records.archive_answer import ArchiveQuestion, Found, FoundSession, Remembered
    from pullbook.records.archived import ArchivedSession

__all__ = ["found_json", "remembered_json"]


def remembered_json(done: Remembered, content: ArchivedSession) -> dict[str, Any]:
    """What was done with a session.

    Parameters
    ----------
    done : Remembered
        What the archive did.
    content : ArchivedSession
        With what.
    """
    return {
        "schema": SCHEMA,
        "remembered": {
            "session": done.session, "revision": done.revision, "outcome": str(done.outcome),
            "changed": list(done.changed), "title": content["title"], "pulls": len(content["pulls"]),
            "headline": content["headline"],
        },
    }  # fmt: skip


def found_json(found: Found, question: ArchiveQuestion) -> dict[str, Any]:
    """What was found.

    Parameters
    ----------
    found : Found
        The answer.
    question : ArchiveQuestion
        How the question was understood.
    """
    return {
        "schema": SCHEMA,
        "question": {
            "words": list(question.words),
            "dimensions": [
                {"written": one.written, "kind": one.kind, "low": one.low, "high": one.high,
                 "difference": one.difference}
                for one in question.dimensions
            ],
            "engine": question.engine, "since": question.since, "until": question.until,
        },
        "count": found.count,
        "sessions": [_session(one) for one in found.sessions],
    }  # fmt: skip


def _session(one: FoundSession) -> dict[str, Any]:
    return {
        "session": one.session, "revision": one.revision, "date": one.date or None, "title": one.title,
        "engine": one.engine, "changed": list(one.changed), "headline": one.headline, "folder": one.folder,
        "pulls": one.pulls, "excluded": one.excluded,
    }  # fmt: skip
