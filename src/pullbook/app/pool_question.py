"""The change whose effect is pooled, from words: "primaries 44 mm from 48 mm", "primaries +3 mm"."""

from __future__ import annotations

import re
from typing import Final

from pullbook.app.archive_question import archive_question
from pullbook.errors import InputError
from pullbook.records.pooled import ChangeAsked

__all__ = ["change_asked"]

_FROM: Final = re.compile(r"\bfrom\b", re.IGNORECASE)
_SMALLER: Final = frozenset({"smaller", "shorter", "narrower", "lower", "less", "retarded", "later"})
_NONE: Final = archive_question("")


def change_asked(text: str) -> ChangeAsked:
    """Change from the words in which it is asked for.

    Parameters
    ----------
    text : str
        What it is changed to and from, or a part and by how much it differs.

    Raises
    ------
    InputError
        If the words name no change.

    Examples
    --------
    >>> asked = change_asked("primaries 44 mm from 48 mm")
    >>> asked.to.words, asked.to.dimensions[0].written, asked.from_.dimensions[0].written, asked.step
    (('primaries',), '44 mm', '48 mm', 0)
    >>> [change_asked(text).step for text in ("primaries +3 mm", "primaries -3 mm", "3 mm smaller primaries")]
    [1, -1, -1]
    """
    sides = _FROM.split(text)
    if len(sides) == 1:
        one = archive_question(text)
        steps = tuple(dimension for dimension in one.dimensions if dimension.difference)
        if not steps:
            raise _no_change(text)
        words = {word.strip(".,;:!?()\"'").lower() for word in text.split()}
        shrinks = words & _SMALLER or steps[0].written.lstrip()[0] in "-\u2212"
        return ChangeAsked(written=text, to=one, from_=_NONE, step=-1 if shrinks else 1)
    to, from_ = archive_question(sides[0]), archive_question(sides[1])
    stated = [bool(side.words or side.dimensions) for side in (to, from_)]
    if len(sides) != 2 or not all(stated):
        raise _no_change(text)
    return ChangeAsked(written=text, to=to, from_=from_, step=0)


def _no_change(text: str) -> InputError:
    return InputError("these words name no change", where="--pool", value=text,
                      remedy='write for example "primaries 44 mm from 48 mm", "header 4-2-1 from 4-1", or '
                             '"primaries +3 mm"')  # fmt: skip
