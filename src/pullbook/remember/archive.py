"""SqlArchive: the archive in a file of SQLite or on a PostgreSQL server."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from pullbook.errors import FailureError, InputError
from pullbook.remember.connect import PATIENCE, Doors
from pullbook.remember.find import find_sessions
from pullbook.remember.migrate import demand_current, settle
from pullbook.remember.remembering import add_session, make_parcel

if TYPE_CHECKING:
    from collections.abc import Generator

    from sqlalchemy import Connection

    from pullbook.records.archive_answer import ArchiveQuestion, Found, Remembered
    from pullbook.records.archived import SessionMemory, Signed
    from pullbook.remember.place import ArchivePlace

__all__ = ["SqlArchive"]


class SqlArchive:
    """An archive of sessions; the port is `pullbook.app.ports.Archive`.

    Parameters
    ----------
    place : ArchivePlace
        Where it is.
    patience : float
        How long a writer waits for another one. [s]
    """

    def __init__(self, place: ArchivePlace, *, patience: float = PATIENCE) -> None:
        self.place = place
        self._doors = Doors(place, patience=patience)

    def remember(self, memory: SessionMemory, signed: Signed) -> Remembered:
        """Add a session; harmless where it is there already."""
        self._make_folder()
        parcel = make_parcel(memory, None)
        with self._doors.writing() as connection:
            settle(connection, self.place.shown)
            return add_session(connection, parcel, signed)

    def find(self, question: ArchiveQuestion) -> Found:
        """Sessions that answer a question, the latest first."""
        with self._current() as connection:
            return find_sessions(connection, question)

    def close(self) -> None:
        """Let go of the archive."""
        self._doors.close()

    @contextmanager
    def _current(self) -> Generator[Connection]:
        """Connection to read an archive that is there and of today; an older one is brought up first."""
        self._demand_there()
        with self._doors.reading() as connection:
            current = demand_current(connection, self.place.shown)
        if not current:
            with self._doors.writing() as connection:
                settle(connection, self.place.shown)
        with self._doors.reading() as connection:
            yield connection

    def _demand_there(self) -> None:
        path = self.place.path
        if path is not None and not path.is_file():
            raise InputError("there is no archive yet", where=self.place.shown,
                             remedy="'pullbook remember SESSION' starts one")  # fmt: skip

    def _make_folder(self) -> None:
        path = self.place.path
        if path is None:
            return
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise FailureError(
                f"the folder of the archive cannot be made ({error.strerror})", where=str(path.parent),
                remedy="check the permissions, or name another place with --archive",
            ) from error  # fmt: skip
