"""Answers about a folder into which somebody writes: asked for again where files changed while they were read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeVar

from pullbook.errors import PullbookError

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

__all__ = ["FILES_CHANGED", "ChangedError", "while_unchanged"]

FILES_CHANGED: Final = {
    "what": "files of the session changed while they were read", "where": "", "value": "",
    "remedy": "run it again when no program writes into the folder",
}  # fmt: skip
"""What a job says of it."""
_TIMES: Final = 5
_Answer = TypeVar("_Answer")


class ChangedError(PullbookError):
    """Files changed while they were read, so that nothing can be said of them."""


async def while_unchanged(ask: Callable[[], Awaitable[_Answer]]) -> _Answer:
    """Answer about files as they stand; one that was overtaken by a change is asked for again, a few times.

    Parameters
    ----------
    ask : callable
        Looks at the files anew each time.

    Raises
    ------
    ChangedError
        If they change each time.
    """
    for _ in range(_TIMES - 1):
        try:
            return await ask()
        except ChangedError:
            continue
    return await ask()
