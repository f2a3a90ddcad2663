"""The same edits on plain values: what an edited file has to say when it is read again."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, cast

from pullbook.capture.session_edit_places import place_text
from pullbook.errors import InputError

if TYPE_CHECKING:
    from pullbook.quantities.toml_statements import Path

__all__ = ["insert_plain", "move_plain", "remove_plain", "same_values", "set_plain", "value_at"]

_Plain = dict[str, object] | list[object]


def value_at(values: object, path: Path) -> object:
    """Value at a place; None where there is none."""
    for step in path:
        if isinstance(step, str) and isinstance(values, dict):
            values = cast("dict[str, object]", values).get(step)
        elif isinstance(step, int) and isinstance(values, list) and 1 <= step <= len(values):
            values = values[step - 1]
        else:
            return None
    return values


def set_plain(values: dict[str, object], path: Path, value: object) -> None:
    """Set a value; tables on the way to it are made, entries of lists are not."""
    table: object = values
    for step in path[:-1]:
        if isinstance(step, str) and isinstance(table, dict) and step not in table:
            table[step] = {}
        table = value_at(table, (step,))
    step = path[-1]
    if isinstance(step, str) and isinstance(table, dict):
        table[step] = value
    elif isinstance(step, int) and isinstance(table, list) and 1 <= step <= len(table):
        table[step - 1] = value
    else:
        raise _nothing(path)


def remove_plain(values: dict[str, object], path: Path) -> object:
    """Take a key or an entry out, and give it."""
    table, step = value_at(values, path[:-1]), path[-1]
    if isinstance(step, str) and isinstance(table, dict) and step in table:
        return cast("dict[str, object]", table).pop(step)
    if isinstance(step, int) and isinstance(table, list) and 1 <= step <= len(table):
        return cast("list[object]", table).pop(step - 1)
    raise _nothing(path)


def insert_plain(values: dict[str, object], path: Path, value: object) -> None:
    """Put an entry into a list: before the entry that the path names, or at the end."""
    number = path[-1] if isinstance(path[-1], int) else 0
    place = path[:-1] if number else path
    entries = value_at(values, place)
    if entries is None and number <= 1:
        entries = []
        set_plain(values, place, entries)
    if not isinstance(entries, list) or number > len(entries) + 1:
        raise _nothing(path)
    cast("list[object]", entries).insert(number - 1 if number else len(entries), value)


def move_plain(values: dict[str, object], path: Path, to: int) -> None:
    """Give an entry of a list another number."""
    entries = value_at(values, path[:-1])
    if not isinstance(entries, list) or not isinstance(path[-1], int):
        raise _nothing(path)
    if not 1 <= to <= len(entries):
        raise InputError("there is no such place in the order", where=f"session.toml: {place_text(path)}",
                         value=str(to), remedy=f"choose one from 1 to {len(entries)}")  # fmt: skip
    entries.insert(to - 1, remove_plain(values, path))


def same_values(one: object, other: object) -> bool:
    """Whether two files say the same; a table or list with nothing in it says nothing."""
    return _told(one) == _told(other)


def _told(value: object) -> str:
    return json.dumps(_pruned(value), sort_keys=True, default=lambda day: f"{type(day).__name__} {day}")


def _pruned(value: object) -> object:
    if isinstance(value, dict):
        below = {key: _pruned(entry) for key, entry in cast("dict[str, object]", value).items()}
        return {key: entry for key, entry in below.items() if entry not in ({}, [])}
    if isinstance(value, list):
        return [_pruned(entry) for entry in cast("list[object]", value)]
    return value


def _nothing(path: Path) -> InputError:
    return InputError("nothing stands at this place", where=f"session.toml: {place_text(path)}",
                      remedy="read the file again: it may have changed")  # fmt: skip
