"""Words about values of a TOML file: what kind they are, how they are written, which known word is nearest."""

from __future__ import annotations

import difflib
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Final

from pullbook.errors import Remedy, Way

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.errors import InputError

__all__ = ["example", "folded", "is_control", "kind_of", "nearest", "one_line", "printable", "written"]

_SHOWN: Final = 60
_KINDS: Final[tuple[tuple[type | tuple[type, ...], str], ...]] = (
    (bool, "true or false"),
    ((int, float), "a number"),
    (str, "text"),
    (list, "a list"),
    (dict, "a table"),
    (datetime, "a date with time"),
    (date, "a date"),
    (time, "a time of day"),
)


def nearest(word: str, known: Sequence[str]) -> str:
    """Remedy that names the nearest known word, or all of them where none is near.

    Examples
    --------
    >>> nearest("titel", ["title", "date"])
    "perhaps 'title' is meant"
    >>> nearest("xyz", ["title", "date"])
    'known are title, date'
    """
    names = {name.casefold(): name for name in known}
    near = difflib.get_close_matches(word.casefold(), names, n=1, cutoff=0.6)
    return f"perhaps '{names[near[0]]}' is meant" if near else f"known are {', '.join(known)}"


def example(key: str, text: str) -> Remedy:
    """Remedy that gives an example of what a key may say.

    Parameters
    ----------
    key : str
        The key; empty where it is named already.
    text : str
        What may stand there, as TOML writes it.

    Examples
    --------
    >>> example("levels", '["340 mm", "260 mm"]').says, example("levels", '["340 mm", "260 mm"]').value
    ('write for example levels = ["340 mm", "260 mm"]', '340 mm, 260 mm')
    """
    plain = text.removesuffix(", without quotes").strip('[]"').replace('", "', ", ")
    return Way.EXAMPLE.said(f"write for example {f'{key} = ' if key else ''}{text}", plain)


def kind_of(value: object) -> str:
    """Kind of a value, in words."""
    return next((words for types, words in _KINDS if isinstance(value, types)), type(value).__name__)


def printable(text: str) -> str:
    """Text with a blank for each character that cannot be shown."""
    return "".join(character if character.isprintable() else " " for character in text)


def written(value: object) -> str:
    """Value about as TOML writes it, short enough for a sentence."""
    text = value if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else str(value)
    text = " ".join(printable(text).split())
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


def one_line(text: str, place: str, error: type[InputError]) -> str:
    """Text of one line with plain blanks.

    Raises
    ------
    InputError
        Of the given class, if it has control characters.
    """
    text = "".join(" " if character.isspace() and not is_control(character) else character for character in text)
    if not text.isprintable():
        raise error("one line without control characters is needed", where=place, value=written(text),
                               remedy="write a number and its unit")  # fmt: skip
    return text


def is_control(character: str) -> bool:
    """Whether a character is a control character."""
    return ord(character) < 0x20 or 0x7F <= ord(character) < 0xA0


def folded(word: str) -> str:
    """Word without case, blanks and dashes."""
    return "".join(character for character in word.casefold() if character.isalnum())
