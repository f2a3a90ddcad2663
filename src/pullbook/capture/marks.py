"""Which mark is the decimal mark and which one groups thousands: decided for a file or a column as a whole."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["MarkVotes", "Marks", "decide_marks", "read_number", "vote"]

_GROUPS: Final = {
    mark: re.compile(rf"[1-9][0-9]{{0,2}}(?:{re.escape(mark)}[0-9]{{3}})+") for mark in ".,'\u2019 \u00a0\u202f"
}
_SIMPLE: Final = re.compile(r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
_FASTEST: Final = 25_000.0  # rpm
_SPEED: Final = re.compile(r"(?i)rpm|1/min|min-1|drehzahl|u/min|tr/min|speed|r[e\u00e9]gime|giri|obr|varv")


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """How the numbers of one column are written.

    Attributes
    ----------
    decimal : str
        "." or ",".
    doubt : str
        Why another reading was possible; empty where there was none.
    """

    decimal: str
    doubt: str = ""


@dataclass(slots=True, kw_only=True)
class MarkVotes:
    """What the numbers of one column say about marks.

    Attributes
    ----------
    decimal : set of str
        Marks that can only be decimal marks, as in "212.3" or "0,500".
    thousands : set of str
        Marks that can only group thousands, as in "1.234.567" or "1,234.5".
    either : set of str
        Marks met in cells like "5.500", which could be both.
    bare_below_1000, bare_above_1000 : bool
        Whether there are numbers without any mark of up to three, or of more digits.
    largest : float
        Largest of the cells in `either`, their mark read as a decimal mark. [as the column]
    """

    decimal: set[str]
    thousands: set[str]
    either: set[str]
    bare_below_1000: bool = False
    bare_above_1000: bool = False
    largest: float = 0.0


def vote(numbers: Iterable[str]) -> MarkVotes:
    """What the numbers of one column say about marks.

    Examples
    --------
    >>> sorted(vote(["950", "1.000", "1.050"]).either)
    ['.']
    """
    votes = MarkVotes(decimal=set(), thousands=set(), either=set())
    for number in numbers:
        _vote_one(number.lstrip("+-\u2212"), votes)
    return votes


def _vote_one(number: str, votes: MarkVotes) -> None:
    marks = [char for char in number if char in ".,"]
    if not marks:
        votes.bare_below_1000 |= len(number) <= 3
        votes.bare_above_1000 |= len(number) > 3 and number.isdigit()
    elif len(set(marks)) == 2:
        votes.thousands.add(marks[0])
        votes.decimal.add(marks[-1])
    elif len(marks) > 1:
        votes.thousands.add(marks[0])
    elif _GROUPS[marks[0]].fullmatch(number):
        votes.either.add(marks[0])
        votes.largest = max(votes.largest, float(number.replace(",", ".")))
    else:
        votes.decimal.add(marks[0])


def decide_marks(votes: MarkVotes, *, file_decimal: str | None, name: str, comma_between: bool) -> Marks:
    """Marks of one column.

    Parameters
    ----------
    votes : MarkVotes
        From all numbers of the column.
    file_decimal : str or None
        Decimal mark that other columns prove for the whole file.
    name : str
        Name and unit of the column: engine speed is never 5.5, so its "5.500" is 5500.
    comma_between : bool
        Whether the comma separates columns, which makes a decimal comma unlikely.

    Examples
    --------
    >>> decide_marks(vote(["5.500", "5.600"]), file_decimal=None, name="RPM", comma_between=False).decimal
    ','
    >>> decide_marks(vote(["5.500", "5.600"]), file_decimal=".", name="RPM", comma_between=False).decimal
    '.'
    """
    if len(votes.decimal) == 1:
        return Marks(decimal=next(iter(votes.decimal)))
    if file_decimal is not None or not votes.either | votes.thousands:
        return Marks(decimal=file_decimal or ".")
    if len(votes.thousands) == 1 and not votes.decimal:
        return Marks(decimal=_other(next(iter(votes.thousands))))
    return _decide_open(votes, name=name, comma_between=comma_between)


def _decide_open(votes: MarkVotes, *, name: str, comma_between: bool) -> Marks:
    mark = min(votes.either | votes.thousands)
    if votes.bare_below_1000 and not votes.bare_above_1000:
        return Marks(decimal=_other(mark))  # 950, 1.000, 1.050: a writer of decimals would have written 950.000
    if mark == "." and comma_between and not _SPEED.search(name):
        return Marks(decimal=mark)  # with commas between columns the point is free to be the decimal mark
    if _SPEED.search(name) and votes.largest >= _FASTEST / 1000.0:
        return Marks(decimal=mark)  # "108.825" as thousands would be a speed that no engine reaches
    if _SPEED.search(name) or (mark == "," and comma_between):
        return Marks(decimal=_other(mark), doubt=f"'{mark}' was taken to group thousands; it could be a decimal mark")
    return Marks(decimal=mark, doubt=f"'{mark}' was taken for the decimal mark; it could group thousands")


def _other(mark: str) -> str:
    return "," if mark == "." else "."


def read_number(number: str, decimal: str) -> float:
    """Value of a number as written, exactly as the nearest float; NaN where it breaks the rules of its column.

    Examples
    --------
    >>> read_number("1.234,5", ",")
    1234.5
    >>> read_number("12.34,5", ",")
    nan
    """
    sign = -1.0 if number[:1] in {"-", "\u2212"} else 1.0
    body = number.lstrip("+-\u2212")
    whole, point, rest = body.partition(decimal)
    if not _SIMPLE.fullmatch(body.replace(decimal, ".") if decimal == "," else body) or (
        decimal == "," and "." in body
    ):
        if not any(group.fullmatch(whole) for mark, group in _GROUPS.items() if mark != decimal):
            return float("nan")
        whole = "".join(char for char in whole if char.isdigit())
        body = f"{whole}{point}{rest}"
    try:
        return sign * float(body.replace(decimal, "."))
    except ValueError:
        return float("nan")
