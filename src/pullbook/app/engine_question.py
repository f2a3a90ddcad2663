"""What was last asked of the virtual engine in a session: kept in its folder, so that every tab shows the same."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.folder import folder_of, inside
from pullbook.app.whole_file import write_whole
from pullbook.errors import FailureError, PullbookError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["EngineQuestion", "keep_question", "question_path", "read_question"]

_NAME: Final = ".pullbook/engine.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineQuestion:
    """What is asked of the virtual engine.

    Attributes
    ----------
    engines : tuple of str
        Names of the engine files whose curves are wanted.
    rpm : str
        Engine speeds of the curves, as in "2000:6500:250"; empty where nobody asked. [rpm]
    fine : bool
        Cells of half the size.
    waves : str
        Name of the engine file whose waves are wanted; empty for none.
    at_rpm : float
        Engine speed of the waves. [rpm]
    """

    engines: tuple[str, ...] = ()
    rpm: str = ""
    fine: bool = False
    waves: str = ""
    at_rpm: float = 0.0


def question_path(folder: Path) -> Path:
    """File that holds the question.

    Raises
    ------
    FileRefusedError
        If a link leads it out of the folder.
    """
    return inside(folder_of(folder), _NAME)


def read_question(folder: Path) -> EngineQuestion:
    """What was last asked; nothing where nobody asked, or where the file cannot be read any more."""
    with suppress(OSError, ValueError, PullbookError):
        found: Any = json.loads(question_path(folder).read_bytes())
        if isinstance(found, dict) and all(_fits(key, value) for key, value in found.items()):
            whole: dict[str, Any] = {**found, "engines": tuple(found.get("engines", ()))}
            return EngineQuestion(**whole)
    return EngineQuestion()


def keep_question(folder: Path, question: EngineQuestion) -> None:
    """Keep what is asked.

    Raises
    ------
    FailureError
        If the folder cannot be written to.
    """
    path = question_path(folder)
    try:
        path.parent.mkdir(exist_ok=True)
        write_whole(path, json.dumps(asdict(question)).encode())
    except OSError as error:
        raise FailureError(f"the folder cannot be written to ({error.strerror})", where=_NAME,
                           remedy="check the free space and the permissions") from error  # fmt: skip


def _fits(key: str, value: object) -> bool:
    known = {one.name: one.default for one in fields(EngineQuestion)}
    if key not in known:
        return False
    if key == "engines":
        return isinstance(value, list) and all(isinstance(one, str) for one in value)
    kind = type(known[key])
    return isinstance(value, kind) or (kind is float and isinstance(value, int) and not isinstance(value, bool))
