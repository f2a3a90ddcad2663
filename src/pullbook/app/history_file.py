"""A file that an earlier comparison wrote teaches as its archive did."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from pullbook.app.folder import read_bytes
from pullbook.app.learn_history import beliefs_of
from pullbook.errors import InputError
from pullbook.records.taught import HISTORY, Taught

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.app.learn_history import Teacher

__all__ = ["from_file"]


def from_file(path: Path) -> Teacher:
    """Teacher that knows what a comparison with an archive wrote: its history, or findings with one in them.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    InputError
        If there is nothing of the kind in it.
    """
    taught = _read(path)
    return lambda session, pulls: taught  # noqa: ARG005 - whatever the session is


def _read(path: Path) -> Taught:
    wrong = InputError("this is no history of a bench", where="--history", value=path.name,
                       remedy="give the findings.json of a comparison with --archive")  # fmt: skip
    try:
        content: Any = json.loads(bytes(read_bytes(path, path.name)))
        found = content.get("provenance", {}).get("history", content)
        if found.get("schema") != HISTORY:
            raise wrong
        beliefs, sessions = found["beliefs"], found["sessions"]
        says = tuple(str(line) for line in found["says"])
        if not isinstance(sessions, int):
            raise wrong
        return Taught(sessions=sessions, beliefs=beliefs_of(beliefs, path.name) if beliefs else {}, says=says)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise wrong from error
