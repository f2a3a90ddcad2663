"""One file at a time: written whole or not at all, and by one writer at a time."""

from __future__ import annotations

import os
import secrets
import sys
import threading
import time
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

__all__ = ["only_writer", "write_whole"]

_PAUSE: Final = 0.02  # s between two attempts to become the only writer
_PATIENCE: Final = 10.0  # s
_inside: dict[str, threading.Lock] = {}
_guard: Final = threading.Lock()


def write_whole(path: Path, content: bytes, *, mode: int = 0o666) -> None:
    """Put a file in its place when it is whole; what was there stays until then.

    Parameters
    ----------
    path : Path
        The file; its folder is there.
    content : bytes
        What it is to hold.
    mode : int
        Permissions of a new file, before the user's mask.

    Raises
    ------
    OSError
        If the disk is full, or the folder is gone or cannot be written to; the file is as it was.
    """
    scratch = path.with_name(f".{path.name}-{secrets.token_hex(6)}")
    try:
        handle = os.open(scratch, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), mode)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        scratch.replace(path)
    except BaseException:
        with suppress(OSError):
            scratch.unlink(missing_ok=True)
        raise


@contextmanager
def only_writer(path: Path, *, patience: float = _PATIENCE) -> Generator[None]:
    """Be the only writer of a file, among the threads of this process and among all processes.

    The system takes the lock back from a process that dies. The lock is held on an empty file beside it, because the
    file itself is replaced when it is written.

    Parameters
    ----------
    path : Path
        The file; its folder is there.
    patience : float
        How long to wait for another writer. [s]

    Raises
    ------
    FailureError
        If another writer does not finish in time.
    OSError
        If the folder is gone or cannot be written to.
    """
    beside = path.with_name(f".{path.name}.lock")
    until = time.monotonic() + patience
    with _guard:
        own = _inside.setdefault(os.path.realpath(beside), threading.Lock())
    if not own.acquire(timeout=patience):
        raise _busy(path)
    try:
        handle = os.open(beside, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            while not _locked(handle):
                if time.monotonic() > until:
                    raise _busy(path)
                time.sleep(_PAUSE)
            yield
        finally:
            os.close(handle)  # gives the lock back
    finally:
        own.release()


def _busy(path: Path) -> FailureError:
    return FailureError("another program is writing the file", where=str(path), remedy="try again in a moment")


def _locked(handle: int) -> bool:
    """Whether the lock is ours now."""
    if sys.platform == "win32":
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
