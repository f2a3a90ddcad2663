"""Entries of lists in a session file: ``[[pull]]`` and its like, and lists in the value of a key."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from pullbook.capture.session_edit_chunks import insert_chunk, move_chunk, remove_chunk
from pullbook.capture.session_edit_inline import insert_inside, remove_inside
from pullbook.capture.session_edit_pairs import covering, set_value, unset_value, with_value
from pullbook.capture.session_edit_places import LISTS, place_text
from pullbook.capture.session_edit_plain import insert_plain, move_plain, remove_plain, value_at
from pullbook.capture.session_edit_values import key_text, value_text
from pullbook.errors import InputError
from pullbook.quantities.toml_statements import cut
from pullbook.quantities.toml_text import load_toml

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.quantities.toml_statements import Path

__all__ = ["insert_entries", "move_entry", "remove_entry"]


def insert_entries(text: str, path: Path, values: Sequence[object]) -> str:
    """File with more entries in a list.

    Parameters
    ----------
    text : str
        The file.
    path : tuple of (str or int)
        The list, or the entry before which the new ones come, the last one first.
    values : sequence of object
        The entries.

    Returns
    -------
    str
        The file anew.

    Raises
    ------
    InputError
        If the entry is no table where one is needed.
    """
    statements = cut(text)
    at = covering(statements, path)
    if at >= 0:
        written = statements[at].value
        for value in values:
            written = insert_inside(written, path[len(statements[at].path) :], value)
        return with_value(statements, at, written)
    kind, *number = path
    if kind in LISTS and len(number) <= 1:
        there = path in {one.path for one in statements}
        entries = [_entry(path, value) for value in (reversed(values) if number else values)]
        return insert_chunk(text, str(kind), "\n".join(entries), before=int(number[0]) if there else 0)

    def put_in(plain: dict[str, object]) -> None:
        for value in values:
            insert_plain(plain, path, value)

    return _anew(text, path, put_in)


def _entry(path: Path, value: object) -> str:
    """Entry as a table in double brackets."""
    if not isinstance(value, dict):
        raise InputError("a table is needed here, not a value", where=f"session.toml: {place_text(path)}",
                         value=str(value), remedy="give its keys")  # fmt: skip
    pairs = cast("dict[str, object]", value).items()
    return "\n".join([f"[[{path[0]}]]", *(f"{key_text(key)} = {value_text(below)}" for key, below in pairs), ""])


def remove_entry(text: str, path: Path) -> str:
    """File without an entry of a list.

    Parameters
    ----------
    text : str
        The file.
    path : tuple of (str or int)
        The entry.

    Returns
    -------
    str
        The file anew.
    """
    statements = cut(text)
    at = covering(statements, path)
    if at >= 0 and statements[at].path != path:
        pair = statements[at]
        left = remove_inside(pair.value, path[len(pair.path) :])
        return with_value(statements, at, left) if left != "[]" else unset_value(text, pair.path)
    if path[0] in LISTS and len(path) == 2:
        return remove_chunk(text, path)
    return _anew(text, path, lambda values: remove_plain(values, path))


def move_entry(text: str, path: Path, to: int) -> str:
    """File with an entry of a list at another place in it.

    Parameters
    ----------
    text : str
        The file.
    path : tuple of (str or int)
        The entry.
    to : int
        Number that it is to have, from 1. [1]

    Returns
    -------
    str
        The file anew.
    """
    if covering(cut(text), path) < 0 and path[0] in LISTS and len(path) == 2:
        return move_chunk(text, path, to)
    return _anew(text, path, lambda values: move_plain(values, path, to))


def _anew(text: str, path: Path, change: Callable[[dict[str, object]], object]) -> str:
    """File in which the list around a place is written anew, as the value of one key."""
    values = load_toml(text, where="session.toml")
    change(values)
    place = path
    while isinstance(place[-1], int):
        place = place[:-1]
    return set_value(text, place, value_at(values, place), ())
