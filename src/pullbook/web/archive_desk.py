"""What the server knows of the archive: where it is and in which state. It is opened by the workers alone."""

from __future__ import annotations

import secrets
import time
from typing import TYPE_CHECKING, Final

from pullbook.app.content_key import content_key, file_key, folder_key, plain_key
from pullbook.app.engine_files import find_engines
from pullbook.web.jobs import Task
from pullbook.wiring import archive_file, archive_place

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from pullbook.app.sessions import SessionPlace
    from pullbook.web.jobs import Job, Jobs

__all__ = ["ArchiveDesk"]

_FRESH: Final = 5.0  # s for which an answer of a server stands for pages that are opened one after the other


class ArchiveDesk:
    """Asks the archive through the workers.

    What a file says is kept until the file changes. A server cannot be looked at from outside, so that what it says is
    kept until a page is opened some seconds later or a session is remembered here.

    Parameters
    ----------
    place : str
        Path or address; empty for the usual one.
    jobs : Jobs
        The workers.
    """

    def __init__(self, place: str, jobs: Jobs) -> None:
        self._place = archive_place(place)
        self._file = archive_file(self._place)
        self._jobs = jobs
        self._look = secrets.token_hex(8)
        self._looked_at = time.monotonic()

    @property
    def is_there(self) -> bool:
        """Whether there is an archive; one on a server has to be asked."""
        return self._file is None or self._file.is_file()

    @property
    def place(self) -> str:
        """Path or address."""
        return self._place

    def moment(self) -> str:
        """Name of the archive as it is now; one on a server cannot be looked at, and has another name every time."""
        if self._file is None:
            return secrets.token_hex(8)
        return plain_key(self._state())[:16]

    def look_again(self) -> None:
        """Ask a server again of which the last answers are no longer fresh."""
        if time.monotonic() - self._looked_at > _FRESH:
            self._look, self._looked_at = secrets.token_hex(8), time.monotonic()

    def recall_task(self, place: SessionPlace, *, afresh: bool = False) -> Task:
        """Look a session up, and who tested its changes before.

        Parameters
        ----------
        place : SessionPlace
            The session.
        afresh : bool
            Whether a server is asked even where this page was told already.
        """
        engines = [file_key(place.folder, engine.name) for engine in find_engines(place.folder)]
        key = content_key(place.folder, ("archive", *self._state(), *engines))
        return Task(
            kind="recall", arguments={"folder": str(place.folder), "archive": self._place},
            key="" if afresh and self._file is None else key, session=place.id,
        )  # fmt: skip

    def find_task(self, root: Path, question: Mapping[str, object], *, afresh: bool = False) -> Task:
        """Find sessions.

        Parameters
        ----------
        root : Path
            The served folder.
        question : mapping
            Arguments of `pullbook.app.archive_question.archive_question`.
        afresh : bool
            As `recall_task` takes it.
        """
        key = folder_key(root, ("find", *self._state(), *(f"{word}={value}" for word, value in question.items())))
        return Task(
            kind="find", arguments={"archive": self._place, "question": dict(question)},
            key="" if afresh and self._file is None else key,
        )  # fmt: skip

    def remember(self, place: SessionPlace) -> Job:
        """Begin to remember a session, unless that is under way."""
        job = self.remembering(place)
        if job is not None and not job.state.is_over:
            return job
        arguments: dict[str, object] = {"folder": str(place.folder), "archive": self._place}
        return self._jobs.submit(Task(kind="remember", arguments=arguments, session=place.id))

    def remembering(self, place: SessionPlace) -> Job | None:
        """Last job that remembers a session; None where nobody asked for one."""
        return next((job for job in reversed(self._jobs.jobs(place.id)) if job.kind == "remember"), None)

    def _state(self) -> tuple[str, ...]:
        """What changes when the archive does."""
        if self._file is None:
            over = [job.id for job in self._jobs.jobs() if job.kind == "remember" and job.state.is_over]
            return (self._place, self._look, *over)
        return (self._place, *(_look(self._file.with_name(f"{self._file.name}{end}")) for end in ("", "-wal")))


def _look(path: Path) -> str:
    """Size, times and place of a file; the log of an archive that nobody writes to is empty or not there."""
    try:
        found = path.stat()
    except OSError:
        return ""
    return f"{found.st_size} {found.st_mtime_ns} {found.st_ctime_ns} {found.st_ino}" if found.st_size else ""
