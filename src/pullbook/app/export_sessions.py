"""remember --export: sessions of the archive -> folders that anyone can check."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pullbook.app.checksums import DESCRIPTOR, SUMS, named_sums
from pullbook.app.open_data import exported_files, rights_of, slug
from pullbook.app.swap_folder import replace_folder
from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.app.ports import Archive, Progress
    from pullbook.records.kept_session import KeptSession

__all__ = ["ExportedSession", "export_sessions"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportedSession:
    """A session that was written.

    Attributes
    ----------
    session, title : str
        Its name in the archive, and its title.
    revision : int
        Which revision was written.
    folder : str
        Where it is.
    files : int
        Number of files.
    size : int
        Length of all files. [byte]
    licence : str
        As declared; empty where none was.
    """

    session: str
    title: str
    revision: int
    folder: str
    files: int
    size: int
    licence: str


def export_sessions(
    archive: Archive, goal: Path, sessions: Sequence[str], progress: Progress, *, replace: bool, apart: bool
) -> tuple[ExportedSession, ...]:
    """Write sessions into folders, each whole or not at all.

    Parameters
    ----------
    archive : Archive
        Where they are.
    goal : Path
        The folder of the session; or, where each has one of its own, the folder of all.
    sessions : sequence of str
        Their names, or the beginnings of them.
    progress : Progress
        Is told how far the work is.
    replace : bool
        Whether an export that is there may be replaced; files of others in the folder stay.
    apart : bool
        Whether each has a folder of its own inside.

    Raises
    ------
    InputError
        If there is no such session, or something is in the way.
    FailureError
        If something kept is damaged, or the disk failed.
    """
    if goal.exists() and not goal.is_dir():
        raise InputError("a file is in the way of the folder", where=str(goal), remedy="choose another name for it")
    done: list[ExportedSession] = []
    for number, name in enumerate(sessions):
        progress.step("exporting", number, len(sessions))
        kept = archive.take_out(name)
        done.append(_written(kept, goal / _folder_name(kept) if apart else goal, replace=replace))
    progress.step("exporting", len(sessions), len(sessions))
    return tuple(done)


def _folder_name(kept: KeptSession) -> str:
    day = kept.corrections.get("date", kept.content["date"] or "") or "undated"
    title = slug(kept.corrections.get("title", kept.content["title"]))[:40].strip("-")
    return "-".join(part for part in (day, title, kept.session) if part)


def _written(kept: KeptSession, goal: Path, *, replace: bool) -> ExportedSession:
    if Path.cwd().is_relative_to(os.path.realpath(goal)):
        raise InputError("this is the folder that you are in, and an export makes a folder of its own", where=str(goal),
                         remedy="name another one, as 'open-data'")  # fmt: skip
    files = exported_files(kept)
    if goal.is_dir() and any(goal.iterdir()) and not replace:
        raise InputError("the folder is not empty", where=str(goal), remedy="choose another one, or add --replace")
    before = _exported_before(goal)
    _demand_replaceable(goal, [name for name in files if name not in before])
    replace_folder(goal, files.items(), ours=before)
    return ExportedSession(
        session=kept.session, title=kept.corrections.get("title", kept.content["title"]), revision=kept.revision,
        folder=str(goal), files=len(files), size=sum(map(len, files.values())), licence=rights_of(kept).licence,
    )  # fmt: skip


def _exported_before(goal: Path) -> list[str]:
    """Files that an export wrote; none where the checksums in the folder are somebody's own."""
    sums = named_sums(goal) if goal.is_dir() else {}
    return [*sums, SUMS] if DESCRIPTOR in sums else []


def _demand_replaceable(goal: Path, names: Sequence[str]) -> None:
    """Refuse to write over a file that no export wrote."""
    for name in names:
        if os.path.lexists(goal / name):
            raise InputError("this file is none of an export and would be replaced", where=str(goal / name),
                             remedy="choose another folder, or move the file away")  # fmt: skip
