"""Writing of ``session.toml``: whole or not at all, one writer at a time, with the former text kept."""

from __future__ import annotations

import os
import stat
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.app.folder import folder_of, inside
from pullbook.app.kept_texts import HISTORY, KEPT, over_of_history, over_of_kept, thin_out
from pullbook.app.session_lock import locked
from pullbook.app.whole_file import write_whole
from pullbook.capture.session_draft import revision_of
from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Generator

__all__ = ["former_text", "keep_text", "one_writer", "write_session_text"]

_FILE: Final = "session.toml"
_OWN: Final = ".pullbook"


@contextmanager
def one_writer(folder: Path) -> Generator[None]:
    """Keep every other writer out of a session folder.

    Parameters
    ----------
    folder : Path
        The folder, or its ``session.toml``.

    Raises
    ------
    FailureError
        If another program is writing, or the folder cannot be written to.
    """
    with locked(_own(folder) / "lock"):
        yield


def write_session_text(folder: Path, text: str, *, before: str) -> None:
    """Put another text in place of a session file; the former one is kept in ``.pullbook/history``.

    The caller holds `one_writer`. Whoever reads at the same time, or after a crash, finds the old text or the new
    one, never a part of one.

    Parameters
    ----------
    folder : Path
        The folder, or its ``session.toml``.
    text : str
        The new text.
    before : str
        The text that stands there.

    Raises
    ------
    FailureError
        If the disk is full or the folder cannot be written to; the file is as it was.
    """
    goal = Path(os.path.realpath(inside(folder_of(folder), _FILE)))
    with _said(goal):
        _sweep(goal.parent)
        mode = stat.S_IMODE(goal.stat().st_mode)
        former = _keep(_own(folder) / HISTORY, before, mode=mode)
        thin_out(former.parent, former, over_of_history)
        write_whole(goal, text.encode("utf-8"))


def keep_text(folder: Path, text: str) -> str:
    """Put a text aside in ``.pullbook/kept``, and say under which name below the folder; older ones may go for it.

    The caller holds `one_writer`.

    Raises
    ------
    FailureError
        If it cannot be written.
    """
    own = _own(folder)
    with _said(own):
        mode = stat.S_IMODE(inside(folder_of(folder), _FILE).stat().st_mode)
        kept = _keep(own / KEPT, text, mode=mode)
        thin_out(kept.parent, kept, over_of_kept)
        return f"{_OWN}/{KEPT}/{kept.name}"


def former_text(folder: Path, revision: str) -> str | None:
    """Text that a session file had in a former revision, if it is kept."""
    for path in _numbered(_own(folder) / HISTORY):
        if path.stem.endswith(f"-{revision}"):
            with suppress(OSError, UnicodeDecodeError):
                return path.read_bytes().decode("utf-8")
    return None


def _own(folder: Path) -> Path:
    return inside(folder_of(folder), _OWN)


@contextmanager
def _said(place: Path) -> Generator[None]:
    try:
        yield
    except OSError as error:
        raise FailureError(
            f"the file cannot be written ({error.strerror or error})", where=str(place),
            remedy="check the free space and the permissions; what was there is unchanged",
        ) from error  # fmt: skip


def _keep(folder: Path, text: str, *, mode: int) -> Path:
    """Put a text aside under the next number."""
    folder.mkdir(parents=True, exist_ok=True)
    _sweep(folder)
    there = _numbered(folder)
    number = int(there[-1].stem.split("-")[1]) + 1 if there else 1
    path = folder / f"session-{number:06d}-{revision_of(text)}.toml"
    write_whole(path, text.encode("utf-8"), mode=mode)
    return path


def _numbered(folder: Path) -> list[Path]:
    return sorted(folder.glob("session-[0-9][0-9][0-9][0-9][0-9][0-9]-*.toml"))


def _sweep(folder: Path) -> None:
    """Take away what a writer left that was killed; nobody else writes now."""
    for begun in folder.glob(f".session*.toml-{'[0-9a-f]' * 12}"):
        begun.unlink(missing_ok=True)
