"""What has changed in a session since an earlier comparison of it, in a few words."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from pullbook.capture.session_draft import read_draft
from pullbook.quantities.phrases import listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from pullbook.app.content_key import Seen
    from pullbook.web.earlier import Earlier

__all__ = ["changed_words"]

_MOST: Final = 4  # things that are named; more of them are "several things"
_QUESTION: Final = {
    "units": "the units", "standard": "the standard that is asked for", "of": "the builds that are asked for",
    "from": "the builds that are asked for", "without_bands": "that curves without bands are asked for",
}  # fmt: skip
_SESSION: Final = {
    "title": "the title", "question": "the question", "date": "the date", "dyno": "the dynamometer",
    "bench": "the bench",
    "standard": "the standard", "received": "what the numbers in the files are", "rpm": "the range of speed",
    "inertia": "the inertia", "windows": "the windows", "notes": "the notes",
}  # fmt: skip
_TABLES: Final = {
    "factor": "the factors", "build": "the builds", "claim": "the claims", "engine": "the engine",
    "limits": "the limits",
}  # fmt: skip


def changed_words(
    earlier: Earlier, question: Mapping[str, object], values: Mapping[str, object], seen: Sequence[Seen]
) -> str:
    """Name what has changed since an earlier comparison.

    Parameters
    ----------
    earlier : Earlier
        The comparison.
    question : mapping of str to object
        What is asked now, as `Asked.plain` gives it.
    values : mapping of str to object
        What ``session.toml`` says now.
    seen : sequence of Seen
        State of the files now.

    Returns
    -------
    str
        Things that have changed, as in "pull 3 and the title".
    """
    things = [*dict.fromkeys((
        *(words for key, words in _QUESTION.items() if earlier.question.get(key) != question.get(key)),
        *_in_text(read_draft(earlier.text).values, values), *_files(earlier.seen, seen),
    ))]  # fmt: skip
    if not things:
        return "the session"
    return listed(things) if len(things) <= _MOST else f"{len(things)} things in the session"


def _in_text(before: Mapping[str, object], now: Mapping[str, object]) -> Iterator[str]:
    old, new = _table(before), _table(now)
    for key in dict.fromkeys((*new, *old)):
        if str(old.get(key)) != str(new.get(key)):
            yield _SESSION.get(key, "what is said of the session")
    for key, words in _TABLES.items():
        if str(before.get(key)) != str(now.get(key)):
            yield words
    yield from _pulls(_entries(before), _entries(now))


def _table(values: Mapping[str, object]) -> Mapping[str, Any]:
    found = values.get("session")
    return found if isinstance(found, dict) else {}


def _entries(values: Mapping[str, object]) -> list[object]:
    found = values.get("pull")
    return found if isinstance(found, list) else []


def _pulls(old: list[object], new: list[object]) -> Iterator[str]:
    """One or two lines are named; where lines came, went or moved, it is the run sheet."""
    if len(old) != len(new):
        yield "the run sheet"
        return
    others = [n for n, (one, other) in enumerate(zip(old, new, strict=True), start=1) if str(one) != str(other)]
    moved = len(others) > 1 and sorted(map(str, old)) == sorted(map(str, new))
    if moved or len(others) > 2:
        yield "the run sheet"
    elif others:
        yield f"pull {others[0]}" if len(others) == 1 else f"pulls {others[0]} and {others[1]}"


def _files(before: Sequence[Seen], now: Sequence[Seen]) -> Iterator[str]:
    """Files of the bench that are in both and not the same; the session file comes first and is told of above."""
    known = {one[0]: one for one in before[1:]}
    for one in now[1:]:
        if one[0] in known and known[one[0]] != one:
            yield f"the file {Path(one[0]).name}"
