"""A file is written whole or not at all."""

from __future__ import annotations

import os
import secrets
import stat
import time
from contextlib import suppress
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["note_on_disk", "write_whole"]

_PAUSE: Final = 0.02  # s between two attempts to put a file in place that a reader holds, on Windows
_PATIENCE: Final = 2.0  # s


def write_whole(path: Path, content: bytes, *, mode: int = 0o666) -> None:
    """Put a file in its place when it is whole; what was there stays until then.

    Parameters
    ----------
    path : Path
        The file; its folder is there.
    content : bytes
        What it is to hold.
    mode : int
        Permissions of a new file, before the user's mask; a file that is there keeps its own.

    Raises
    ------
    OSError
        If the disk is full, or the folder is gone or cannot be written to; the file is as it was.
    """
    scratch = path.with_name(f".{path.name[:80]}-{secrets.token_hex(6)}")
    try:
        handle = os.open(scratch, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), mode)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        with suppress(FileNotFoundError):
            scratch.chmod(stat.S_IMODE(path.stat().st_mode))
        _put(scratch, path)
    except BaseException:
        with suppress(OSError):
            scratch.unlink(missing_ok=True)
        raise
    note_on_disk(path.parent)


def _put(scratch: Path, path: Path) -> None:
    until = time.monotonic() + _PATIENCE
    while True:
        try:
            scratch.replace(path)
        except PermissionError:
            if os.name != "nt" or time.monotonic() > until:
                raise
            time.sleep(_PAUSE)
        else:
            return


def note_on_disk(folder: Path) -> None:
    """Make sure that a new name in a folder outlives a loss of power, where the system can."""
    if os.name == "posix":
        with suppress(OSError):  # some disks cannot
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)
