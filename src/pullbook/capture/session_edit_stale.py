"""Edits that were made on a text that has changed since: whether they still mean the same."""

from __future__ import annotations

import copy
from contextlib import suppress
from typing import TYPE_CHECKING

from pullbook.capture.session_edit_places import LISTS, place_text, plain_value, read_place
from pullbook.capture.session_edit_plain import insert_plain, move_plain, remove_plain, same_values, value_at
from pullbook.capture.session_edit_record import ABSENT
from pullbook.capture.session_edit_values import value_text
from pullbook.errors import ConflictError, InputError
from pullbook.quantities.toml_words import written

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pullbook.capture.session_edit_record import Edit
    from pullbook.quantities.toml_statements import Path

__all__ = ["conflict", "demand_same"]


def demand_same(base: Mapping[str, object] | None, now: Mapping[str, object], edits: Iterable[Edit]) -> None:
    """Refuse edits of which one would touch something else than its maker saw.

    Parameters
    ----------
    base : mapping of str to object or None
        What the file said when the edits were made; None where nobody knows any more.
    now : mapping of str to object
        What it says now.
    edits : iterable of Edit
        The edits.

    Raises
    ------
    ConflictError
        If what an edit touches, or the entry of a list that it stands in, is not the same; where nobody knows, if the
        edit does not say itself what it was made on, or stands in an entry of a list.
    """
    seen = None if base is None else copy.deepcopy(dict(base))
    there = copy.deepcopy(dict(now))
    for edit in edits:
        path = read_place(edit.at)
        if not _means_the_same(seen, there, path, edit):
            raise conflict(path, value_at(there, path), edit.value)
        for values in (there,) if seen is None else (seen, there):
            _follow(values, path, edit)


def conflict(path: Path, there: object, value: object) -> ConflictError:
    """Refusal of an edit of a place that somebody else has changed.

    Parameters
    ----------
    path : tuple of (str or int)
        The place.
    there : object
        What stands there now; None for nothing.
    value : object
        What was to stand there.
    """
    return ConflictError(
        "somebody else has changed this meanwhile", where=f"session.toml: {place_text(path)}",
        value="" if there is None else written(there),
        remedy="look at what stands there now, and change it again if it has to be",
        yours="" if value is None else value_text(plain_value(path, value)),
        theirs="" if there is None else value_text(there),
    )  # fmt: skip


def _follow(values: dict[str, object], path: Path, edit: Edit) -> None:
    """Let the numbers of entries change as the edit changes them; what cannot be done is refused later."""
    with suppress(InputError):
        if edit.do == "add":
            insert_plain(values, path, {})
        elif edit.do == "remove":
            remove_plain(values, path)
        elif edit.do == "move" and isinstance(edit.value, int):
            move_plain(values, path, edit.value)


def _means_the_same(base: Mapping[str, object] | None, now: Mapping[str, object], path: Path, edit: Edit) -> bool:
    at_the_end = edit.do == "add" and not isinstance(path[-1], int)
    in_a_line = path[0] in LISTS and len(path) > 1
    if base is None:  # another line may stand at the place by now, with the same value in it
        return at_the_end or (edit.was is not ABSENT and not in_a_line)
    if in_a_line and _identity(base, path) != _identity(now, path):
        return False
    return at_the_end or same_values(value_at(base, path), value_at(now, path))


def _identity(values: Mapping[str, object], path: Path) -> tuple[object, ...]:
    """What tells an entry of a list from the others."""
    return tuple(value_at(values, (*path[:2], key)) for key in ("name", "id", "file", "which"))
