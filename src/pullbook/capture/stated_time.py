"""When a file says that it was recorded, outside its table of numbers."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = ["stated_time"]

_ISO: Final = re.compile(r"(?<!\d)(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)")
_DOTTED: Final = re.compile(r"(?<![\d.])(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})(?!\d)")
_SLASHED: Final = re.compile(r"(?<![\d/-])(\d{1,2})([/-])(\d{1,2})\2(\d{4})(?!\d)")
_DAY_MONTH: Final = re.compile(r"(?<!\d)(\d{1,2})\.?[ -]([^\W\d]{3,9})\.?[ -](\d{4})(?!\d)")
_MONTH_DAY: Final = re.compile(r"(?<!\w)([^\W\d]{3,9})\.? (\d{1,2}),? (\d{4})(?!\d)")
_CLOCK: Final = re.compile(
    r"(?<![\d:.,])(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?(?![\d:])\s*([AaPp])?(?(4)\.?[Mm]\.?(?!\w))"
)
_MONTHS: Final = {
    word: number
    for number, words in enumerate(
        ("jan", "feb", "mar mär", "apr", "may mai", "jun", "jul", "aug", "sep", "oct okt", "nov", "dec dez"), start=1
    )
    for word in words.split()
}
_OTHER_DAYS: Final = re.compile(
    r"calib|kalib|print|druck|export|saved|gespeich|version|built|licen|lizen|valid|gültig|modif|geänd|updated|service|"
    r"\bend|\bstop|finish|ende\b|duration|dauer|elapsed|length|interval|\bdue\b|inspect",
    re.IGNORECASE,
)
_DAY_WORDS: Final = re.compile(r"date|datum|\bday\b|\btag\b|record|start|begin|aufnahme|test|fecha", re.IGNORECASE)
_CLOCK_WORDS: Final = re.compile(r"time|uhr|zeit|start|begin|record|heure|hora\b", re.IGNORECASE)
_FIRST_YEAR: Final = 1980
_MIDNIGHT: Final = time(0, 0)  # stands for a time that nobody set


def stated_time(lines: Sequence[str]) -> datetime | None:
    """Date and time of the recording that the lines outside a table give.

    Parameters
    ----------
    lines : sequence of str
        Lines as written, in the order of the file.

    Returns
    -------
    datetime or None
        None where no line gives both, where two lines disagree, and where a date could be two days, as 4/5/2026:
        nothing is guessed. A day of calibration, printing or saving is none of recording.

    Examples
    --------
    >>> stated_time(("Operator: K", "Date: 04.05.2026", "Start time: 09:12:30"))
    datetime.datetime(2026, 5, 4, 9, 12, 30)
    >>> stated_time(("Recorded May 4, 2026 9:12 pm",))
    datetime.datetime(2026, 5, 4, 21, 12)
    """
    whole: set[datetime] = set()
    days: set[date] = set()
    clocks: set[time] = set()
    for line in lines:
        if _OTHER_DAYS.search(line):
            continue
        of_line, at = set(_days(line)), set(_clocks(line))
        if len(of_line) == 1 and len(at) == 1:
            whole.add(datetime.combine(next(iter(of_line)), next(iter(at))))
        days |= of_line if _DAY_WORDS.search(line) else set()
        clocks |= at if _CLOCK_WORDS.search(line) else set()
    if len(whole) == 1:
        return next(iter(whole))
    if not whole and len(days) == 1 and len(clocks) == 1:
        return datetime.combine(next(iter(days)), next(iter(clocks)))
    return None


def _days(line: str) -> Iterator[date]:
    numbers = [tuple(map(int, found)) for found in _ISO.findall(line)]
    numbers += [(int(year), int(month), int(day)) for day, month, year in _DOTTED.findall(line)]
    numbers += [(int(year), _month(word), int(day)) for day, word, year in _DAY_MONTH.findall(line)]
    numbers += [(int(year), _month(word), int(day)) for word, day, year in _MONTH_DAY.findall(line)]
    for one, _, other, year in _SLASHED.findall(line):
        numbers += [(int(year), month, day) for day, month in _orders(int(one), int(other))]
    for year, month, day in numbers:
        if year >= _FIRST_YEAR:
            try:
                yield date(year, month, day)
            except ValueError:
                continue


def _month(word: str) -> int:
    return _MONTHS.get(word[:3].lower(), 0)


def _orders(one: int, other: int) -> set[tuple[int, int]]:
    """Day and month that two numbers can be; both orders where both are possible, so that the day is in doubt."""
    return {(day, month) for day, month in ((one, other), (other, one)) if 1 <= month <= 12}


def _clocks(line: str) -> Iterator[time]:
    for hours, minutes, seconds, half in _CLOCK.findall(line):
        hour = int(hours)
        if half:
            if not 1 <= hour <= 12:
                continue
            hour = hour % 12 + (12 if half in "Pp" else 0)
        try:
            clock = time(hour, int(minutes), int(seconds or 0))
        except ValueError:
            continue
        if clock != _MIDNIGHT:
            yield clock
