"""``session.toml`` of a session that begins: what a person would write first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.capture.session_edit import Edit, edit_session
from pullbook.errors import SessionFileError

if TYPE_CHECKING:
    from datetime import date

__all__ = ["new_session"]

_BEGINNING: Final = """\
[session]
title = "..."
dyno = "engine"
standard = "SAE J1349"
received = "observed"
"""


def new_session(title: str, *, question: str = "", day: date | None = None) -> str:
    r"""Text of a session file that has a title and no builds yet.

    Parameters
    ----------
    title : str
        Its title.
    question : str
        What it is to find out; may have several lines.
    day : date or None
        Its day.

    Returns
    -------
    str
        The file.

    Raises
    ------
    SessionFileError
        If the title is blank, or has several lines.

    Examples
    --------
    >>> print(new_session("Two headers", question="Which is it?").partition("dyno")[0])
    [session]
    title = "Two headers"
    question = "Which is it?"
    <BLANKLINE>
    """
    if not title.strip():
        raise SessionFileError("the title is empty", where="title", remedy="say in one line what is tested")
    if not title.strip().isprintable():
        raise SessionFileError("a title is one line without control characters", where="title", remedy="write one line")
    edits = [Edit("set", "session.title", title.strip())]
    if question.strip():
        edits.append(Edit("set", "session.question", question.strip()))
    if day is not None:
        edits.append(Edit("set", "session.date", day.isoformat()))
    return edit_session(_BEGINNING, edits)
