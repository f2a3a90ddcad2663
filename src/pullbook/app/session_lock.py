"""One writer at a time for a session folder, among threads and among processes."""

from __future__ import annotations

import errno
import sys
import threading
import time
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING, Final

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

__all__ = ["locked"]

_PATIENCE: Final = 10.0  # s
_PAUSE: Final = 0.02  # s
_THREADS: Final[dict[Path, threading.Lock]] = {}
_HELD: Final = frozenset({errno.EACCES, errno.EAGAIN, errno.EDEADLK})
_GUARD: Final = threading.Lock()


@contextmanager
def locked(path: Path, *, patience: float = _PATIENCE) -> Generator[None]:
    """Hold a lock file; it is empty, stays there, and frees itself when its holder dies.

    Parameters
    ----------
    path : Path
        The lock file; made where it is not there, its folder too.
    patience : float
        How long to wait for another writer. [s]

    Raises
    ------
    FailureError
        If another program holds it all that time, or the file cannot be made.
    """
    with _GUARD:
        own = _THREADS.setdefault(path.resolve(), threading.Lock())
    until = time.monotonic() + patience
    if not own.acquire(timeout=patience):
        raise _busy(path)
    try:
        with _opened(path) as stream:
            while not _take(stream):
                if time.monotonic() > until:
                    raise _busy(path)
                time.sleep(_PAUSE)
            try:
                yield
            finally:
                _free(stream)
    finally:
        own.release()


def _opened(path: Path) -> IO[bytes]:
    try:
        path.parent.mkdir(exist_ok=True)
        return path.open("a+b")
    except OSError as error:
        raise FailureError(
            f"the folder cannot be written to ({error.strerror})", where=str(path.parent.parent),
            remedy="check that it is there, the free space and the permissions; nothing was changed",
        ) from error  # fmt: skip


def _busy(path: Path) -> FailureError:
    return FailureError("another program is writing to this folder", where=str(path.parent.parent),
                        remedy="try again in a moment; nothing was changed")  # fmt: skip


def _take(stream: IO[bytes]) -> bool:
    """Take the lock, if it is free."""
    try:
        if sys.platform == "win32":
            stream.seek(0)
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(stream.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in _HELD:
            return False
        raise FailureError(
            f"the folder cannot be locked ({error.strerror})", where=stream.name,
            remedy="put the session on a disk of this machine; nothing was changed",
        ) from error  # fmt: skip
    return True


def _free(stream: IO[bytes]) -> None:
    if sys.platform == "win32":
        stream.seek(0)
        msvcrt.locking(stream.fileno(), msvcrt.LK_UNLCK, 1)
    else:
        fcntl.flock(stream.fileno(), fcntl.LOCK_UN)
