"""Edits of the text of a session file that leave everything they do not touch as it was written."""

from __future__ import annotations

import copy
import tomllib
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Final, cast

from pullbook.capture.session_edit_lists import insert_entry, move_entry, remove_entry
from pullbook.capture.session_edit_names import renamed
from pullbook.capture.session_edit_pairs import set_value, unset_value
from pullbook.capture.session_edit_places import demand_known, place_text, plain_value, read_place
from pullbook.capture.session_edit_plain import (
    insert_plain,
    move_plain,
    remove_plain,
    same_values,
    set_plain,
    value_at,
)
from pullbook.capture.session_edit_values import value_text
from pullbook.capture.session_plain import json_value
from pullbook.errors import ConflictError, InputError, SessionFileError
from pullbook.quantities.toml_table import nearest
from pullbook.quantities.toml_text import load_toml

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pullbook.capture.session_edit_lines import Path

__all__ = ["ABSENT", "Absent", "Edit", "edit_session"]


class Absent(Enum):
    """The one value that says that nothing is given; None says that nothing was there."""

    ABSENT = "absent"


ABSENT: Final = Absent.ABSENT
_DOING: Final = ("set", "unset", "add", "remove", "move", "rename")


@dataclass(frozen=True, slots=True)
class Edit:
    """One change of a session file.

    Attributes
    ----------
    do : str
        ``set`` a key to a value; ``unset`` a key; ``add`` an entry to a list (``build``), or before one (``build[2]``);
        ``remove`` an entry; ``move`` an entry, `value` being its new number; ``rename`` a factor, level, build or
        claim with everything that refers to it, `value` being its new name.
    at : str
        Key path with entries counted from 1, as in ``pull[3].air.pressure``.
    value : object
        Text, number, truth value, list or mapping; dates as such or as ISO text.
    was : object
        What stood there when the edit was made, for noticing that somebody else has changed it; None for nothing.
        Not looked at where it is `ABSENT`.
    """

    do: str
    at: str
    value: object = None
    was: object = ABSENT


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
    values = load_toml(text, where="session.toml")
    for edit in edits:
        path = read_place(edit.at)
        _demand_unchanged(values, path, edit)
        text, values = _edited(text, values, path, edit)
    said = _read(text)
    if said is None or not same_values(said, values):
        raise InputError("the file is written in a form that cannot be edited piece by piece", where="session.toml",
                         remedy="edit the text of the file")  # fmt: skip
    return text


def _read(text: str) -> dict[str, object] | None:
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError:
        return None


def _demand_unchanged(values: dict[str, object], path: Path, edit: Edit) -> None:
    if edit.was is ABSENT:
        return
    there = value_at(values, path)
    if json_value(there) != json_value(edit.was):
        raise ConflictError(
            "somebody else has changed this meanwhile", where=place_text(path),
            value="" if there is None else value_text(there),
            remedy="look at what stands there now, and change it again if it has to be",
            yours="" if edit.value is None else value_text(plain_value(path, edit.value)),
            theirs="" if there is None else value_text(there),
        )  # fmt: skip


def _edited(text: str, values: dict[str, object], path: Path, edit: Edit) -> tuple[str, dict[str, object]]:
    """File and its values after one edit."""
    factors = [str(table.get("name")) for table in _tables(values, "factor")]
    values = copy.deepcopy(values)
    if edit.do == "unset" or (edit.do == "set" and edit.value is None):
        remove_plain(values, path)
        return unset_value(text, path), values
    if edit.do == "remove":
        remove_plain(values, path)
        return remove_entry(text, path), values
    if edit.do == "move":
        to = _number(edit)
        move_plain(values, path, to)
        return move_entry(text, path, to), values
    if edit.do == "rename":
        return renamed(text, values, path, _name(edit))
    return _put(text, values, path, edit, factors)


def _put(
    text: str, values: dict[str, object], path: Path, edit: Edit, factors: list[str]
) -> tuple[str, dict[str, object]]:
    value = plain_value(path, edit.value)
    demand_known(path, value, factors)
    if edit.do == "set":
        set_plain(values, path, value)
        return set_value(text, path, value, factors), values
    if edit.do == "add":
        insert_plain(values, path, value)
        return insert_entry(text, path, value, factors), values
    raise SessionFileError("there is no such edit", value=edit.do, remedy=nearest(edit.do, _DOING))


def _tables(values: dict[str, object], key: str) -> list[dict[str, object]]:
    entries = values.get(key)
    return (
        [cast("dict[str, object]", one) for one in entries if isinstance(one, dict)]
        if isinstance(entries, list)
        else []
    )


def _number(edit: Edit) -> int:
    if isinstance(edit.value, bool) or not isinstance(edit.value, int):
        raise InputError("a place in the order is a whole number", where=edit.at, value=str(edit.value),
                         remedy="count from 1")  # fmt: skip
    return edit.value


def _name(edit: Edit) -> str:
    if not isinstance(edit.value, str) or not edit.value.strip():
        raise InputError("the new name is missing", where=edit.at, remedy="write a name")
    return edit.value.strip()
