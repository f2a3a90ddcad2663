"""All that is wrong or missing in a session file, each with its place and its line."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file import judge_session
from pullbook.errors import InputError, UnfinishedError
from pullbook.quantities.toml_lines import line_of
from pullbook.records.draft import Problem

if TYPE_CHECKING:
    from pullbook.records.session import Session

__all__ = ["find_problems", "judged"]

_FILE: Final = "session.toml"
_ROW: Final = re.compile(r"line (\d+), column \d+")


def find_problems(text: str) -> tuple[Problem, ...]:
    r"""Problems of a session file, by line.

    Parameters
    ----------
    text : str
        The whole file.

    Returns
    -------
    tuple of Problem
        Empty if, and only if, `parse_session` passes; its first error is among them.

    Examples
    --------
    >>> for problem in find_problems('[session]\ntitle = "One header"\ndate = "4 May"\n'):
    ...     print(problem.line, problem.at, problem.unfinished)
    0  True
    0  True
    1 session.standard True
    3 session.date False
    """
    return judged(text)[1]


def judged(text: str) -> tuple[Session | None, tuple[Problem, ...]]:
    """Session that a text declares, or its problems by line."""
    session, errors = judge_session(text, where=_FILE)
    return session, tuple(sorted((_problem(error, text) for error in errors), key=lambda problem: problem.line))


def _problem(error: InputError, text: str) -> Problem:
    at = error.where.partition(": ")[2]
    row = _ROW.fullmatch(at)
    if row is not None:  # no TOML: the error names its line itself
        at, line, where = "", int(row[1]), error.where
    else:
        line = line_of(text, at) if at else 0
        where = f"{_FILE}, line {line}: {at}" if line else error.where
    return Problem(
        what=error.what,
        where=where,
        value=error.value,
        remedy=error.remedy,
        at=at,
        line=line,
        unfinished=isinstance(error, UnfinishedError),
        elsewhere=isinstance(error, UnfinishedError) and error.elsewhere,
        says=str(InputError(error.what, where=where, value=error.value, remedy=error.remedy)),
        coded=error.coded,
    )
