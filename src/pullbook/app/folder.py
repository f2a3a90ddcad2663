"""Files in and out: the only place where the use cases touch the disk.

Reading maps a file into memory instead of copying it, so that a long log costs its numbers and not its bytes as
well. Writing is atomic: everything is written beside the goal first and renamed when it is whole, so that a full
disk or a cancelled job leaves what was there.
"""

from __future__ import annotations

import mmap
import os
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError, FileRefusedError, InputError, SessionFileError, Way

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "MAX_BYTES",
    "folder_of",
    "inside",
    "read_bytes",
    "read_session_bytes",
    "read_session_text",
    "session_text",
    "write_folder",
]

MAX_BYTES: Final = 2_000_000_000
_SESSION_FILE: Final = "session.toml"
_MAP_FROM: Final = 1_000_000
_MOST_TEXT: Final = 10_000_000


def read_bytes(path: Path, name: str) -> bytes | memoryview:
    """Bytes of a file; a large one is mapped, not copied.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        What to call it in a message.

    Returns
    -------
    data : bytes or memoryview
        Its content.

    Raises
    ------
    FileRefusedError
        If it is not there, a folder, empty, larger than `MAX_BYTES`, or may not be read.
    """
    if path.is_dir():
        raise FileRefusedError("this is a folder, not a file", where=name, remedy="name the file inside it")
    try:
        size = path.stat().st_size
        if size == 0:
            raise FileRefusedError("the file is empty", where=name, remedy="write it again, or name another file")
        if size > MAX_BYTES:
            raise FileRefusedError(
                f"the file has {size / 1e9:.1f} GB, more than the {MAX_BYTES / 1e9:.0f} GB that can be read",
                where=name, remedy="export the pulls alone, or split the log",
            )  # fmt: skip
        if size < _MAP_FROM:
            return path.read_bytes()
        with path.open("rb") as stream:
            return memoryview(mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ))
    except FileNotFoundError:
        raise FileRefusedError(
            "there is no such file", where=name, remedy="correct the name or put the file there"
        ) from None
    except OSError as error:
        raise FileRefusedError(
            f"the file cannot be read ({error.strerror})", where=name, remedy="check the permissions and the disk"
        ) from None


def read_session_text(folder: Path) -> str:
    """Text of the ``session.toml`` of a session folder, without a byte-order mark.

    Raises
    ------
    SessionFileError
        If the folder or the file is not there, or the file is not text in UTF-8.
    """
    return session_text(read_session_bytes(folder)).removeprefix("\ufeff")


def session_text(content: bytes) -> str:
    """Text of a session file; a byte-order mark stays in it.

    Raises
    ------
    SessionFileError
        If it is not text in UTF-8.
    """
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise SessionFileError(
            f"the file is not UTF-8 text (byte {error.start})", where=_SESSION_FILE, remedy="save it as UTF-8"
        ) from None


def read_session_bytes(folder: Path) -> bytes:
    """Content of the ``session.toml`` of a session folder.

    Raises
    ------
    SessionFileError
        If the folder or the file is not there, or the file cannot be read.
    """
    if folder.name == _SESSION_FILE and folder.is_file():
        folder = folder.parent
    if not folder.exists():
        raise SessionFileError("there is no such folder", where=str(folder), remedy="name a session folder")
    if not folder.is_dir():
        raise SessionFileError(
            "this is a file, but a session folder is needed", where=str(folder),
            remedy=Way.FOLDER.said("name the folder that holds session.toml"),
        )  # fmt: skip
    path = folder / _SESSION_FILE
    if not path.is_file():
        raise SessionFileError(
            "the folder has no session.toml", where=str(folder),
            remedy=Way.DEMO.said("write one"),
        )  # fmt: skip
    try:
        if path.stat().st_size > _MOST_TEXT:
            raise SessionFileError(
                f"the file has {path.stat().st_size / 1e6:.0f} MB, which is no session file", where=_SESSION_FILE,
                remedy=Way.DEMO.said("write one"),
            )  # fmt: skip
        return path.read_bytes()
    except OSError as error:
        raise SessionFileError(
            f"the file cannot be read ({error.strerror})", where=_SESSION_FILE, remedy="check the permissions"
        ) from None


def write_folder(goal: Path, files: Iterable[tuple[str, bytes]], *, replace: bool) -> list[Path]:
    """Write files into a folder: all of them, or none.

    Files of the goal that are not among `files` stay as they are.

    Parameters
    ----------
    goal : Path
        The folder; made if it is not there.
    files : iterable of (str, bytes)
        Relative names with forward slashes, and contents.
    replace : bool
        Whether files that are there may be replaced.

    Returns
    -------
    written : list of Path
        What was written.

    Raises
    ------
    InputError
        If the goal is a file, or a file is in the way and `replace` is False.
    FailureError
        If the disk is full or the folder cannot be written to; the goal is as it was.
    """
    if goal.exists() and not goal.is_dir():
        raise InputError("a file is in the way of the folder", where=str(goal), remedy="choose another name for it")
    try:
        goal.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{goal.name}-", dir=goal.parent) as scratch:
            return _write_through(Path(scratch), goal, files, replace=replace)
    except OSError as error:
        raise FailureError(
            f"the folder cannot be written to ({error.strerror})", where=str(goal),
            remedy="check the free space and the permissions; what was there is unchanged",
        ) from error  # fmt: skip


def _write_through(scratch: Path, goal: Path, files: Iterable[tuple[str, bytes]], *, replace: bool) -> list[Path]:
    names: list[str] = []
    for name, content in files:
        if not replace and (goal / name).exists():
            raise InputError(
                "a file is in the way",
                where=str(goal / name),
                remedy=Way.REPLACE.said("choose another folder, or allow that files are replaced"),
            )
        path = scratch / "new" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        names.append(name)
    if not goal.exists():
        (scratch / "new").rename(goal)
        return [goal / name for name in names]
    # The goal is there: put every old file aside before the first new one takes its place, and put them back if
    # anything fails on the way.
    moved: list[str] = []
    try:
        for name in names:
            _set_aside(goal / name, scratch / "old" / name)
            moved.append(name)
            (scratch / "new" / name).replace(goal / name)
    except BaseException:
        for name in moved:
            (goal / name).unlink(missing_ok=True)
            if (scratch / "old" / name).exists():
                (scratch / "old" / name).replace(goal / name)
        raise
    return [goal / name for name in names]


def _set_aside(path: Path, aside: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.exists():
        aside.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, aside)


def folder_of(session: Path) -> Path:
    """Folder of a session that was named by its folder or by its ``session.toml``."""
    return session.parent if session.name == _SESSION_FILE and not session.is_dir() else session


def inside(folder: Path, name: str) -> Path:
    """Path of a file of the session, which must lie inside its folder even through links.

    Raises
    ------
    FileRefusedError
        If it does not.
    """
    path = folder / name
    if not Path(os.path.realpath(path)).is_relative_to(os.path.realpath(folder)):
        raise FileRefusedError(
            "the file lies outside the session folder", where=name, remedy="copy it into the session folder"
        )
    return path
