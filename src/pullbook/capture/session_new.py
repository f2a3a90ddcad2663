"""The text of a fresh session file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.capture.session_edit_places import plain_value
from pullbook.capture.session_edit_values import value_text
from pullbook.capture.session_file_problems import find_problems
from pullbook.errors import InputError

if TYPE_CHECKING:
    from datetime import date

    from pullbook.records.draft import Problem

__all__ = ["new_session"]

_REMARKS: Final = {
    "standard": 'what the findings are corrected to; "none" leaves them as observed',
    "received": "what the numbers in the files are corrected to already",
}


def new_session(
    title: str,
    question: str = "",
    *,
    date: date | None = None,
    dyno: str = "engine",
    standard: str = "SAE J1349",
    received: str = "observed",
) -> str:
    """Text of the session file of a test of which nothing is known yet but its title.

    Parameters
    ----------
    title : str
        One line for the head of the page.
    question : str
        What the session is made to find out; empty for none.
    date : date or None
        The day.
    dyno : str
        ``engine`` or ``chassis``.
    standard : str
        What the findings are corrected to.
    received : str
        What the numbers in the files were already corrected to.

    Returns
    -------
    str
        The text; it lacks builds and pulls, and nothing in it is wrong.

    Raises
    ------
    InputError
        If one of the values is wrong.

    Examples
    --------
    >>> print(new_session("Two headers on a 2.2 litre four"))
    [session]
    title = "Two headers on a 2.2 litre four"
    dyno = "engine"
    standard = "SAE J1349"  # what the findings are corrected to; "none" leaves them as observed
    received = "observed"   # what the numbers in the files are corrected to already
    <BLANKLINE>
    [engine]
    <BLANKLINE>
    """
    given: dict[str, object] = {
        "title": title, "question": question or None, "date": date, "dyno": dyno, "standard": standard,
        "received": received,
    }  # fmt: skip
    lines = {
        key: f"{key} = {value_text(plain_value(('session', key), value))}"
        for key, value in given.items()
        if value is not None
    }
    width = max(len(lines[key]) for key in _REMARKS) + 2
    written = [f"{line:<{width}}# {_REMARKS[key]}" if key in _REMARKS else line for key, line in lines.items()]
    text = "\n".join(["[session]", *written, "", "[engine]", ""])
    wrong = next((problem for problem in find_problems(text) if not problem.unfinished), None)
    if wrong is not None:
        raise _refusal(wrong)
    return text


def _refusal(problem: Problem) -> InputError:
    where = f"session.toml: {problem.at}"
    return InputError(problem.what, where=where, value=problem.value, remedy=problem.coded or problem.remedy)
