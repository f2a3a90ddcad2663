"""Edits of the text of a session file that leave everything they do not touch as it was written."""

from __future__ import annotations

import tomllib
from itertools import groupby
from typing import TYPE_CHECKING, Final, cast

from pullbook.capture.session_edit_lists import insert_entries, move_entry, remove_entry
from pullbook.capture.session_edit_names import factor_names, renamed, without_levels
from pullbook.capture.session_edit_pairs import set_value, unset_value
from pullbook.capture.session_edit_places import LISTS, demand_known, ordered, place_text, plain_value, read_place
from pullbook.capture.session_edit_plain import (
    insert_plain,
    move_plain,
    remove_plain,
    same_values,
    set_plain,
    value_at,
)
from pullbook.capture.session_edit_record import ABSENT, Absent, Edit
from pullbook.capture.session_edit_stale import conflict
from pullbook.capture.session_new import new_session
from pullbook.capture.session_plain import json_value
from pullbook.errors import InputError
from pullbook.quantities.toml_table import nearest
from pullbook.quantities.toml_text import load_toml

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pullbook.quantities.toml_statements import Path

__all__ = ["ABSENT", "Absent", "Edit", "edit_session", "new_session"]


_DOING: Final = ("set", "unset", "add", "remove", "move", "rename")


def edit_session(text: str, edits: Iterable[Edit]) -> str:
    r"""Text of a session file with some edits made, one after the other.

    Whether the result is a sound session is not asked here; `find_problems` says so.

    Parameters
    ----------
    text : str
        The file, sound TOML.
    edits : iterable of Edit
        What to change; places count in the file as the edits before have left it.

    Returns
    -------
    str
        The file anew. Statements that are not touched are the same, byte for byte.

    Raises
    ------
    SessionFileError
        If the text is no TOML, or a key is none of a session file.
    ConflictError
        If something else stands at a place than the edit says.
    InputError
        If there is nothing at a place, or the file is written in a form that cannot be edited piece by piece.

    Examples
    --------
    >>> print(edit_session('[session]  # ours\ntitle = "Runners"\n', [Edit("set", "session.date", "2026-05-04")]))
    [session]  # ours
    title = "Runners"
    date = 2026-05-04
    <BLANKLINE>
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    text = text.removeprefix(mark)
    values = load_toml(text, where="session.toml")
    for _, run in groupby(edits, key=_run):
        same = list(run)
        if same[0].do == "add":
            text = _added(text, values, same)
            continue
        for edit in same:
            path = read_place(edit.at)
            _demand_unchanged(values, path, edit)
            text = _edited(text, values, path, edit)
    if not _says(text, values):
        raise InputError("the file is written in a form that cannot be edited piece by piece", where="session.toml",
                         remedy="edit the text of the file")  # fmt: skip
    return mark + text


def _says(text: str, values: dict[str, object]) -> bool:
    """Whether a text says what it should: the proof of every edit."""
    try:
        return same_values(tomllib.loads(text), values)
    except tomllib.TOMLDecodeError:
        return False


def _run(edit: Edit) -> tuple[str, str]:
    """Equal for edits that can be made at once: entries that are added at the end of one list."""
    return edit.do, edit.at if edit.do == "add" else ""


def _added(text: str, values: dict[str, object], edits: list[Edit]) -> str:
    """File with entries added to one list, the first one first."""
    path = read_place(edits[0].at)
    factors = factor_names(values)
    entry = path if isinstance(path[-1], int) else (*path, 1)
    added: list[object] = []
    for edit in edits:
        _demand_unchanged(values, path, edit)
        value = plain_value(entry, edit.value)
        demand_known(entry, value, factors)
        insert_plain(values, path, value)
        added.append(ordered(entry, value, factors))
    return insert_entries(text, path, added)


def _demand_unchanged(values: dict[str, object], path: Path, edit: Edit) -> None:
    if edit.was is ABSENT or (edit.do == "add" and not isinstance(path[-1], int)):
        return  # whoever adds at the end of a list changes nothing of what stands there
    there = value_at(values, path)
    if json_value(there) != json_value(edit.was):
        raise conflict(path, there, edit.value)


def _edited(text: str, values: dict[str, object], path: Path, edit: Edit) -> str:
    """File after one edit; its values change with it."""
    match edit.do:
        case "set" | "unset":
            value = None if edit.do == "unset" else plain_value(path, edit.value)
            return _put(text, values, path, value)
        case "remove":
            text = without_levels(text, values, path)
            remove_plain(values, path)
            return remove_entry(text, path)
        case "move":
            to = _number(edit)
            move_plain(values, path, to)
            return move_entry(text, path, to)
        case "rename":
            return renamed(text, values, path, _name(edit))
        case _:
            raise InputError("there is no such edit", value=edit.do, remedy=nearest(edit.do, _DOING))


def _put(text: str, values: dict[str, object], path: Path, value: object) -> str:
    """File with a value set, or taken out where it is None; of a table only what differs."""
    there = value_at(values, path)
    if value is None and there is None:
        return text
    if len(path) == 1 or isinstance(path[-1], int):
        _demand_kind(path, value, there)
    if isinstance(value, dict) and isinstance(there, dict) and value and there:
        new, old = cast("dict[str, object]", value), cast("dict[str, object]", there)
        for key in [*(key for key in old if key not in new), *new]:
            text = _put(text, values, (*path, key), new.get(key))
        return text
    if value is None:
        remove_plain(values, path)
        return unset_value(text, path)
    factors = factor_names(values)
    demand_known(path, value, factors)
    if there is not None and same_values([there], [value]):
        return text
    set_plain(values, path, value)
    return set_value(text, path, ordered(path, value, factors), factors)


def _demand_kind(path: Path, value: object, there: object) -> None:
    """Refuse a value in place of a table, and one table in place of a list of them."""
    where = f"session.toml: {place_text(path)}"
    if path[-1] in LISTS:
        raise InputError("this is a list of tables", where=where, remedy="add, remove and move its entries")
    table = len(path) == 1 or (len(path) == 2 and path[0] in LISTS)
    if table and value is None and len(path) == 2:
        raise InputError("this is an entry of a list", where=where, remedy="remove it")
    if table and value is not None and not isinstance(value, dict):
        raise InputError("a table is needed here, not a value", where=where, remedy="give its keys")
    if isinstance(path[-1], int) and there is None:
        raise InputError("there is no such entry", where=where, remedy="read the file again: it may have changed")


def _number(edit: Edit) -> int:
    if isinstance(edit.value, bool) or not isinstance(edit.value, int):
        raise InputError("a place in the order is a whole number", where=f"session.toml: {edit.at}",
                         value=str(edit.value), remedy="count from 1")  # fmt: skip
    return edit.value


def _name(edit: Edit) -> str:
    name = plain_value((), edit.value)
    if not isinstance(name, str) or not name or not name.isprintable():
        raise InputError("a name is needed, of one line", where=f"session.toml: {edit.at}", value=str(edit.value),
                         remedy="write a name")  # fmt: skip
    return name
