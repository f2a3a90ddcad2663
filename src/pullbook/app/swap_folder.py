"""A folder of ours is replaced whole: a process that is killed leaves the old one or the new one, never a mixture.

The new folder is made beside the old one; then the old one steps aside and the new one takes its name. Whoever is
killed between these two steps leaves the old one aside, and the next look puts it back.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

__all__ = ["mend_folder", "replace_folder"]


def replace_folder(goal: Path, files: Iterable[tuple[str, bytes]], *, ours: Collection[str]) -> list[Path]:
    """Replace a folder by one with the given files.

    Parameters
    ----------
    goal : Path
        The folder; made if it is not there.
    files : iterable of (str, bytes)
        Relative names with forward slashes, and contents.
    ours : collection of str
        Names that were written here before: they go, unless they are among `files`. Everything else in the folder is
        somebody's own and is taken along.

    Returns
    -------
    list of Path
        What was written.

    Raises
    ------
    FailureError
        If the disk is full or the folder cannot be written to; the folder is as it was.
    """
    try:
        mend_folder(goal)
        goal.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{goal.name}-new-", dir=goal.parent) as scratch:
            fresh = Path(scratch) / goal.name
            fresh.mkdir()
            names = [_written(fresh, name, content) for name, content in files]
            _take_along(goal, fresh, {*names, *ours})
            _swap(fresh, goal)
    except OSError as error:
        raise FailureError(
            f"the folder cannot be written to ({error.strerror})", where=goal.name,
            remedy="check the free space and the permissions; what was there is unchanged",
        ) from error  # fmt: skip
    return [goal / name for name in names]


def mend_folder(goal: Path) -> None:
    """Put a folder back that a killed process left aside; where none was left, nothing happens."""
    aside = _aside(goal)
    if aside.is_dir() and not goal.exists():
        aside.rename(goal)


def _aside(goal: Path) -> Path:
    return goal.with_name(f".{goal.name}-before")


def _written(folder: Path, name: str, content: bytes) -> str:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return name


def _take_along(old: Path, fresh: Path, known: Collection[str]) -> None:
    for path in old.rglob("*") if old.is_dir() else ():
        name = path.relative_to(old).as_posix()
        if path.is_file() and not path.is_symlink() and name not in known:
            (fresh / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(path, fresh / name)


def _swap(fresh: Path, goal: Path) -> None:
    aside = _aside(goal)
    shutil.rmtree(aside, ignore_errors=True)
    if goal.exists():
        goal.rename(aside)
    try:
        fresh.rename(goal)
    except OSError:
        mend_folder(goal)
        raise
    shutil.rmtree(aside, ignore_errors=True)
