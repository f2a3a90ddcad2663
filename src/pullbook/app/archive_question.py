"""A question to the archive from the words in which it is asked: "primaries +3 mm", "1/8 in bigger primaries"."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Final

from pullbook.errors import InputError
from pullbook.quantities.free_quantity import quantity_at
from pullbook.records.archive_answer import ArchiveQuestion, DimensionAsked

if TYPE_CHECKING:
    from pullbook.quantities.free_quantity import FreeQuantity

__all__ = ["archive_question", "day_of"]

_WORD: Final = re.compile(r"[^\s,;:]+")
_START: Final = re.compile(r"(?<![\w./-])[-+\u2212\d]")
_RANGE: Final = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?)\s*\.\.\s*(?=\d)")
_STEP: Final = frozenset({
    "bigger", "larger", "longer", "wider", "higher", "more", "smaller", "shorter", "narrower", "lower", "less", "step",
    "difference", "advanced", "retarded", "later", "earlier", "by",
})  # fmt: skip
_PASSED_OVER: Final = frozenset(
    {"a", "an", "and", "at", "by", "from", "in", "of", "on", "or", "than", "the", "to", "with"}
)
_COLLECTOR: Final = re.compile(r"[2-9] in [1-4](?![\d./]| \d+/)")  # no inches: "4 in 1" is how pipes meet
_BARE: Final = re.compile(r"[-+\u2212]\d+(?:\.\d+)?")  # no word of a session begins with a sign
_WHOLE_PLACE: Final = 0.5
_LEAST: Final = 1e-9
_LONGEST: Final = 1000


def archive_question(
    text: str, *, engine: str = "", since: str = "", until: str = "", excluded: bool = False, most: int = 20
) -> ArchiveQuestion:
    """Question in the words of options.

    A number with a unit is a dimension that was fitted; with a sign, or beside a word such as "bigger", it is the
    difference between two builds. It is met within half of its last place.

    Parameters
    ----------
    text : str
        Words, each of which has to be the beginning of a word of the session, and dimensions.
    engine : str
        Words of the engine's name.
    since, until : str
        First and last day, as "2026-05-04", "2026-05" or "2026".
    excluded : bool
        Whether excluded sessions are shown too.
    most : int
        How many are shown.

    Raises
    ------
    InputError
        If a day is none, a step has no unit, or the text is longer than anybody writes.

    Examples
    --------
    >>> question = archive_question("primaries +3 mm")
    >>> question.words, [(round(d.low, 6), round(d.high, 6), d.difference) for d in question.dimensions]
    (('primaries',), [(0.0025, 0.0035, True)])
    >>> archive_question("1/8 in bigger primaries").dimensions[0].difference
    True
    >>> archive_question("runners 260 mm").dimensions[0].difference
    False
    >>> archive_question("4 in 1 header").words
    ('4', '1', 'header')
    """
    if len(text) > _LONGEST:
        raise InputError("this is too long to look for", where="--find", value=f"{text[:40]}...",
                         remedy="write a few words")  # fmt: skip
    rest, dimensions = _dimensions(text)
    words = [word.strip("\"'!?.()").lower() for word in _WORD.findall(rest)]
    if bare := next((word for word in words if _BARE.fullmatch(word)), ""):
        raise InputError("this step has no unit", value=bare,
                         remedy="write for example '+3 mm'; the decimal mark is a point")  # fmt: skip
    steps = any(word in _STEP for word in words)
    kept = tuple(word for word in words if word and word not in _PASSED_OVER and not (dimensions and word in _STEP))
    return ArchiveQuestion(
        words=kept,
        dimensions=tuple(_asked(found, low, written, steps=steps) for found, low, written in dimensions),
        engine=engine,
        since=day_of(since, "--since", last=False) if since else "",
        until=day_of(until, "--until", last=True) if until else "",
        excluded=excluded,
        most=most,
    )


def _dimensions(text: str) -> tuple[str, list[tuple[FreeQuantity, FreeQuantity | None, str]]]:
    """Text without its numbers with units, and these: upper end, lower end of a range, and as written."""
    found: list[tuple[FreeQuantity, FreeQuantity | None, str]] = []
    rest, start = "", 0
    for begin in _START.finditer(text):
        if begin.start() < start or _COLLECTOR.match(text, begin.start()):
            continue
        at = begin.start()
        span = _RANGE.match(text, at)
        high = quantity_at(text, span.end() if span else at)
        if high is None:
            continue
        low = quantity_at(f"{span[1]} {high.unit.symbol}", 0) if span else None
        found.append((high, low, text[at : high.end]))
        rest, start = rest + text[start:at], high.end
    return rest + text[start:], found


def _asked(found: FreeQuantity, low: FreeQuantity | None, written: str, *, steps: bool) -> DimensionAsked:
    step = bool(found.signed) or steps
    offset = found.unit.offset if step else 0.0  # a step of 5 degC is 5 K, not 278 K
    value = abs(found.value - offset)
    half = _WHOLE_PLACE * found.place * (1.0 + _LEAST)
    least = value if low is None else low.value
    return DimensionAsked(
        low=max(least - half, _LEAST if step else least - half),
        high=value + half,
        kind=str(found.unit.dimension),
        difference=step,
        written=written.strip(),
    )


def day_of(text: str, where: str, *, last: bool) -> str:
    """Day that a text means: "2026-05" is its first or its last one.

    Parameters
    ----------
    text : str
        A day, a month or a year.
    where : str
        Option, for the message.
    last : bool
        Whether the last day of a month or year is meant.

    Raises
    ------
    InputError
        If it is none of them.

    Examples
    --------
    >>> day_of("2026", "--since", last=False), day_of("2026-05", "--until", last=True)
    ('2026-01-01', '2026-05-31')
    """
    parts = text.strip().split("-")
    full = [*parts, *(["12", "31"] if last else ["01", "01"])[len(parts) - 1 :]]
    if len(parts) == 2 and last:
        full[2] = ""
    try:
        year, month = int(full[0]), int(full[1])
        following = date(year + month // 12, month % 12 + 1, 1)
        day = (following.toordinal() - date(year, month, 1).toordinal()) if full[2] == "" else int(full[2])
        return date(year, month, day).isoformat()
    except (ValueError, IndexError):
        raise InputError("this is no day", where=where, value=text,
                         remedy="write for example 2026-05-04, 2026-05 or 2026") from None  # fmt: skip
