"""What a killed process leaves beside an archive: a restore that has to be ended, and files that nobody needs.

An archive that cannot be read is replaced in one step: the new file gets the name of a restored one, and counts from
then on. Whoever opens the archive next takes away what belongs to the old file and puts the new one in its place; a
log of the old one beside the new one would be played into it.
"""

from __future__ import annotations

import os
import re
import secrets
import shutil
import time
from contextlib import suppress
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["BESIDE", "end_restore", "keep_aside", "scratch_name", "sweep", "sweep_scratch", "take_restored"]

BESIDE: Final = ("-wal", "-shm", "-journal")
"""Ends of the names of what SQLite puts beside a file."""
_LONGEST: Final = 80
_SCRATCH: Final = re.compile(r".*-[0-9a-f]{12}(-wal|-shm|-journal)?")
_OLD: Final = 3600.0  # s since it was last written; no copy pauses for so long


def scratch_name(goal: Path) -> Path:
    """Name for a file that becomes another one when it is whole.

    Parameters
    ----------
    goal : Path
        The file that it becomes.
    """
    return goal.with_name(f".{goal.name[:_LONGEST]}-{secrets.token_hex(6)}")


def sweep(path: Path) -> None:
    """End a restore that was killed, and take away what killed processes left beside an archive.

    Parameters
    ----------
    path : Path
        The archive.
    """
    end_restore(path)
    for prefix in (path.name, f"{path.stem}-before-restore-", "restoring-"):
        sweep_scratch(path.parent, prefix)


def sweep_scratch(folder: Path, prefix: str) -> None:
    """Take away scratch files that nobody has written to for an hour.

    Parameters
    ----------
    folder : Path
        Where they are.
    prefix : str
        How the name begins of what they were to become.
    """
    before = time.time() - _OLD  # noqa: TID251 - the age of a file
    with suppress(OSError):
        for entry in os.scandir(folder):
            ours = entry.name.startswith(f".{prefix[:_LONGEST]}") and _SCRATCH.fullmatch(entry.name)
            if ours and entry.stat().st_mtime < before:
                with suppress(OSError):
                    os.unlink(entry)  # noqa: PTH108 - an entry of a folder


def keep_aside(path: Path, aside: Path) -> None:
    """Give a file and what SQLite put beside it further names, without touching them.

    Parameters
    ----------
    path : Path
        The file.
    aside : Path
        Its further name.
    """
    for end in ("", *BESIDE):
        with suppress(FileNotFoundError):
            _link(path.with_name(path.name + end), aside.with_name(aside.name + end))


def _link(path: Path, aside: Path) -> None:
    try:
        os.link(path, aside)
    except FileNotFoundError:
        raise
    except OSError:  # a disk without such names
        shutil.copyfile(path, aside)


def take_restored(scratch: Path, path: Path) -> None:
    """Let a whole new file count as the archive from now on.

    Parameters
    ----------
    scratch : Path
        The new file, safe on the disk.
    path : Path
        The archive.
    """
    scratch.replace(_restored(path))


def end_restore(path: Path) -> None:
    """Put a file that counts as the archive in its place; where there is none, nothing happens.

    Parameters
    ----------
    path : Path
        The archive.
    """
    restored = _restored(path)
    if not restored.exists():
        return
    for end in BESIDE:
        path.with_name(path.name + end).unlink(missing_ok=True)
    with suppress(FileNotFoundError):  # another process was quicker
        restored.replace(path)


def _restored(path: Path) -> Path:
    return path.with_name(f".{path.name}.restored")
