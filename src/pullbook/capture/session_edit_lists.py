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

__all__ = ["insert_entry", "move_entry", "remove_entry"]


def insert_entry(text: str, path: Path, value: object, factors: Sequence[str]) -> str:
    """File with one more entry in a list.

    Parameters
    ----------
    text : str
        The file.
    path : tuple of (str or int)
        The list, or the entry before which the new one comes.
    value : object
        The entry.
    factors : sequence of str
        Names of the factors, for the order of levels.

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
        pair = statements[at]
        return with_value(statements, at, insert_inside(pair.value, path[len(pair.path) :], value))
    kind, *number = path
    if kind in LISTS and len(number) <= 1:
        there = path in {one.path for one in statements}
        return insert_chunk(text, str(kind), _entry(path, value), before=int(number[0]) if there else 0)
    return _anew(text, path, factors, lambda values: insert_plain(values, path, value))


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
    return _anew(text, path, (), lambda values: remove_plain(values, path))


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
    return _anew(text, path, (), lambda values: move_plain(values, path, to))


def _anew(text: str, path: Path, factors: Sequence[str], change: Callable[[dict[str, object]], object]) -> str:
    """File in which the list around a place is written anew, as the value of one key."""
    values = load_toml(text, where="session.toml")
    change(values)
    place = path
    while isinstance(place[-1], int):
        place = place[:-1]
    return set_value(text, place, value_at(values, place), factors)
