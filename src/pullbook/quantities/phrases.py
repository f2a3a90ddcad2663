"""Counts and lists as language."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["counted", "listed"]

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


def listed(parts: Sequence[str]) -> str:
    """Parts joined as in a sentence.

    Examples
    --------
    >>> listed(["A", "B", "C"])
    'A, B and C'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}" if parts else ""
