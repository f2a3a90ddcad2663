"""Texts that are put aside in ``.pullbook`` of a session folder, and how long they stay there."""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

__all__ = ["HISTORY", "KEPT", "KeptText", "over_of_history", "over_of_kept", "thin_out"]

HISTORY: Final = "history"
"""Folder of the texts before each change."""

KEPT: Final = "kept"
"""Folder of the texts that could not be written because the file had changed meanwhile."""

_NAME: Final = re.compile(r"(?:(?P<of>session)-(?P<number>\d{6,})|(?P<engine>engine[A-Za-z0-9-]*))-[0-9a-f]{16}\.toml")
_DAY: Final = 86_400.0  # s
_DAYS: Final = 90
_MOST_BYTES: Final = 20_000_000
_MOST_CHANGES: Final = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptText:
    """One text that was put aside.

    Attributes
    ----------
    name : str
        Its file.
    of : str
        Which file of the session it is a text of, as "session" or "engines-b".
    written : float
        When it was put aside, in seconds of Unix time. [s]
    number : int
        Its number among those of the same file, where they are counted; 0 elsewhere. [1]
    size : int
        Length. [byte]
    """

    name: str
    of: str
    written: float
    number: int = 0
    size: int = 0


def over_of_history(texts: Sequence[KeptText], latest: KeptText) -> tuple[KeptText, ...]:
    """Former texts that go: all but the last hundred of a kind of file, and of those what is beyond 20 MB.

    Parameters
    ----------
    texts : sequence of KeptText
        All that are there.
    latest : KeptText
        The one that was put aside just now; it stays, and so do those of other kinds of file.

    Returns
    -------
    tuple of KeptText
        Those that go.
    """
    own = [text for text in texts if _kind(text) == _kind(latest) and text != latest]
    own.sort(key=lambda text: (text.number, text.written, text.name), reverse=True)
    staying = set(_within(own[: _MOST_CHANGES - 1], latest.size))
    return tuple(text for text in own if text not in staying)


def over_of_kept(texts: Sequence[KeptText], latest: KeptText) -> tuple[KeptText, ...]:
    """Texts of conflicts that go.

    All of the last 24 hours stay; of each earlier day (UTC) the last text of each file, for 90 days; of what stays,
    the latest 20 MB. Whatever its age and length, the last text of each file stays.

    Parameters
    ----------
    texts : sequence of KeptText
        All that are there.
    latest : KeptText
        The one that was put aside just now; the others are as old as they are older than it.

    Returns
    -------
    tuple of KeptText
        Those that go.

    Examples
    --------
    >>> morning, noon, now = (KeptText(name=f"{hour}", of="session", written=hour * 3600.0) for hour in (8, 12, 48))
    >>> [text.name for text in over_of_kept([morning, noon, now], now)]
    ['8']
    """
    last: set[KeptText] = set()
    ranked: list[KeptText] = []
    files: set[str] = set()
    days: set[tuple[str, float]] = set()
    # By number where a folder was copied and all times are one; the new one is the latest whatever the clock says.
    order = sorted(texts, key=lambda text: (text == latest, text.written, text.number, text.name), reverse=True)
    for text in order:
        day = (text.of, text.written // _DAY)
        if text.of not in files:
            last.add(text)
        elif text.written >= latest.written - (_DAY if day in days else _DAYS * _DAY):
            ranked.append(text)
        files.add(text.of)
        days.add(day)
    staying = last.union(_within(ranked, sum(text.size for text in last)))
    return tuple(text for text in texts if text not in staying)


def thin_out(folder: Path, latest: Path, over: Callable[[Sequence[KeptText], KeptText], Sequence[KeptText]]) -> None:
    """Delete what need not stay beside a text that was put aside just now; what cannot be deleted stays.

    Only files whose names are of pullbook's own form are looked at. The caller holds the lock of the session.

    Parameters
    ----------
    folder : Path
        ``history`` or ``kept``.
    latest : Path
        The new text, whole and on the disk.
    over : callable
        Which of them go.
    """
    with suppress(OSError):  # the next text tries it again; one that is in the way loses nobody's work
        texts = tuple(_found(folder))
        new = next(text for text in texts if text.name == latest.name)
        for text in over(texts, new):
            (folder / text.name).unlink(missing_ok=True)


def _found(folder: Path) -> Iterator[KeptText]:
    for path in folder.iterdir():
        if name := _NAME.fullmatch(path.name):
            there = path.stat()
            yield KeptText(name=path.name, of=name["of"] or name["engine"], written=there.st_mtime,
                           number=int(name["number"] or 0), size=there.st_size)  # fmt: skip


def _within(texts: Sequence[KeptText], taken: int) -> Iterator[KeptText]:
    """As many of them, in their order, as lie within the bytes that are allowed beside those that are taken."""
    total = taken

    def fits(text: KeptText) -> bool:
        nonlocal total
        total += text.size
        return total <= _MOST_BYTES

    return takewhile(fits, texts)


def _kind(text: KeptText) -> str:
    return "session" if text.of == "session" else "engine"
