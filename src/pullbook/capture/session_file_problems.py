"""All that is wrong or missing in a session file, each with its place and its line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file import parse_session
from pullbook.errors import InputError, UnfinishedError
from pullbook.quantities.toml_lines import line_of
from pullbook.records.draft import Problem

if TYPE_CHECKING:
    from pullbook.records.session import Session

__all__ = ["find_problems", "judge"]

_FILE: Final = "session.toml"


def find_problems(text: str) -> tuple[Problem, ...]:
    """Problems of a session file, in the order in which the parser meets them.

    Parameters
    ----------
    text : str
        The whole file.

    Returns
    -------
    tuple of Problem
        Empty if, and only if, `parse_session` passes; its first error is among them.
    """
    return judge(text)[1]


def judge(text: str) -> tuple[Session | None, tuple[Problem, ...]]:
    """Session of a text, or its problems."""
    try:
        return parse_session(text, where=_FILE), ()
    except InputError as error:
        return None, (_problem(error, text),)


def _problem(error: InputError, text: str) -> Problem:
    at = error.where.partition(": ")[2]
    row, named = _row(at)
    if named:
        at = ""
    else:
        row = line_of(text, at) if at else 0
    where = f"{_FILE}, line {row}" + (f": {at}" if at else "") if row else error.where
    said = InputError(error.what, where=where, value=error.value, remedy=error.remedy)
    return Problem(
        what=error.what, where=where, value=error.value, remedy=error.remedy, at=at, line=row,
        unfinished=isinstance(error, UnfinishedError),
        elsewhere=isinstance(error, UnfinishedError) and error.elsewhere,
        says=str(said),
    )  # fmt: skip


def _row(at: str) -> tuple[int, bool]:
    """Line that a syntax error names itself."""
    if not at.startswith("line "):
        return 0, False
    return int(at.removeprefix("line ").partition(",")[0]), True
