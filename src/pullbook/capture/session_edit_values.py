"""Values of a session file as a person writes them, and changes inside a value that leave the rest of it alone."""

from __future__ import annotations

import tomllib
from datetime import date, datetime, time
from typing import TYPE_CHECKING

import tomlkit
from tomlkit.items import Array, InlineTable, Item

from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.capture.session_edit_lines import Path

__all__ = ["insert_inside", "key_text", "read_value", "remove_inside", "rename_inside", "set_inside", "value_text"]


def read_value(written: str) -> object:
    """Value that a piece of TOML stands for."""
    return tomllib.loads(f"v = {written}")["v"]


def key_text(key: str) -> str:
    """Key as it has to be written, in quotes where it needs them.

    Examples
    --------
    >>> key_text("runners"), key_text("inlet cam")
    ('runners', '"inlet cam"')
    """
    return tomlkit.key(key).as_string()


def value_text(value: object) -> str:
    r"""Value as a person writes it: lists and tables on one line, dates bare, text of several lines as such.

    Parameters
    ----------
    value : object
        Text, number, truth value, date, list or mapping.

    Returns
    -------
    str
        The TOML.

    Raises
    ------
    InputError
        If a session file has no place for such a value.

    Examples
    --------
    >>> value_text({"temperature": "24.1 degC", "pressure": "99.2 kPa"})
    '{ temperature = "24.1 degC", pressure = "99.2 kPa" }'
    >>> value_text(["340 mm", "260 mm"]), value_text(True)
    ('["340 mm", "260 mm"]', 'true')
    """
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool | int | float):
        return tomlkit.item(value).as_string()
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, dict):
        pairs = [f"{key_text(key)} = {value_text(below)}" for key, below in value.items() if below is not None]
        return _table(pairs)
    if isinstance(value, list | tuple):
        return f"[{', '.join(value_text(below) for below in value)}]"
    raise InputError("a session file has no such value", value=str(value), remedy="write text, a number or a list")


def set_inside(written: str, inner: Path, value: object) -> str:
    """Piece of TOML with one value in it set; what is not touched keeps its form.

    Parameters
    ----------
    written : str
        A value as it stands.
    inner : tuple of (str or int)
        Where in it; empty for all of it.
    value : object
        What to put there.

    Returns
    -------
    str
        The piece anew.

    Examples
    --------
    >>> print(set_inside("{ temperature = '24.1 degC' }", ("pressure",), "99.2 kPa"))
    { temperature = '24.1 degC', pressure = "99.2 kPa" }
    """
    if not inner:
        return value_text(value)
    item = tomlkit.value(written)
    step, rest = inner[0], inner[1:]
    if isinstance(item, InlineTable) and step not in item:
        return _table([*_pairs(item), f"{key_text(str(step))} = {value_text(_nested(rest, value))}"])
    return _deeper(item, inner, lambda below: set_inside(below, rest, value))


def insert_inside(written: str, inner: Path, value: object) -> str:
    """Piece of TOML with an entry put into a list in it, before the entry that the path names or at the end.

    Parameters
    ----------
    written : str
        A value as it stands.
    inner : tuple of (str or int)
        Path of a list in it, or of an entry of one.
    value : object
        The new entry.

    Returns
    -------
    str
        The piece anew.

    Examples
    --------
    >>> insert_inside('["a", "b"]', (2,), "x")
    '["a", "x", "b"]'
    """
    item = tomlkit.value(written)
    if isinstance(item, Array) and (not inner or (len(inner) == 1 and isinstance(inner[0], int))):
        place = len(item) if not inner else int(inner[0]) - 1
        if not 0 <= place <= len(item):
            raise _no_place(inner)
        return _with_entry(item, place, value_text(value))
    return _deeper(item, inner, lambda below: insert_inside(below, inner[1:], value))


