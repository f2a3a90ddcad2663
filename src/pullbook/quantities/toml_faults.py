"""Faults: what is wrong in a file, raised at the first thing or collected to the last."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pullbook.errors import InputError

__all__ = ["Faults"]

_END: Final = re.compile(r"[.\[]")


class Faults:
    """Takes the errors of a file: raises the first one, or goes on and keeps them all.

    Of two errors about one key only the first is kept: the second follows from it.

    Parameters
    ----------
    going_on : bool
        Keep errors instead of raising the first one.

    Examples
    --------
    >>> from pullbook.errors import SessionFileError
    >>> faults = Faults(going_on=True)
    >>> faults.take(SessionFileError("the text is empty", where="session.toml: session.title"))
    >>> faults.take(SessionFileError("something that follows from it", where="session.toml: session.title"))
    >>> [error.what for error in faults.kept], faults.failed("session.toml: session")
    (['the text is empty'], True)
    """

    def __init__(self, *, going_on: bool = False) -> None:
        self._going_on = going_on
        self._kept: dict[tuple[str, str], InputError] = {}
        self._above: set[str] = set()

    @property
    def kept(self) -> tuple[InputError, ...]:
        """Errors in the order in which they were met."""
        return tuple(self._kept.values())

    def take(self, error: InputError) -> None:
        """Raise an error, or keep it.

        Raises
        ------
        InputError
            That error, if nobody wants to go on.
        """
        if not self._going_on:
            raise error
        a_key = ": " in error.where
        self._kept.setdefault((error.where, "" if a_key else error.what), error)
        self._above.update((error.where, *(error.where[: end.start()] for end in _END.finditer(error.where))))

    def failed(self, place: str) -> bool:
        """Whether an error was kept about a place or something below it."""
        return place in self._above
