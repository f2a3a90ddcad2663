"""Session folder -> Session and the pull of every entry of its run order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from pullbook.app.folder import folder_of, inside, read_session_text
from pullbook.app.read_pulls import CapturedFile, capture_file, only_pull
from pullbook.capture.session_file import parse_session
from pullbook.errors import FileRefusedError, SessionFileError
from pullbook.quantities.toml_lines import lines_named
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.app.ports import Progress
    from pullbook.records.declaration import ColumnRule, PullEntry
    from pullbook.records.pull import Pull
    from pullbook.records.session import Session

__all__ = ["LoadedSession", "load_made", "load_session"]

_FILE: Final = "session.toml"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadedSession:
    """What was declared, and what the files hold.

    Attributes
    ----------
    session : Session
        What was declared.
    pulls : tuple of Pull
        The pull of every entry of ``session.pulls``, in the same order.
    """

    session: Session
    pulls: tuple[Pull, ...]


def load_session(folder: Path, progress: Progress) -> LoadedSession:
    """Read a session folder.

    Parameters
    ----------
    folder : Path
        The folder, or its ``session.toml``.
    progress : Progress
        Is told of every file.

    Returns
    -------
    loaded : LoadedSession
        Declarations and pulls.

    Raises
    ------
    InputError
        If the session file or any pull file is wrong.
    """
    text = read_session_text(folder)
    with lines_named(text, _FILE):
        return _load(parse_session(text), folder, progress)


def load_made(session: Session, folder: Path, progress: Progress) -> LoadedSession:
    """Read the pulls of a session that have files; the others are still to be made.

    Parameters
    ----------
    session : Session
        What was declared.
    folder : Path
        The folder, or its ``session.toml``.
    progress : Progress
        Is told of every file.

    Returns
    -------
    LoadedSession
        The session with the pulls that were made.

    Raises
    ------
    InputError
        If a file is wrong.
    """
    root = folder_of(folder)
    made = tuple(entry for entry in session.pulls if (root / entry.file).exists())
    return _load(replace(session, pulls=made), folder, progress)


def _load(session: Session, folder: Path, progress: Progress) -> LoadedSession:
    root = folder_of(folder)
    _files_there(session, root)
    captured: dict[tuple[str, tuple[ColumnRule, ...]], CapturedFile] = {}
    pulls: list[Pull] = []
    for number, entry in enumerate(session.pulls, start=1):
        progress.step(f"reading {entry.file}", number - 1, len(session.pulls))
        rules = _rules(session, entry)
        key = (entry.file, rules)
        if key not in captured:
            captured[key] = capture_file(inside(root, entry.file), entry.file, rules)
        pulls.append(only_pull(captured[key], entry.which, f"{_FILE}: pull[{number}]"))
    progress.step("reading", len(session.pulls), len(session.pulls))
    _one_kind_of_torque(session, pulls)
    return LoadedSession(session=session, pulls=tuple(pulls))


def _files_there(session: Session, root: Path) -> None:
    """Refuse a session that is still to be run, or whose files are elsewhere, in one sentence for all of them."""
    missing = [number for number, entry in enumerate(session.pulls, start=1) if not (root / entry.file).exists()]
    if len(missing) > 1:
        raise FileRefusedError(
            f"{len(missing)} of {len(session.pulls)} pulls have no file yet", where=f"{_FILE}: pull[{missing[0]}].file",
            value=session.pulls[missing[0] - 1].file,
            remedy="put the files of the bench there under these names, or correct the names",
        )  # fmt: skip


def _rules(session: Session, entry: PullEntry) -> tuple[ColumnRule, ...]:
    """Rules of the session, each replaced by that of the file where it has one."""
    own = {rule.channel for rule in entry.columns}
    return (*entry.columns, *(rule for rule in session.columns if rule.channel not in own))


def _one_kind_of_torque(session: Session, pulls: list[Pull]) -> None:
    """Refuse a session in which some torque is calibrated and some is a bare signal."""
    kinds = {pull.torque_kind for pull in pulls}
    if len(kinds) > 1:
        odd = next(n for n, pull in enumerate(pulls) if pull.torque_kind is TorqueKind.RELATIVE)
        raise SessionFileError(
            "this file has an uncalibrated signal while others have torque, and the two cannot be compared",
            where=f"{_FILE}: pull[{odd + 1}], {session.pulls[odd].file}",
            remedy="use the torque column of every file, or the signal of every file",
        )