def remove_inside(written: str, inner: Path) -> str:
    """Piece of TOML without one key or entry in it.

    Parameters
    ----------
    written : str
        A value as it stands.
    inner : tuple of (str or int)
        Where in it; not empty.

    Returns
    -------
    str
        The piece anew.

    Examples
    --------
    >>> remove_inside('{ of = "A", from = "B" }', ("of",))
    '{ from = "B" }'
    """
    item = tomlkit.value(written)
    step = inner[0]
    if len(inner) > 1:
        return _deeper(item, inner, lambda below: remove_inside(below, inner[1:]))
    if isinstance(item, InlineTable) and step in item:
        return _table([pair for key, pair in zip(item, _pairs(item), strict=True) if key != step])
    if isinstance(item, Array) and isinstance(step, int) and 1 <= step <= len(item):
        return _without_entry(item, step - 1)
    raise _no_place(inner)


def rename_inside(written: str, inner: Path, key: str) -> str:
    """Piece of TOML with another name for one key of a table in it.

    Parameters
    ----------
    written : str
        A value as it stands.
    inner : tuple of (str or int)
        The key.
    key : str
        Its new name.

    Returns
    -------
    str
        The piece anew.

    Examples
    --------
    >>> rename_inside('{ runners = "340 mm", header = "4-1" }', ("runners",), "inlet runners")
    '{ "inlet runners" = "340 mm", header = "4-1" }'
    """
    item = tomlkit.value(written)
    if len(inner) > 1:
        return _deeper(item, inner, lambda below: rename_inside(below, inner[1:], key))
    step = next(iter(inner), None)
    if not isinstance(item, InlineTable) or step not in item:
        raise _no_place(inner)
    names = [key if name == step else name for name in item]
    values = [_written(item.value.item(name)) for name in item]
    return _table([f"{key_text(name)} = {value}" for name, value in zip(names, values, strict=True)])


def _deeper(item: Item, inner: Path, change: Callable[[str], str]) -> str:
    """The value with a change made to what stands at the first step of a path."""
    step = next(iter(inner), None)
    if isinstance(item, InlineTable) and isinstance(step, str) and step in item:
        item[step] = tomlkit.value(change(_written(item.value.item(step))))
        return item.as_string()
    if isinstance(item, Array) and isinstance(step, int) and 1 <= step <= len(item):
        item[step - 1] = tomlkit.value(change(_written(item[step - 1])))
        return item.as_string()
    raise _no_place(inner)


def _text(value: str) -> str:
    value = value.replace("\r\n", "\n").strip()
    if "\n" not in value:
        return tomlkit.string(value).as_string()
    lines = (tomlkit.string(line).as_string()[1:-1] for line in value.split("\n"))
    return '"""\n' + "\n".join(lines) + '"""'


def _nested(rest: Path, value: object) -> object:
    """Value inside the tables that have to be made for it."""
    for key in reversed(rest):
        if isinstance(key, int):
            raise _no_place(rest)
        value = {key: value}
    return value


def _written(item: object) -> str:
    """Entry as it stands; truth values come out of a list as plain Python."""
    return item.as_string() if isinstance(item, Item) else value_text(item)


def _pairs(table: InlineTable) -> list[str]:
    return [f"{key_text(key)} = {_written(table.value.item(key))}" for key in table]


def _table(pairs: Sequence[str]) -> str:
    return f"{{ {', '.join(pairs)} }}" if pairs else "{}"


def _with_entry(array: Array, place: int, written: str) -> str:
    entries = [_written(entry) for entry in array]
    entries.insert(place, written)
    return _array(array, entries, lambda: array.insert(place, tomlkit.value(written)))


def _without_entry(array: Array, place: int) -> str:
    entries = [_written(entry) for entry in array]
    del entries[place]
    return _array(array, entries, lambda: array.__delitem__(place))


def _array(array: Array, entries: Sequence[str], change: Callable[[], object]) -> str:
    """A list on one line is written anew; one on several lines is changed in place, if that comes out right."""
    one_line = f"[{', '.join(entries)}]"
    if "\n" not in array.as_string():
        return one_line
    change()
    changed = array.as_string()
    return changed if _same(changed, one_line) else "[\n" + "".join(f"    {entry},\n" for entry in entries) + "]"


def _same(written: str, wanted: str) -> bool:
    try:
        return read_value(written) == read_value(wanted)
    except tomllib.TOMLDecodeError:
        return False


def _no_place(inner: Path) -> InputError:
    return InputError("there is nothing at this place of the value", value=".".join(map(str, inner)),
                      remedy="read the file again: it may have changed")  # fmt: skip
