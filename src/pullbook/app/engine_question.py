"""What was last asked of the virtual engine in a session: kept in its folder, so that every tab shows the same."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.last_asked import keep_asked, last_asked, last_asked_path

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
    return last_asked_path(folder, _NAME)


def read_question(folder: Path) -> EngineQuestion:
    """What was last asked; nothing where nobody asked, or where the file cannot be read any more."""
    found = last_asked(folder, _NAME)
    if found is None or not all(_fits(key, value) for key, value in found.items()):
        return EngineQuestion()
    whole: dict[str, Any] = {**found, "engines": tuple(found.get("engines", ()))}
    return EngineQuestion(**whole)


def keep_question(folder: Path, question: EngineQuestion) -> None:
    """Keep what is asked.

    Raises
    ------
    FailureError
        If the folder cannot be written to.
    """
    keep_asked(folder, _NAME, asdict(question))


def _fits(key: str, value: object) -> bool:
    known = {one.name: one.default for one in fields(EngineQuestion)}
    if key not in known:
        return False
    if key == "engines":
        return isinstance(value, list) and all(isinstance(one, str) for one in value)
    kind = type(known[key])
    return isinstance(value, kind) or (kind is float and isinstance(value, int) and not isinstance(value, bool))
