"""What was last asked about a session, kept as a small JSON file in its folder, so that every tab shows the same."""

from __future__ import annotations

import json
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from pullbook.app.folder import folder_of, inside
from pullbook.app.whole_file import write_whole
from pullbook.errors import FailureError, PullbookError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["keep_asked", "last_asked", "last_asked_path"]


def last_asked_path(folder: Path, name: str) -> Path:
    """File that holds what was asked.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    name : str
        File in it, as in ".pullbook/plan.json".

    Raises
    ------
    FileRefusedError
        If a link leads it out of the folder.
    """
    return inside(folder_of(folder), name)


def last_asked(folder: Path, name: str) -> dict[str, Any] | None:
    """What was last asked; None where nobody asked, or where the file cannot be read any more.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    name : str
        File in it.
    """
    with suppress(OSError, ValueError, PullbookError):
        found: object = json.loads(last_asked_path(folder, name).read_bytes())
        if isinstance(found, dict):
            return found
    return None


def keep_asked(folder: Path, name: str, words: Mapping[str, object]) -> None:
    """Keep what is asked.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    name : str
        File in it.
    words : mapping of str to object
        Plain data that JSON can carry.

    Raises
    ------
    FailureError
        If the folder cannot be written to.
    """
    path = last_asked_path(folder, name)
    try:
        path.parent.mkdir(exist_ok=True)
        write_whole(path, json.dumps(dict(words)).encode())
    except OSError as error:
        raise FailureError(f"the folder cannot be written to ({error.strerror})", where=name,
                           remedy="check the free space and the permissions") from error  # fmt: skip
