"""The kinds of long work about the archive: look a session up, find sessions, remember one.

The module is imported by the server as well, so everything heavy is imported inside.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from pullbook.records.json_text import json_text
from pullbook.web.jobs_kind import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.ports import Archive, Progress

__all__ = ["ARCHIVE_KINDS", "find", "recall", "remember"]


def recall(progress: Progress, *, folder: str, archive: str) -> dict[str, bytes]:
    """Look a session up, and who tested its changes before.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    archive : str
        Where the archive is.
    """
    from pullbook.app.recall_session import recall_session, recollection_json

    with _opened(archive) as there:
        found = recall_session(Path(folder), there, progress)
    return {"recall.json": json_text(recollection_json(found)).encode()}


def find(progress: Progress, *, archive: str, question: Mapping[str, Any]) -> dict[str, bytes]:
    """Find sessions; ``found.json`` is what ``pullbook remember --find --json`` writes.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    archive : str
        Where the archive is.
    question : mapping
        Arguments of `pullbook.app.archive_question.archive_question`.
    """
    from pullbook.app.archive_json import found_json
    from pullbook.app.archive_question import archive_question

    progress.step("asking the archive", 0, 0)
    asked = archive_question(**question)
    with _opened(archive) as there:
        return {"found.json": json_text(found_json(there.find(asked), asked)).encode()}


def remember(progress: Progress, *, folder: str, archive: str) -> dict[str, bytes]:
    """Remember a session; ``remembered.json`` is what ``pullbook remember SESSION --json`` writes.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    archive : str
        Where the archive is.
    """
    from pullbook.app.archive_json import remembered_json
    from pullbook.app.remember_session import remember_session
    from pullbook.wiring import system_clock

    with _opened(archive) as there:
        done, memory = remember_session(Path(folder), there, system_clock(), progress)
    return {"remembered.json": json_text(remembered_json(done, memory.content)).encode()}


def _opened(place: str) -> closing[Archive]:
    from pullbook.wiring import archive_at

    return closing(archive_at(place))


ARCHIVE_KINDS: Final[dict[str, Kind]] = {
    "recall": Kind(run=recall),
    "find": Kind(run=find),
    "remember": Kind(run=remember, urgent=False),
}
"""Kinds of work about the archive by the name that a `Task` gives."""
