"""What the archive answers as JSON, in the form ``pullbook.archive/1``."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from pullbook.app.session_content import SCHEMA

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.app.export_sessions import ExportedSession
    from pullbook.records.archive_answer import (
        ArchiveQuestion,
        CheckedArchive,
        Found,
        FoundSession,
        HistoryEntry,
        Merged,
        Remembered,
    )
    from pullbook.records.archived import ArchivedSession

__all__ = [
    "backup_json", "checked_json", "exported_json", "found_json", "history_json", "merged_json", "noted_json",
    "remembered_json", "restored_json",
]  # fmt: skip


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


def history_json(entries: Sequence[HistoryEntry]) -> dict[str, Any]:
    """Who did what, and when.

    Parameters
    ----------
    entries : sequence of HistoryEntry
        The events.
    """
    return {"schema": SCHEMA, "history": [asdict(entry) for entry in entries]}


def noted_json(number: int) -> dict[str, Any]:
    """Event that was written.

    Parameters
    ----------
    number : int
        Its number.
    """
    return {"schema": SCHEMA, "event": number}


def checked_json(checked: CheckedArchive) -> dict[str, Any]:
    """What was checked, and what is damaged.

    Parameters
    ----------
    checked : CheckedArchive
        The result.
    """
    return {"schema": SCHEMA, "checked": asdict(checked)}


def backup_json(file: str) -> dict[str, Any]:
    """Backup that was written.

    Parameters
    ----------
    file : str
        Its name.
    """
    return {"schema": SCHEMA, "backup": file}


def exported_json(exported: Sequence[ExportedSession]) -> dict[str, Any]:
    """Sessions that were written as open data.

    Parameters
    ----------
    exported : sequence of ExportedSession
        What was written, and where.
    """
    return {"schema": SCHEMA, "exported": [asdict(one) for one in exported]}


def merged_json(file: str, merged: Merged) -> dict[str, Any]:
    """What came out of another archive.

    Parameters
    ----------
    file : str
        Its name.
    merged : Merged
        What came in.
    """
    return {"schema": SCHEMA, "merged": {"from": file, **asdict(merged)}}


def restored_json(file: str, aside: str) -> dict[str, Any]:
    """Backup that was put in place.

    Parameters
    ----------
    file : str
        Its name.
    aside : str
        Where what was there before is; empty where nothing was.
    """
    return {"schema": SCHEMA, "restored": file, "before": aside}
