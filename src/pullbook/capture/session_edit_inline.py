"""Changes inside a value of a session file, in a list or an inline table: the rest of it stays as written."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.capture.session_edit_values import key_text, value_text
from pullbook.errors import InputError
from pullbook.quantities.toml_items import items_of
from pullbook.quantities.toml_statements import KEY

if TYPE_CHECKING:
    from pullbook.quantities.toml_items import Item
    from pullbook.quantities.toml_statements import Path

__all__ = ["insert_inside", "remove_inside", "rename_inside", "set_inside"]

_COMMA: Final = re.compile(r"\s*,")
_REST_OF_LINE: Final = re.compile(r"[^\n]*")


def set_inside(written: str, inner: Path, value: object) -> str:
    """Piece of TOML with one value in it set.

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

    Raises
    ------
    InputError
        If the path leads through something that is no table or list, or past the end of a list.

    Examples
    --------
    >>> print(set_inside("{temperature='24.1 degC'}", ("pressure",), "99.2 kPa"))
    {temperature='24.1 degC', pressure = "99.2 kPa"}
    """
    if not inner:
        return value_text(value)
    item, rest = _way(written, inner)
    if item is not None:
        return written[: item.at] + set_inside(written[item.at : item.end], rest, value) + written[item.end :]
    if not written.startswith("{"):
        raise _no_place(inner)
    items = items_of(written)
    shared = max((_shared(one.keys, inner) for one in items), default=0)
    length = max(1, shared) if shared < len(inner) else len(inner)
    key = ".".join(key_text(str(step)) for step in inner[: length + 1 if shared else length])
    pair = f"{key} = {value_text(_nested(inner[length + 1 if shared else length :], value))}"
    return f"{written[: items[-1].end]}, {pair}{written[items[-1].end :]}" if items else f"{{ {pair} }}"


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

    Raises
    ------
    InputError
        If there is no list at the place, or it is shorter.

    Examples
    --------
    >>> insert_inside('["a", "b"]', (2,), "x"), insert_inside('["a", "b"]', (), "x")
    ('["a", "x", "b"]', '["a", "b", "x"]')
    """
    if written.startswith("[") and (not inner or (len(inner) == 1 and isinstance(inner[0], int))):
        items = items_of(written)
        place = int(next(iter(inner), len(items) + 1))
        if not 1 <= place <= len(items) + 1:
            raise _no_place(inner)
        if place <= len(items):
            return _before(written, items[place - 1], value_text(value))
        return _behind(written, items[-1], value_text(value)) if items else f"[{value_text(value)}]"
    item, rest = _way(written, inner)
    if item is None:
        raise _no_place(inner)
    return written[: item.at] + insert_inside(written[item.at : item.end], rest, value) + written[item.end :]


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
        The piece anew; a table or list in it that nothing is left in goes too.

    Raises
    ------
    InputError
        If there is nothing at the place.

    Examples
    --------
    >>> remove_inside('{ of = "A", from = "B" }', ("of",)), remove_inside('["a", "b"]', (2,))
    ('{ from = "B" }', '["a"]')
    """
    items = items_of(written)
    item, rest = _way(written, inner)
    if item is not None and rest:
        left = remove_inside(written[item.at : item.end], rest)
        if left not in {"{}", "[]"} or not item.keys:
            return written[: item.at] + left + written[item.end :]
    gone = [one for one in items if one is item or one.begin == (item.begin if item else -1)]
    gone = gone or [one for one in items if one.keys and one.keys[: len(inner)] == inner]
    if not gone:
        raise _no_place(inner)
    for one in reversed(gone):
        written = _without(written, items_of(written), items.index(one))
    return written


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

    Raises
    ------
    InputError
        If there is no such key.

    Examples
    --------
    >>> rename_inside('{ runners = "340 mm", header = "4-1" }', ("runners",), "inlet runners")
    '{ "inlet runners" = "340 mm", header = "4-1" }'
    """
    item, rest = _way(written, inner)
    if item is None:
        raise _no_place(inner)
    if rest:
        return written[: item.at] + rename_inside(written[item.at : item.end], rest, key) + written[item.end :]
    *_, last = KEY.finditer(written, item.begin, written.index("=", _end_of_keys(written, item)))
    return written[: last.start()] + key_text(key) + written[last.end() :]


def _end_of_keys(written: str, item: Item) -> int:
    """Where the keys of an item end: the equals sign may stand in quotes before."""
    place = item.begin
    for _ in item.keys:
        found = KEY.search(written, place)
        place = found.end() if found else place
    return place


def _way(written: str, inner: Path) -> tuple[Item | None, Path]:
    """Item that holds a place, and the way on from its value."""
    for number, item in enumerate(items_of(written), start=1):
        if item.keys and inner[: len(item.keys)] == item.keys:
            return item, inner[len(item.keys) :]
        if not item.keys and inner[:1] == (number,):
            return item, inner[1:]
    return None, ()


def _shared(keys: tuple[str, ...], inner: Path) -> int:
    """How many keys an item that is written by dots shares with a place that is not there yet."""
    count = 0
    for one, other in zip(keys[:-1], inner[:-1], strict=False):
        if one != other:
            break
        count += 1
    return count


def _before(written: str, item: Item, entry: str) -> str:
    head = written[: item.begin]
    indent = head[len(head.rstrip(" \t")) :]
    between = f",\n{indent}" if head.rstrip(" \t").endswith("\n") else ", "
    return f"{head}{entry}{between}{written[item.begin :]}"


def _behind(written: str, last: Item, entry: str) -> str:
    """A list with an entry behind its last one: on a line of its own where that stands on one."""
    head = written[: last.begin]
    indent = head[len(head.rstrip(" \t")) :]
    if not head.rstrip(" \t").endswith("\n"):
        return f"{written[: last.end]}, {entry}{written[last.end :]}"
    comma = _COMMA.match(written, last.end)
    end = comma.end() if comma else last.end
    rest = _REST_OF_LINE.match(written, end)
    line_end = rest.end() if rest and "]" not in rest.group().partition("#")[0] else end
    between = written[last.end : end] if comma else ","
    ending = "," if comma else ""
    return f"{written[: last.end]}{between}{written[end:line_end]}\n{indent}{entry}{ending}{written[line_end:]}"


def _without(written: str, items: list[Item], at: int) -> str:
    item = items[at]
    if len(items) == 1:
        return written[0] + written[-1]
    if at + 1 < len(items):
        return written[: item.begin] + written[items[at + 1].begin :]
    line = written.rfind("\n", items[at - 1].end, item.begin)
    if line < 0:
        return written[: items[at - 1].end] + written[item.end :]
    comma = _COMMA.match(written, item.end)
    end = comma.end() if comma else item.end
    rest = _REST_OF_LINE.match(written, end)
    line_end = rest.end() if rest and "]" not in rest.group().partition("#")[0] else end
    return written[:line] + written[line_end:]


def _nested(rest: Path, value: object) -> object:
    """Value inside the tables that have to be made for it."""
    for key in reversed(rest):
        if isinstance(key, int):
            raise _no_place(rest)
        value = {key: value}
    return value


def _no_place(inner: Path) -> InputError:
    return InputError("there is nothing at this place of the value", value=".".join(map(str, inner)),
                      remedy="read the file again: it may have changed")  # fmt: skip
