"""TomlTable: one table of a TOML file, asked key by key, that says where it is when something is wrong."""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Final, TypeVar, cast

from pullbook.errors import OutOfRangeError, SessionFileError, UnfinishedError
from pullbook.quantities.showing import show_range
from pullbook.quantities.units import Dimension, parse_quantity, parse_range

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.errors import InputError
    from pullbook.quantities.showing import Shown

__all__ = ["Bounds", "TomlTable", "nearest"]

_T = TypeVar("_T")
_SHOWN: Final = 60
_NUMBERED: Final = re.compile(r"\[\d+\]")
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What a quantity can be.

    Attributes
    ----------
    of : Channel, Dimension or Unit
        What it is, for the message.
    low, high : float
        Ends, both allowed. [SI unit of the dimension]
    """

    of: Shown
    low: float
    high: float


def nearest(word: str, known: Sequence[str]) -> str:
    """Remedy that names the nearest known word, or all of them where none is near.

    Examples
    --------
    >>> nearest("titel", ["title", "date"])
    "perhaps 'title' is meant"
    >>> nearest("xyz", ["title", "date"])
    'known are title, date'
    """
    folded = {name.casefold(): name for name in known}
    near = difflib.get_close_matches(word.casefold(), folded, n=1, cutoff=0.6)
    return f"perhaps '{folded[near[0]]}' is meant" if near else f"known are {', '.join(known)}"


def _kind(value: object) -> str:
    return next((words for types, words in _KINDS if isinstance(value, types)), type(value).__name__)


def _printable(text: str) -> str:
    return "".join(character if character.isprintable() else " " for character in text)


def _written(value: object) -> str:
    """Value about as TOML writes it, short enough for a sentence."""
    text = value if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else str(value)
    text = " ".join(_printable(text).split())
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


class TomlTable:
    """One table of a TOML file.

    A key path counts entries from 1, as a person does: ``pull[3].air.pressure`` is in the third ``[[pull]]``.

    Parameters
    ----------
    values : mapping of str to object
        What `tomllib` made of it.
    file : str
        Name of the file.
    path : str
        Key path of the table, empty at the top.
    known : sequence of str
        Keys that it may have.
    error : subclass of InputError
        Error that is raised about the file.

    Raises
    ------
    InputError
        Of the given class, if it has another key; the nearest known one is named.
    """

    def __init__(
        self,
        values: Mapping[str, object],
        *,
        file: str,
        path: str,
        known: Sequence[str],
        error: type[InputError] = SessionFileError,
    ) -> None:
        self._error = error
        self._values = values
        self._file = file
        self._path = path
        for key in values:
            if key not in known:
                raise self._error("this key is unknown", where=self.at(key), remedy=nearest(key, known))

    def __contains__(self, key: str) -> bool:
        return key in self._values

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys in the order of the file."""
        return tuple(self._values)

    def at(self, key: str = "") -> str:
        """Place of a key, for a message."""
        path = _printable(_below(self._path, key))
        return f"{self._file}: {path}" if path else self._file

    def raw(self, key: str) -> object:
        """Value as it stands in the file."""
        return self._values[key]

    def refusal(self, key: str, what: str, *, remedy: str) -> InputError:
        """Error about a key, with its value as written."""
        value = _written(self._values[key]) if key in self._values else ""
        return self._error(what, where=self.at(key), value=value, remedy=remedy)

    def _typed(self, key: str, kind: type[_T], needed: str, example: str) -> _T:
        remedy = f"write for example {key} = {example}"
        if key not in self._values:
            missing = UnfinishedError if self._error is SessionFileError else self._error
            raise missing("this key is missing", where=self.at(key), remedy=remedy)
        value = self._values[key]
        if not isinstance(value, kind) or type(value) is not kind:  # True is an int and a datetime is a date
            raise self.refusal(key, f"{needed} is needed, not {_kind(value)}", remedy=remedy)
        return value

    def text(self, key: str, *, example: str, default: str | None = None, lines: bool = False) -> str:
        """Text that is not blank, without blanks at its ends; `default` where the key is absent.

        Several lines only where `lines` allows them; no other control characters.
        """
        if key not in self._values and default is not None:
            return default
        text = self._typed(key, str, "text", f'"{example}"').strip()
        remedy = f'write for example {key} = "{example}"'
        if not text:
            raise self.refusal(key, "the text is empty", remedy=remedy)
        if any(_is_control(character) and not (lines and character in "\n\t") for character in text):
            raise self.refusal(key, "one line without control characters is needed", remedy=remedy)
        return text

    def texts(self, key: str, *, example: str) -> tuple[str, ...]:
        """List of texts, none of them blank."""
        values = self._typed(key, list, "a list", example)
        for number, value in enumerate(values, start=1):
            if not isinstance(value, str) or not value.strip():
                needed = "text is needed, not " + ("nothing" if isinstance(value, str) else _kind(value))
                raise self._error(needed, where=self.at(f"{key}[{number}]"), value=_written(value),
                                       remedy=f"write for example {key} = {example}")  # fmt: skip
        return tuple(value.strip() for value in cast("list[str]", values))

    def flag(self, key: str) -> bool:
        """True or false; false where the key is absent."""
        return key in self._values and self._typed(key, bool, "true or false", "true")

    def count(self, key: str, *, default: int) -> int:
        """Whole number from 1."""
        if key not in self._values:
            return default
        number = self._typed(key, int, "a whole number", "2")
        if number < 1:
            raise self.refusal(key, "a whole number from 1 is needed", remedy="count from 1")
        return number

    def word(self, key: str, words: Mapping[str, _T], *, default: str | None = None) -> _T:
        """One of some words; case, blanks and dashes do not matter."""
        example = next(iter(words))
        text = self.text(key, example=example, default=default)
        folded = {_folded(word): value for word, value in words.items()}
        if _folded(text) not in folded:
            raise self.refusal(key, "this is none of the known words", remedy=nearest(text, list(words)))
        return folded[_folded(text)]

    def day(self, key: str) -> date | None:
        """A date, or None where the key is absent."""
        return self._typed(key, date, "a date", "2026-05-04, without quotes") if key in self._values else None

    def quantity(self, key: str, dimension: Dimension, bounds: Bounds | None = None) -> float:
        """Number with a unit. [SI unit of the dimension]."""
        value = self._values.get(key)
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            value = self._typed(key, str, f"a {dimension} with its unit", '"..."')
        number = parse_quantity(_one_line(str(value), self.at(key), self._error), dimension, where=self.at(key))
        if not math.isfinite(number):
            raise self.refusal(key, "the number is too large", remedy="check the exponent")
        if bounds is not None and not bounds.low <= number <= bounds.high:
            allowed = show_range(bounds.low, bounds.high, bounds.of)
            raise OutOfRangeError(f"only {allowed} is possible", where=self.at(key), value=_written(value),
                                  remedy="check the number and its unit")  # fmt: skip
        return number

    def span(self, key: str, dimension: Dimension, bounds: Bounds) -> tuple[float, float]:
        """Range with a unit, low end first. [SI unit of the dimension]."""
        text = self._typed(key, str, f"a range of {dimension}", '"10..20 ..."')
        return self.span_of(text, key, dimension, bounds)

    def span_of(self, text: str, key: str, dimension: Dimension, bounds: Bounds) -> tuple[float, float]:
        """Range with a unit that stands in `text`; `key` is the place named in a message."""
        low, high = parse_range(_one_line(text, self.at(key), self._error), dimension, where=self.at(key))
        if low < bounds.low or high > bounds.high:
            allowed = show_range(bounds.low, bounds.high, bounds.of)
            raise OutOfRangeError(f"the range goes beyond {allowed}", where=self.at(key), value=_written(text),
                                  remedy="check the numbers and their unit")  # fmt: skip
        return low, high

    def table(self, key: str, known: Sequence[str]) -> TomlTable:
        """Table below this one; empty where the key is absent."""
        values = self._values.get(key, {})
        if not isinstance(values, dict):
            double = isinstance(values, list) and all(isinstance(item, dict) for item in values)
            remedy = f"write [{key}] in single brackets" if double else f"write {key} = {{ ... }} or a table [{key}]"
            raise self.refusal(key, f"one table is needed, not {_kind(values)}", remedy=remedy)
        path = _below(self._path, key)
        return TomlTable(cast("dict[str, object]", values), file=self._file, path=path, known=known, error=self._error)

    def tables(self, key: str, known: Sequence[str]) -> tuple[TomlTable, ...]:
        """Tables of a list, in the order of the file; none where the key is absent."""
        values = self._values.get(key, [])
        remedy = f"write [[{_NUMBERED.sub('', _below(self._path, key))}]] in double brackets, once for each"
        if not isinstance(values, list):
            raise self.refusal(key, f"a list of tables is needed, not {_kind(values)}", remedy=remedy)
        entries: list[TomlTable] = []
        for number, value in enumerate(values, start=1):
            path = _below(self._path, f"{key}[{number}]")
            if not isinstance(value, dict):
                raise self._error(f"a table is needed, not {_kind(value)}", where=f"{self._file}: {path}",
                                       value=_written(value), remedy=remedy)  # fmt: skip
            entries.append(
                TomlTable(cast("dict[str, object]", value), file=self._file, path=path, known=known, error=self._error)
            )
        return tuple(entries)


def _below(path: str, key: str) -> str:
    return f"{path}.{key}" if path and key else path or key


def _one_line(text: str, place: str, error: type[InputError]) -> str:
    text = "".join(" " if character.isspace() and not _is_control(character) else character for character in text)
    if not text.isprintable():
        raise error("one line without control characters is needed", where=place, value=_written(text),
                               remedy="write a number and its unit")  # fmt: skip
    return text


def _is_control(character: str) -> bool:
    return ord(character) < 0x20 or 0x7F <= ord(character) < 0xA0


def _folded(word: str) -> str:
    return "".join(character for character in word.casefold() if character.isalnum())
