"""Draft and Problem: a session file as it is being written, and all that is wrong or missing in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.errors import Remedy
    from pullbook.records.session import Session

__all__ = ["Draft", "Problem"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong in a session file, or not there yet.

    Attributes
    ----------
    what, where, value, remedy : str
        As in `pullbook.errors.PullbookError`; `where` names the file and the line.
    at : str
        Key path with entries counted from 1, as in ``pull[3].air.pressure``; empty where no key is meant.
    line : int
        Line of the file, from 1; 0 where none is meant. [1]
    unfinished : bool
        Nothing wrong stands there: something that has to be there is not there yet.
    elsewhere : bool
        What is not there yet belongs into another table than `at`, as the pulls of a build.
    says : str
        All of it as one sentence.
    coded : Remedy or None
        The remedy where each shell has words of its own for it.
    """

    what: str
    where: str
    value: str
    remedy: str
    at: str
    line: int
    unfinished: bool = False
    elsewhere: bool = False
    says: str = ""
    coded: Remedy | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A session file as it stands, sound or not.

    Attributes
    ----------
    text : str
        The whole file.
    revision : str
        Tells this text from every other: the first 16 digits of the SHA-256 of its bytes.
    values : mapping of str to object
        What the file says, as plain tables, lists, text, numbers and truth values; dates and times as ISO text.
        Empty where the file is no TOML.
    problems : tuple of Problem
        All that is wrong or missing, in the order of the file.
    session : Session or None
        The session, where nothing is wrong or missing.
    """

    text: str
    revision: str
    values: Mapping[str, object]
    problems: tuple[Problem, ...]
    session: Session | None
