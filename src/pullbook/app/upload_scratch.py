"""Where an upload lies until it is whole, and how it gets its name."""

from __future__ import annotations

import os
import secrets
import shutil
from contextlib import suppress
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path
    from typing import BinaryIO

__all__ = ["SCRATCH", "free_bytes", "move_to", "new_scratch", "sweep_uploads"]

SCRATCH: Final = ".pullbook/uploads"
"""Folder in a session folder."""

_ENDING: Final = ".part"
_STALE: Final = 3600.0  # s without a byte


def new_scratch(uploads: Path) -> tuple[Path, BinaryIO]:
    """A new file to write to; those that were forgotten long ago are deleted."""
    path = uploads / f"{secrets.token_hex(8)}{_ENDING}"
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    stream = os.fdopen(os.open(path, flags, 0o666), "wb")
    _sweep(uploads, like=path, stale=_STALE)
    return path, stream


def sweep_uploads(folder: Path, *, stale: float = _STALE) -> int:
    """Delete what uploads that came to no end have left in a session folder.

    Parameters
    ----------
    folder : Path
        The session folder.
    stale : float
        How long nothing was added to it. [s]

    Returns
    -------
    int
        How many were deleted. [1]
    """
    uploads = folder / SCRATCH
    if not uploads.is_dir():
        return 0
    mark = uploads / f"{secrets.token_hex(8)}.now"
    try:
        mark.touch()
        return _sweep(uploads, like=mark, stale=stale)
    except OSError:
        return 0
    finally:
        with suppress(OSError):
            mark.unlink(missing_ok=True)


def _sweep(uploads: Path, *, like: Path, stale: float) -> int:
    """Delete parts that are older than a file that was made just now."""
    swept, now = 0, like.stat().st_mtime
    for path in uploads.glob(f"*{_ENDING}"):
        with suppress(OSError):
            if path != like and path.stat().st_mtime < now - stale:
                path.unlink()
                swept += 1
    return swept


def free_bytes(folder: Path) -> int:
    """Room on the disk of a folder. [byte]."""
    return shutil.disk_usage(folder).free


def move_to(scratch: Path, goal: Path) -> bool:
    """Whether a file got a name that no other has; an existing file is never replaced."""
    try:
        os.link(scratch, goal)
    except FileExistsError:
        return False
    except OSError:  # a disk without hard links
        if goal.exists():
            return False
        scratch.rename(goal)
        return True
    scratch.unlink()
    return True
