"""Sheet: one table of an engine file that says what it had to assume, and which numbers are unusual."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Final, cast

from pullbook.engine.engine_key import Kind, said
from pullbook.engine.engine_keys import KEYS
from pullbook.engine.parts import Assumed, Unusual
from pullbook.errors import EngineFileError, OutOfRangeError
from pullbook.quantities.units import parse_quantity, parse_unit, to_si

if TYPE_CHECKING:
    from pullbook.engine.engine_key import Key
    from pullbook.errors import InputError
    from pullbook.quantities.toml_table import TomlTable

__all__ = ["ReadingLog", "Sheet"]

_NUMBER: Final = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_ROW: Final = re.compile(rf"\s*({_NUMBER}(?:[\s,]+{_NUMBER})*)\s*(.*?)\s*")
_ROUNDING: Final = 1e-9


@dataclass(slots=True)
class ReadingLog:
    """What was noted while a file was read.

    Attributes
    ----------
    assumed : list of Assumed
        Defaults that were used.
    unusual : list of Unusual
        Numbers outside their usual range.
    tables : dict of str to TomlTable
        Tables that were read, by key path.
    used : set of (str, str)
        Key path of a table and key of everything that was made use of.
    """

    assumed: list[Assumed] = field(default_factory=list)
    unusual: list[Unusual] = field(default_factory=list)
    tables: dict[str, TomlTable] = field(default_factory=dict)
    used: set[tuple[str, str]] = field(default_factory=set)

    def refuse_unused(self) -> None:
        """Refuse a key that nothing was made of, since whoever wrote it believes that it counts."""
        for path, table in self.tables.items():
            for key in table.keys:
                if (path, key) not in self.used:
                    raise table.refusal(key, "this key has no effect beside the others of its table",
                                        remedy="leave it out, or what stands in its place")  # fmt: skip

    def judge(self, entry: Key, path: str, value: float) -> None:
        """Note a number that is outside its usual range.

        Parameters
        ----------
        entry : Key
            What is usual.
        path : str
            Key path.
        value : float
            The number. [SI unit of the key]
        """
        if entry.usual is not None and not _inside(entry, value, entry.usual):
            usual, says = entry.says_range(entry.usual), entry.says.rstrip(".")
            self.unusual.append(Unusual(key=path, value=said(value, entry.unit), usual=usual, says=says))


class Sheet:
    """One table of an engine file.

    Parameters
    ----------
    table : TomlTable
        The table.
    name : str
        Its name in `KEYS`.
    path : str
        Its key path.
    log : ReadingLog
        Takes what is assumed and what is unusual.
    """

    def __init__(self, table: TomlTable, name: str, path: str, log: ReadingLog) -> None:
        self._table = table
        self._name = name
        self._keys = {key.name: key for key in KEYS.get(name, ())}
        self._path = path
        self._log = log
        log.tables.setdefault(path, table)

    def __contains__(self, key: str) -> bool:
        return key in self._table

    def at(self, key: str = "") -> str:
        """Place of a key, for a message."""
        return self._table.at(key)

    def refusal(self, key: str, what: str, *, remedy: str) -> InputError:
        """Error about a key, with its value as written."""
        return self._table.refusal(key, what, remedy=remedy)

    def child(self, key: str) -> Sheet:
        """Table below; empty where it is absent."""
        self._log.used.add((self._path, key))
        name = _below(self._name, key)
        known = [one.name for one in KEYS[name]]
        return Sheet(self._table.table(key, known), name, _below(self._path, key), self._log)

    def children(self, key: str) -> tuple[Sheet, ...]:
        """Tables of a list below, in the order of the file."""
        self._log.used.add((self._path, key))
        name = _below(self._name, key)
        tables = self._table.tables(key, [one.name for one in KEYS[name]])
        path = _below(self._path, key)
        return tuple(Sheet(table, name, f"{path}[{i}]", self._log) for i, table in enumerate(tables, start=1))

    def number(self, key: str, default: float | None = None) -> float:
        """Number of a key, or what is assumed. [SI unit of the key].

        Parameters
        ----------
        key : str
            Name of the key.
        default : float or None
            What is assumed where the key has no fixed default. [SI unit of the key]
        """
        self._log.used.add((self._path, key))
        entry = self._keys[key]
        if key in self._table:
            value = self._declared(entry)
        elif default is not None:
            value = default
            self.assume(entry.name, said(value, entry.unit))
        elif isinstance(entry.default, int | float):
            value = entry.in_si(entry.default)
            self.assume(entry.name, entry.says_default)
        else:
            raise EngineFileError("this key is missing", where=self.at(key), remedy=_example(entry))
        self._log.judge(entry, _below(self._path, entry.name), value)
        return value

    def number_or_none(self, key: str) -> float | None:
        """Number of a key, None where it is absent. [SI unit of the key]."""
        return self.number(key) if key in self._table else None

    def row(self, key: str) -> tuple[float, ...]:
        """Row of numbers; what is assumed, or nothing, where it is absent. [SI unit of the key]."""
        self._log.used.add((self._path, key))
        entry = self._keys[key]
        if key not in self._table:
            if not isinstance(entry.default, int | float):
                return ()
            self.assume(entry.name, entry.says_default)
            return (entry.in_si(entry.default),)
        found = _ROW.fullmatch(self._table.text(key, example=f"0 1 2 {entry.unit}"))
        if found is None:
            raise self.refusal(key, "numbers with one unit at their end are needed", remedy=_example(entry))
        if not found[2]:
            raise self.refusal(key, "the unit is missing", remedy=_example(entry))
        unit = parse_unit(found[2], where=self.at(key), dimension=entry.dimension)
        values = tuple(to_si(float(number), unit) for number in re.split(r"[\s,]+", found[1]))
        for value in values:
            self._demand_possible(entry, value)
            self._log.judge(entry, _below(self._path, entry.name), value)
        return values

    def rising_row(self, key: str) -> tuple[float, ...]:
        """Row of numbers that rise. [SI unit of the key]."""
        values = self.row(key)
        if any(after <= before for before, after in pairwise(values)):
            raise self.refusal(key, "the numbers must rise", remedy="sort them, each once")
        return values

    def count(self, key: str, default: int | None = None) -> int:
        """Whole number of a key, or what is assumed."""
        self._log.used.add((self._path, key))
        entry = self._keys[key]
        if key not in self._table:
            value = default if default is not None else int(cast("int", entry.default))
            self.assume(entry.name, str(value))
            return value
        value = self._table.count(key, default=1)
        self._demand_possible(entry, value)
        return value

    def counts(self, key: str) -> tuple[int, ...]:
        """List of whole numbers from 1; none where the key is absent."""
        self._log.used.add((self._path, key))
        return () if key not in self._table else _whole(self, key, self._table.raw(key))

    def groups(self, key: str) -> tuple[tuple[int, ...], ...]:
        """List of lists of whole numbers; none where the key is absent."""
        self._log.used.add((self._path, key))
        if key not in self._table:
            return ()
        raw = self._table.raw(key)
        if not isinstance(raw, list):
            raise self.refusal(key, "a list of lists is needed", remedy="write for example [[1, 4], [2, 3]]")
        return tuple(_whole(self, key, part) for part in cast("list[object]", raw))

    def text(self, key: str) -> str:
        """Text of a key, or what is assumed."""
        self._log.used.add((self._path, key))
        entry = self._keys[key]
        if key in self._table or not isinstance(entry.default, str):
            return self._table.text(key, example="a name", default="" if entry.optional else None)
        self.assume(entry.name, entry.default)
        return entry.default

    def texts(self, key: str) -> tuple[str, ...]:
        """List of texts; none where the key is absent."""
        self._log.used.add((self._path, key))
        return self._table.texts(key, example='["left", "right"]') if key in self._table else ()

    def word(self, key: str, default: str | None = None) -> str:
        """One of the words of a key."""
        self._log.used.add((self._path, key))
        entry = self._keys[key]
        if key not in self._table:
            word = default if default is not None else str(entry.default)
            self.assume(entry.name, f'"{word}"')
            return word
        return self._table.word(key, {word: word for word in entry.words})

    def flag(self, key: str) -> bool:
        """True or false of a key."""
        self._log.used.add((self._path, key))
        if key not in self._table:
            self.assume(key, self._keys[key].says_default)
            return bool(self._keys[key].default)
        return self._table.flag(key)

    def assume(self, key: str, value: str) -> None:
        """Note that a key is absent and what is taken instead."""
        self._log.assumed.append(Assumed(key=_below(self._path, key), value=value, why=self._keys[key].why))

    def _declared(self, entry: Key) -> float:
        raw = self._table.raw(entry.name)
        if entry.dimension is None:
            if isinstance(raw, bool) or not isinstance(raw, int | float):
                raise self.refusal(entry.name, "a plain number is needed", remedy=_example(entry))
            value = float(raw)
        else:
            if isinstance(raw, bool) or not isinstance(raw, str | int | float):
                raise self.refusal(entry.name, "a number with its unit is needed", remedy=_example(entry))
            # Read as text first, so that the message about control characters and blanks is the one of all files.
            text = self._table.text(entry.name, example=f"1 {entry.unit}") if isinstance(raw, str) else str(raw)
            value = parse_quantity(text, entry.dimension, where=self.at(entry.name))
        self._demand_possible(entry, value)
        return value

    def _demand_possible(self, entry: Key, value: float) -> None:
        if not math.isfinite(value):
            raise self.refusal(entry.name, "the number is not finite", remedy=_example(entry))
        if entry.possible is not None and not _inside(entry, value, entry.possible):
            written = str(self._table.raw(entry.name))
            raise OutOfRangeError(f"only {entry.says_range(entry.possible)} is possible", where=self.at(entry.name),
                                  value=written, remedy="check the number and its unit")  # fmt: skip


def _below(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key


def _inside(entry: Key, value: float, ends: tuple[float, float]) -> bool:
    """Whether a number is inside a range, but for the rounding of a conversion."""
    low, high = entry.in_si(ends[0]), entry.in_si(ends[1])
    slack = _ROUNDING * max(abs(low), abs(high))
    return low - slack <= value <= high + slack


def _whole(sheet: Sheet, key: str, raw: object) -> tuple[int, ...]:
    values = cast("list[object]", raw) if isinstance(raw, list) else []
    if not values or not all(type(value) is int and value >= 1 for value in values):
        remedy = f"write for example {key} = {'[[1, 4], [2, 3]]' if key == 'groups' else '[1, 3, 4, 2]'}"
        raise sheet.refusal(key, "whole numbers from 1 in brackets are needed", remedy=remedy)
    return tuple(cast("list[int]", values))


def _example(entry: Key) -> str:
    """Line that would do."""
    ends = entry.usual or entry.possible or (1.0, 1.0)
    number = entry.default if isinstance(entry.default, int | float) else (ends[0] + ends[1]) / 2.0
    if entry.kind is Kind.ROW:
        return f'write for example {entry.name} = "{ends[0]:g} {ends[1]:g} {entry.unit}"'
    quantity = f'"{number:g} {entry.unit}"' if entry.unit else f"{number:g}"
    return f"write for example {entry.name} = {quantity}"
