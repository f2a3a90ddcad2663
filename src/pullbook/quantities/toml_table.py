"""TomlTable: one table of a TOML file, asked key by key, that says where it is when something is wrong."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from functools import wraps
from typing import TYPE_CHECKING, Concatenate, Final, ParamSpec, TypeVar, cast

from pullbook.errors import InputError, OutOfRangeError, SessionFileError, UnfinishedError, UnitError
from pullbook.quantities.showing import show_range
from pullbook.quantities.toml_faults import Faults
from pullbook.quantities.toml_words import example as example_of
from pullbook.quantities.toml_words import folded, is_control, kind_of, nearest, one_line, printable, written
from pullbook.quantities.units import Dimension, parse_quantity, parse_range

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from pullbook.errors import Remedy
    from pullbook.quantities.showing import Shown

__all__ = ["Bounds", "TomlTable", "nearest"]

_T = TypeVar("_T")
_P = ParamSpec("_P")
_NO_DAY: Final = cast("date | None", None)
_NO_SPAN: Final = (math.nan, math.nan)
_NO_TEXTS: Final = cast("tuple[str, ...]", ())
_NUMBERED: Final = re.compile(r"\[\d+\]")


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


def _instead(
    fallback: _T,
) -> Callable[[Callable[Concatenate[TomlTable, _P], _T]], Callable[Concatenate[TomlTable, _P], _T]]:
    """Make a method give a value that stands for nothing, where its error is collected and not raised."""

    def going_on(
        method: Callable[Concatenate[TomlTable, _P], _T],
    ) -> Callable[Concatenate[TomlTable, _P], _T]:
        @wraps(method)
        def asked(table: TomlTable, /, *args: _P.args, **kwargs: _P.kwargs) -> _T:
            try:
                return method(table, *args, **kwargs)
            except InputError as error:
                table.take(error)
                return fallback

        return asked

    return going_on


class TomlTable:
    """One table of a TOML file.

    A key path counts entries from 1, as a person does: ``pull[3].air.pressure`` is in the third ``[[pull]]``.

    Parameters
    ----------
    values : mapping of str to object or None
        What `tomllib` made of it; None for something else than a table, which has been said and is said no more.
    file : str
        Name of the file.
    path : str
        Key path of the table, empty at the top.
    known : sequence of str
        Keys that it may have.
    error : subclass of InputError
        Error that is raised about the file.
    faults : Faults or None
        Takes what is wrong; the first error is raised where there is none. Where it goes on instead, a key that is
        wrong gives a value that stands for nothing: empty text, not a number, an empty table that keeps silent.

    Raises
    ------
    InputError
        Of the given class, if it has another key; the nearest known one is named.
    """

    def __init__(
        self,
        values: Mapping[str, object] | None,
        *,
        file: str,
        path: str,
        known: Sequence[str],
        error: type[InputError] = SessionFileError,
        faults: Faults | None = None,
    ) -> None:
        self._error = error
        self._faults = Faults(going_on=values is None) if faults is None or values is None else faults
        self._values = {} if values is None else values
        self._file = file
        self._path = path
        for key in self._values:
            if key not in known:
                self.take(self._error("this key is unknown", where=self.at(key), remedy=nearest(key, known)))

    def __contains__(self, key: str) -> bool:
        return key in self._values

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys in the order of the file."""
        return tuple(self._values)

    def at(self, key: str = "") -> str:
        """Place of a key, for a message."""
        path = printable(_below(self._path, key))
        return f"{self._file}: {path}" if path else self._file

    def raw(self, key: str) -> object:
        """Value as it stands in the file."""
        return self._values[key]

    def refusal(self, key: str, what: str, *, remedy: str | Remedy) -> InputError:
        """Error about a key, with its value as written."""
        value = written(self._values[key]) if key in self._values else ""
        return self._error(what, where=self.at(key), value=value, remedy=remedy)

    def take(self, error: InputError) -> None:
        """Raise an error about the file, or keep it where all of them are wanted."""
        self._faults.take(error)

    def failed(self, key: str) -> bool:
        """Whether an error about a key, or about something below it, has been kept."""
        return self._faults.failed(self.at(key))

    def _typed(self, key: str, kind: type[_T], needed: str, example: str) -> _T:
        remedy = example_of(key, example)
        if key not in self._values:
            missing = UnfinishedError if self._error is SessionFileError else self._error
            raise missing("this key is missing", where=self.at(key), remedy=remedy)
        value = self._values[key]
        if not isinstance(value, kind) or type(value) is not kind:  # True is an int and a datetime is a date
            raise self.refusal(key, f"{needed} is needed, not {kind_of(value)}", remedy=remedy)
        return value

    @_instead("")
    def text(self, key: str, *, example: str, default: str | None = None, lines: bool = False) -> str:
        """Text that is not blank, without blanks at its ends; `default` where the key is absent.

        Several lines only where `lines` allows them; no other control characters.
        """
        if key not in self._values and default is not None:
            return default
        text = self._typed(key, str, "text", f'"{example}"').strip()
        remedy = example_of(key, f'"{example}"')
        if not text:
            raise self.refusal(key, "the text is empty", remedy=remedy)
        if any(is_control(character) and not (lines and character in "\n\t") for character in text):
            raise self.refusal(key, "one line without control characters is needed", remedy=remedy)
        return text

    @_instead(_NO_TEXTS)
    def texts(self, key: str, *, example: str) -> tuple[str, ...]:
        """List of texts, none of them blank."""
        texts: list[str] = []
        for number, value in enumerate(self._typed(key, list, "a list", example), start=1):
            texts.append(value.strip() if isinstance(value, str) else "")
            if not texts[-1]:
                needed = "text is needed, not " + ("nothing" if isinstance(value, str) else kind_of(value))
                self.take(self._error(needed, where=self.at(f"{key}[{number}]"), value=written(value),
                                      remedy=example_of(key, example)))  # fmt: skip
        return tuple(texts)

    @_instead(False)  # noqa: FBT003 - the value that stands for nothing
    def flag(self, key: str) -> bool:
        """True or false; false where the key is absent."""
        return key in self._values and self._typed(key, bool, "true or false", "true")

    @_instead(1)
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
        values = {folded(word): value for word, value in words.items()}
        if folded(text) not in values:
            self.take(self.refusal(key, "this is none of the known words", remedy=nearest(text, list(words))))
            return words[example]
        return values[folded(text)]

    @_instead(_NO_DAY)
    def day(self, key: str) -> date | None:
        """A date, or None where the key is absent."""
        return self._typed(key, date, "a date", "2026-05-04, without quotes") if key in self._values else None

    @_instead(math.nan)
    def quantity(
        self, key: str, dimension: Dimension, bounds: Bounds | None = None, *, remedy: Remedy | None = None
    ) -> float:
        """Number with a unit. [SI unit of the dimension]; `remedy` is that for a unit that is missing or wrong."""
        value = self._values.get(key)
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            value = self._typed(key, str, f"a {dimension} with its unit", '"..."')
        try:
            number = parse_quantity(one_line(str(value), self.at(key), self._error), dimension, where=self.at(key))
        except UnitError as error:
            if remedy is None:
                raise
            raise UnitError(error.what, where=error.where, value=error.value, remedy=remedy) from None
        if not math.isfinite(number):
            raise self.refusal(key, "the number is too large", remedy="check the exponent")
        if bounds is not None and not bounds.low <= number <= bounds.high:
            allowed = show_range(bounds.low, bounds.high, bounds.of)
            raise OutOfRangeError(f"only {allowed} is possible", where=self.at(key), value=written(value),
                                  remedy="check the number and its unit")  # fmt: skip
        return number

    @_instead(_NO_SPAN)
    def span(self, key: str, dimension: Dimension, bounds: Bounds) -> tuple[float, float]:
        """Range with a unit, low end first. [SI unit of the dimension]."""
        text = self._typed(key, str, f"a range of {dimension}", '"10..20 ..."')
        return self.span_of(text, key, dimension, bounds)

    @_instead(_NO_SPAN)
    def span_of(self, text: str, key: str, dimension: Dimension, bounds: Bounds) -> tuple[float, float]:
        """Range with a unit that stands in `text`; `key` is the place named in a message."""
        low, high = parse_range(one_line(text, self.at(key), self._error), dimension, where=self.at(key))
        if low < bounds.low or high > bounds.high:
            allowed = show_range(bounds.low, bounds.high, bounds.of)
            raise OutOfRangeError(f"the range goes beyond {allowed}", where=self.at(key), value=written(text),
                                  remedy="check the numbers and their unit")  # fmt: skip
        return low, high

    def table(self, key: str, known: Sequence[str]) -> TomlTable:
        """Table below this one; empty where the key is absent."""
        values = self._values.get(key, {})
        if not isinstance(values, dict):
            double = isinstance(values, list) and all(isinstance(item, dict) for item in values)
            remedy = f"write [{key}] in single brackets" if double else f"write {key} = {{ ... }} or a table [{key}]"
            self.take(self.refusal(key, f"one table is needed, not {kind_of(values)}", remedy=remedy))
        path = _below(self._path, key)
        return TomlTable(_mapping(values), file=self._file, path=path, known=known, error=self._error,
                         faults=self._faults)  # fmt: skip

    def tables(self, key: str, known: Sequence[str]) -> tuple[TomlTable, ...]:
        """Tables of a list, in the order of the file; none where the key is absent."""
        values = self._values.get(key, [])
        remedy = f"write [[{_NUMBERED.sub('', _below(self._path, key))}]] in double brackets, once for each"
        if not isinstance(values, list):
            self.take(self.refusal(key, f"a list of tables is needed, not {kind_of(values)}", remedy=remedy))
            return ()
        entries: list[TomlTable] = []
        for number, value in enumerate(values, start=1):
            if not isinstance(value, dict):
                self.take(self._error(f"a table is needed, not {kind_of(value)}", where=self.at(f"{key}[{number}]"),
                                      value=written(value), remedy=remedy))  # fmt: skip
            path = _below(self._path, f"{key}[{number}]")
            entries.append(TomlTable(_mapping(value), file=self._file, path=path, known=known, error=self._error,
                                     faults=self._faults))  # fmt: skip
        return tuple(entries)


def _below(path: str, key: str) -> str:
    return f"{path}.{key}" if path and key else path or key


def _mapping(values: object) -> Mapping[str, object] | None:
    return cast("Mapping[str, object]", values) if isinstance(values, dict) else None
