"""Words by which a session is found: without case, accents and plural."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["key_of", "stem", "stems"]

_WORD: Final = re.compile(r"[^\W_]+(?:[-./][^\W_]+)*")
_PARTS: Final = re.compile(r"[^\W_]+")
_LONGEST: Final = 40
_SHORTEST_PLURAL: Final = 4


def _plain(text: str) -> str:
    """Text in lower case, without accents."""
    spread = unicodedata.normalize("NFKD", text.casefold())
    return "".join(character for character in spread if not unicodedata.combining(character))


def key_of(name: str) -> str:
    """Name of an engine or a part as it is told from others: case, blanks and marks do not matter.

    Parameters
    ----------
    name : str
        As somebody wrote it.

    Examples
    --------
    >>> key_of("Header  No. 17") == key_of("header no 17")
    True
    """
    return " ".join(_PARTS.findall(_plain(name)))


@lru_cache(maxsize=4096)  # benches have few words, and each stands in many places of a session
def stem(word: str) -> str:
    """Word without its plural.

    Parameters
    ----------
    word : str
        One word.

    Examples
    --------
    >>> [stem(word) for word in ("Primaries", "runners", "exhaust", "gas", "4-2-1")]
    ['primary', 'runner', 'exhaust', 'gas', '4-2-1']
    """
    plain = _plain(word)[:_LONGEST]
    if len(plain) >= _SHORTEST_PLURAL and plain.isalpha():
        if plain.endswith("ies"):
            return f"{plain[:-3]}y"
        if plain.endswith("s") and not plain.endswith(("ss", "us")):
            return plain[:-1]
    return plain


def stems(texts: Iterable[str]) -> set[str]:
    """Words of some texts; a word with dashes, dots or strokes in it counts whole and in parts.

    Parameters
    ----------
    texts : iterable of str
        Titles, levels, claims and the like.

    Examples
    --------
    >>> sorted(stems(["Two runners, 4-2-1 header"]))
    ['1', '2', '4', '4-2-1', 'header', 'runner', 'two']
    """
    found: set[str] = set()
    for text in texts:
        for whole in _WORD.findall(_plain(text)):
            found.add(stem(whole))
            found.update(stem(part) for part in _PARTS.findall(whole))
    return found
