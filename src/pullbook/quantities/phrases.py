"""Counts and lists as language."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["counted", "hours_and_minutes", "listed"]

_WORDS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def counted(number: int, one: str, many: str = "") -> str:
    """Number and noun, small numbers in words.

    Examples
    --------
    >>> counted(1, "pull"), counted(3, "pull"), counted(12, "pull")
    ('one pull', 'three pulls', '12 pulls')
    """
    word = _WORDS[number] if number < len(_WORDS) else str(number)
    return f"{word} {one if number == 1 else many or one + 's'}"


def hours_and_minutes(seconds: float) -> str:
    """Time for a plan, to the minute.

    Examples
    --------
    >>> hours_and_minutes(1500.0), hours_and_minutes(7200.0), hours_and_minutes(20_700.0)
    ('25 min', '2 h', '5 h 45 min')
    """
    hours, minutes = divmod(round(seconds / 60.0), 60)
    parts = ([f"{hours} h"] if hours else []) + ([f"{minutes} min"] if minutes or not hours else [])
    return " ".join(parts)


def listed(parts: Sequence[str]) -> str:
    """Parts joined as in a sentence.

    Examples
    --------
    >>> listed(["A", "B", "C"])
    'A, B and C'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}" if parts else ""
