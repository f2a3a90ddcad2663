"""A backup is an archive of SQLite in one file, from whatever database; it can be put back into any."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, contextmanager, suppress
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError, InputError
from pullbook.remember.check import check_archive
from pullbook.remember.connect import Doors
from pullbook.remember.copying import emptied, events_in, fill
from pullbook.remember.failures import explained
from pullbook.remember.leftovers import BESIDE, end_restore, keep_aside, scratch_name, sweep_scratch, take_restored
from pullbook.remember.migrate import demand_current, settle, version_of
from pullbook.remember.place import ArchivePlace

if TYPE_CHECKING:
    from collections.abc import Callable, Generator
    from pathlib import Path

    from sqlalchemy import Connection

__all__ = ["back_up", "readable", "restore"]

_WAIT: Final = 20.0  # s


def back_up(doors: Doors, goal: Path, step: Callable[[str, int, int], None], *, replace: bool) -> None:
    """Write one state of an archive into a file: all of it, or nothing.

    Parameters
    ----------
    doors : Doors
        Ways into the archive.
    goal : Path
        The file.
    step : callable of (str, int, int)
        Is told how far the work is.
    replace : bool
        Whether a file that is there may be replaced.

    Raises
    ------
    InputError
        If a file or a folder is in the way.
    FailureError
        If the disk or the database failed; the goal is as it was.
    """
    if goal.is_dir():
        raise InputError("this is a folder, but a backup is one file", where=str(goal),
                         remedy=f"name a file in it, as '{goal / 'archive-backup'}'")  # fmt: skip
    if goal.exists() and not replace:
        raise InputError("a file is in the way", where=str(goal), remedy="choose another name, or add --replace")
    if doors.place.path is not None and goal.exists() and goal.samefile(doors.place.path):
        raise InputError("this is the archive itself", where=str(goal), remedy="choose another name for the backup")
    sweep_scratch(goal.parent, goal.name)
    with _scratch(goal) as scratch:
        with doors.reading() as source:
            if doors.place.path is not None:
                _copy_pages(source, scratch, step)
            else:
                _copy_rows(source, scratch, step)
        _settled(scratch)
        scratch.replace(goal)
        _note(goal.parent)


def _copy_pages(source: Connection, scratch: Path, step: Callable[[str, int, int], None]) -> None:
    """Copy a file of SQLite page by page, as one state of it."""
    source.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar_one()  # from here on one state is seen
    driver = source.connection.driver_connection
    if not isinstance(driver, sqlite3.Connection):
        raise TypeError
    with closing(sqlite3.connect(scratch)) as goal:
        driver.backup(goal, pages=1024, progress=lambda _, left, total: step("copying", total - left, max(total, 1)))


def _copy_rows(source: Connection, scratch: Path, step: Callable[[str, int, int], None]) -> None:
    """Copy the history of a server into a new file."""
    goal = Doors(ArchivePlace(path=scratch, url="", shown=str(scratch)))
    try:
        with goal.writing() as connection:
            fill(source, connection, str(scratch), step)
    finally:
        goal.close()


def _settled(scratch: Path) -> None:
    """Leave one file that is safe on the disk."""
    with explained(str(scratch), writing=True), closing(sqlite3.connect(scratch)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE").close()
    with scratch.open("r+b") as stream:
        os.fsync(stream.fileno())


@contextmanager
def _scratch(goal: Path) -> Generator[Path]:
    """File beside a goal that is gone afterwards, with all that SQLite puts beside it."""
    scratch = scratch_name(goal)
    try:
        yield scratch
    except (OSError, sqlite3.Error) as error:
        said = getattr(error, "strerror", None) or str(error)
        raise FailureError(f"the file cannot be written ({said})", where=str(goal),
                           remedy="check the folder, the free space and the permissions; nothing was changed"
                           ) from error  # fmt: skip
    finally:
        for end in ("", *BESIDE):
            with suppress(OSError):
                scratch.with_name(scratch.name + end).unlink(missing_ok=True)


def _note(folder: Path) -> None:
    """Make sure that a new name outlives a loss of power, where the system can."""
    if os.name == "posix":
        with suppress(OSError):
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)


def restore(
    doors: Doors, backup: Path, aside: Path | None, step: Callable[[str, int, int], None], *, replace: bool
) -> None:
    """Put a backup in the place of an archive, in one transaction.

    Parameters
    ----------
    doors : Doors
        Ways into the archive; it may be empty, or not there.
    backup : Path
        The backup.
    aside : Path or None
        Where what the archive held is written before; None where nobody wants it.
    step : callable of (str, int, int)
        Is told how far the work is.
    replace : bool
        Whether an archive that holds something may be replaced.

    Raises
    ------
    InputError
        If the backup is none, is damaged, or the archive holds something and `replace` is False.
    FailureError
        If the disk or the database failed; the archive is as it was.
    """
    with readable(backup, doors.place, step) as source:
        try:
            with doors.writing() as goal:
                holds = events_in(goal)
                if not holds:
                    emptied(goal)
                    fill(source, goal, doors.place.shown, step)
                    return
        except FailureError as error:
            if doors.place.path is None or aside is None or not replace or "damaged" not in error.what:
                raise
            _instead_of_damaged(source, doors.place.path, aside, step)
            return
        if not replace:
            raise InputError(f"the archive holds {holds:,} event{'' if holds == 1 else 's'}", where=doors.place.shown,
                             remedy="add --replace; what it holds is written into a file beside it before")  # fmt: skip
        if aside is not None:
            back_up(doors, aside, step, replace=False)
        with doors.writing() as goal:
            if events_in(goal) != holds:
                raise FailureError("somebody wrote into the archive meanwhile", where=doors.place.shown,
                                   remedy="restore again; nothing was changed")  # fmt: skip
            emptied(goal)
            fill(source, goal, doors.place.shown, step)


def _instead_of_damaged(source: Connection, path: Path, aside: Path, step: Callable[[str, int, int], None]) -> None:
    """Put a new file in the place of one that cannot be read, which is kept under another name."""
    with _scratch(path) as scratch:
        _copy_rows(source, scratch, step)
        _settled(scratch)
        keep_aside(path, aside)
        take_restored(scratch, path)
        _note(path.parent)
        end_restore(path)
        _note(path.parent)


@contextmanager
def readable(backup: Path, place: ArchivePlace, step: Callable[[str, int, int], None]) -> Generator[Connection]:
    """A sound copy of a backup with the tables of today, to be read; the backup itself is not touched.

    Parameters
    ----------
    backup : Path
        The backup, or an archive.
    place : ArchivePlace
        Where the archive is; the copy is made in its folder.
    step : callable of (str, int, int)
        Is told how far the work is.

    Raises
    ------
    InputError
        If it is none, or is damaged.
    """
    if not backup.is_file():
        raise InputError("there is no such file", where=str(backup), remedy="name a file that --backup wrote")
    near = place.path.parent if place.path is not None else backup.parent
    with _scratch(near / f"restoring-{backup.name}") as scratch:
        with explained(str(backup), writing=False):
            _copy_file(backup, scratch)
        copy = Doors(ArchivePlace(path=scratch, url="", shown=str(backup)))
        try:
            with copy.writing() as connection:
                if not version_of(connection):
                    raise InputError("this is no backup: there is no archive in it", where=str(backup),
                                     remedy="name a file that --backup wrote; nothing was changed")  # fmt: skip
                if not demand_current(connection, str(backup)):
                    settle(connection, str(backup))
            with copy.reading() as connection:
                found = check_archive(connection, step)
                lost = [damage for damage in found.damages if damage.lost]
                if lost:
                    raise InputError(f"the backup is damaged: {lost[0].what}", where=str(backup),
                                     remedy="name another one; nothing was changed")  # fmt: skip
            with copy.reading() as connection:
                yield connection
        finally:
            copy.close()


def _copy_file(backup: Path, scratch: Path) -> None:
    """Copy a file of SQLite as one state, whether somebody has it open or not."""
    name = f"{backup.absolute().as_uri()}?mode=ro"
    try:
        with (
            closing(sqlite3.connect(name, uri=True, timeout=_WAIT)) as source,
            closing(sqlite3.connect(scratch)) as goal,
        ):
            source.backup(goal)
    except sqlite3.DatabaseError as error:
        raise InputError(f"this is no backup, or a damaged one ({error})", where=str(backup),
                         remedy="name a file that --backup wrote; nothing was changed") from error  # fmt: skip
