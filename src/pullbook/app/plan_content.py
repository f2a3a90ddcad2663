"""What a plan and a look on the way rest on: the names under which their results are kept."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, TypeAlias

from pullbook.app.content_key import content_key, seen_behind
from pullbook.app.edit_session import open_draft
from pullbook.app.folder import folder_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from pullbook.app.content_key import Seen
    from pullbook.app.plan_asked import PlanAsked

__all__ = ["Looked", "look_key", "looked_at", "plan_basis", "pulls_there", "pulls_to_come"]

Looked: TypeAlias = "tuple[str, tuple[Seen, ...]]"
"""What a look looks at: the session without its looks, and the files of its pulls."""


def pulls_there(folder: Path, values: Mapping[str, Any]) -> tuple[int, int]:
    """How many pulls of the run order have a file, and how many are still to be made. [1].

    Parameters
    ----------
    folder : Path
        The session folder.
    values : mapping
        What its file says; it may be unfinished.
    """
    names = _named(values)
    waiting = set(pulls_to_come(folder, values))
    made = sum(name not in waiting for name in names)
    return made, len(names) - made


def pulls_to_come(folder: Path, values: Mapping[str, Any]) -> tuple[str, ...]:
    """Files that the run order names and that are not there, each once.

    Parameters
    ----------
    folder : Path
        The session folder.
    values : mapping
        What its file says; it may be unfinished.
    """
    root = folder_of(folder)
    return tuple(name for name in dict.fromkeys(_named(values)) if not _is_there(root, name))


def _named(values: Mapping[str, Any]) -> list[str]:
    """File of each pull of the run order."""
    entries = values.get("pull")
    names = [one.get("file") for one in (entries if isinstance(entries, list) else ()) if isinstance(one, dict)]
    return [name for name in names if isinstance(name, str) and name]


def plan_basis(folder: Path, values: Mapping[str, Any]) -> str:
    """What a plan rests on, in short: the same before and after one of its orders is taken.

    That is the session without its run order, and the pulls that were made where there are any: they say how large the
    torque is.

    Parameters
    ----------
    folder : Path
        The session folder.
    values : mapping
        What its file says.
    """
    rest = {key: value for key, value in _unlooked(values).items() if key != "pull"}
    made = pulls_there(folder, values)[0]
    return _as_text([rest, looked_at(folder) if made else ""])


def look_key(folder: Path, asked: PlanAsked, build: str = "") -> str:
    """Name of a look at a session as it stands, its looks included.

    Parameters
    ----------
    folder : Path
        The session folder.
    asked : PlanAsked
        What is asked; time and odds are those of the plan and say nothing here, and of the archive only whether it was
        asked, because a look is an event: what was seen stays.
    build : str
        As `content_key` takes it.

    Returns
    -------
    str
        SHA-256, hexadecimal.
    """
    taught = ("archive",) if asked.archive else ()
    return content_key(folder, ("look", asked.resolve, asked.of, asked.from_, *taught), build=build)


def looked_at(folder: Path) -> Looked:
    """Everything that a look rests on, as it is now; that the look itself is written changes nothing of it.

    Parameters
    ----------
    folder : Path
        The session folder.
    """
    text = _as_text(_unlooked(open_draft(folder).values))
    return text, seen_behind(content_key(folder, ("looked at",)))[1:]


def _unlooked(values: Mapping[str, Any]) -> dict[str, Any]:
    plan = values.get("plan")
    if not isinstance(plan, dict):
        return dict(values)
    left = {key: value for key, value in plan.items() if key != "looks"}
    rest = {key: value for key, value in values.items() if key != "plan"}
    return {**rest, "plan": left} if left else rest


def _as_text(values: object) -> str:
    return json.dumps(values, sort_keys=True, default=str)


def _is_there(root: Path, name: str) -> bool:
    try:
        return (root / name).exists()
    except (OSError, ValueError):  # a name with a zero byte, or too long
        return False
