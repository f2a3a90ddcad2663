"""SqlArchive: the archive in a file of SQLite or on a PostgreSQL server."""

from __future__ import annotations

import secrets
from contextlib import contextmanager
from typing import TYPE_CHECKING

from pullbook.errors import FailureError, InputError, Way
from pullbook.records.archive_answer import CheckedArchive, Damage
from pullbook.remember import notes
from pullbook.remember.blobs import known
from pullbook.remember.connect import PATIENCE, Doors
from pullbook.remember.evidence import kept_evidence, kept_scatter
from pullbook.remember.find import find_sessions
from pullbook.remember.migrate import demand_current, redraw, settle, version_of
from pullbook.remember.remembering import add_session, make_parcel

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterable
    from pathlib import Path

    from sqlalchemy import Connection

    from pullbook.records.archive_answer import ArchiveQuestion, Found, HistoryEntry, Merged, Remembered
    from pullbook.records.archived import SessionMemory, Signed
    from pullbook.records.kept_session import KeptSession
    from pullbook.records.pooled import ChangeAsked, KeptEvidence, KeptScatter
    from pullbook.records.recollection import Recalled, SessionState
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
        _make_folder(self.place.path)
        parcel = make_parcel(memory, self._known)
        with self._doors.writing() as connection:
            settle(connection, self.place.shown)
            return add_session(connection, parcel, signed)

    def _known(self, hashes: list[str]) -> set[str]:
        """Those of some hashes under which a file is kept already."""
        if self.place.path is not None and not self.place.path.is_file():
            return set()
        with self._doors.reading() as connection:
            return known(connection, hashes) if demand_current(connection, self.place.shown) else set()

    def find(self, question: ArchiveQuestion) -> Found:
        """Sessions that answer a question, the latest first."""
        with self._reading() as connection:
            return find_sessions(connection, question)

    def look_up(self, state: SessionState) -> Recalled | None:
        """Session of which a folder is a state; None where it would be a new one."""
        from pullbook.remember.look_up import look_up

        with self._reading() as connection:
            return look_up(connection, state)

    def evidence(self, asked: ChangeAsked | None) -> tuple[KeptEvidence, ...]:
        """What sessions in which a change was tested left for pooling; all sessions where none is asked for."""
        with self._reading() as connection:
            return kept_evidence(connection, asked)

    def scatter(self, dyno: str, bench: str, files: Iterable[str]) -> tuple[KeptScatter, ...]:
        """What all sessions of a bench say of its scatter, but for those that share a file of pulls."""
        with self._reading() as connection:
            return kept_scatter(connection, dyno, bench, files)

    def take_out(self, session: str) -> KeptSession:
        """Latest revision of a session with its files and findings."""
        from pullbook.remember.taking_out import take_out

        with self._reading() as connection:
            return take_out(connection, session)

    def exclude(self, session: str, because: str, signed: Signed) -> int:
        """Exclude a session from what is found and pooled; the number of the event."""
        with self._writing() as connection:
            return notes.exclude(connection, session, because, signed)

    def correct(self, session: str, what: str, to: str, signed: Signed) -> int:
        """Correct what was declared of a session; the number of the event."""
        with self._writing() as connection:
            return notes.correct(connection, session, what, to, signed)

    def undo(self, number: int, signed: Signed) -> int:
        """Undo an event; the number of the undoing."""
        with self._writing() as connection:
            return notes.undo(connection, number, signed)

    def history(self, session: str) -> tuple[HistoryEntry, ...]:
        """Events in order, of one session or of all."""
        with self._reading() as connection:
            return notes.history(connection, session)

    def check(self, step: Callable[[str, int, int], None], *, repair: bool = False) -> CheckedArchive:
        """Hold all of the archive against its hashes; work out anew, if asked, what can be."""
        from pullbook.remember.check import check_archive

        self._demand_there()
        if repair:
            with self._writing() as connection:
                redraw(connection)
        try:
            with self._doors.reading() as connection:
                demand_current(connection, self.place.shown)
                return check_archive(connection, step)
        except FailureError as error:
            if "damaged" not in error.what:
                raise
            damage = Damage(what=error.what, lost="all of it")
            return CheckedArchive(sessions=0, events=0, files=0, size=0, raw_size=0, damages=(damage,))

    def backup(self, goal: Path, step: Callable[[str, int, int], None], *, replace: bool) -> None:
        """Write one state of the archive into a file."""
        from pullbook.remember.backup import back_up

        with self._reading():
            pass  # it is there, and of today
        back_up(self._doors, goal, step, replace=replace)

    def merge(self, other: Path, step: Callable[[str, int, int], None]) -> Merged:
        """Take what another archive has beside, all of it or nothing."""
        from pullbook.remember.backup import readable
        from pullbook.remember.merging import merge

        _make_folder(self.place.path)
        with readable(other, self.place, step) as source, self._doors.writing() as connection:
            settle(connection, self.place.shown)
            return merge(source, connection, step)

    def restore(self, backup: Path, step: Callable[[str, int, int], None], *, replace: bool) -> str:
        """Put a backup in the place of the archive; where what it held was written, if it held something."""
        from pullbook.remember.backup import restore

        _make_folder(self.place.path)
        path = self.place.path
        before = f"before-restore-{secrets.token_hex(4)}.sqlite"
        aside = backup.with_name(before) if path is None else path.with_name(f"{path.stem}-{before}")
        restore(self._doors, backup, aside, step, replace=replace)
        return str(aside) if aside.exists() else ""

    def close(self) -> None:
        """Let go of the archive."""
        self._doors.close()

    @contextmanager
    def _reading(self) -> Generator[Connection]:
        """Connection to read an archive that is there and of today; an older one is brought up first."""
        self._demand_there()
        with self._doors.reading() as connection:
            current = demand_current(connection, self.place.shown)
            if not version_of(connection):
                raise _no_archive(self.place)  # a database of a server without any table: looking makes none
        if not current:
            with self._doors.writing() as connection:
                settle(connection, self.place.shown)
        with self._doors.reading() as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Generator[Connection]:
        """Connection to write into an archive that is there."""
        self._demand_there()
        with self._doors.writing() as connection:
            settle(connection, self.place.shown)
            yield connection

    def _demand_there(self) -> None:
        path = self.place.path
        _demand_no_folder(path)
        if path is not None and not path.is_file():
            raise _no_archive(self.place)


def _no_archive(place: ArchivePlace) -> InputError:
    return InputError("there is no archive yet", where=place.shown,
                      remedy=Way.REMEMBER.said("'pullbook remember SESSION' starts one"))  # fmt: skip


def _make_folder(path: Path | None) -> None:
    if path is None:
        return
    _demand_no_folder(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FailureError(
            f"the folder of the archive cannot be made ({error.strerror})", where=str(path.parent),
            remedy="check the permissions, or name another place with --archive",
        ) from error  # fmt: skip


def _demand_no_folder(path: Path | None) -> None:
    if path is not None and path.is_dir():
        raise InputError("this is a folder, but an archive is one file", where=str(path),
                         remedy=f"name a file in it, as '{path / 'archive.sqlite'}'")  # fmt: skip
