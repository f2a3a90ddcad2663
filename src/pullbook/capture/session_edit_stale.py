"""Edits that were made on a text that has changed since: whether they still mean the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.capture.session_edit import ABSENT
from pullbook.capture.session_edit_places import LISTS, plain_value, read_place
from pullbook.capture.session_edit_plain import same_values, value_at
from pullbook.capture.session_edit_values import value_text
from pullbook.errors import ConflictError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pullbook.capture.session_edit import Edit
    from pullbook.quantities.toml_statements import Path

__all__ = ["demand_same"]


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
        edit does not say itself what it was made on.
    """
    for edit in edits:
        path = read_place(edit.at)
        if not _means_the_same(base, now, path, edit):
            there = value_at(now, path)
            theirs = "" if there is None else value_text(there)
            raise ConflictError(
                "somebody else has changed this meanwhile", where=f"session.toml: {edit.at}", value=theirs,
                remedy="look at what stands there now, and change it again if it has to be",
                yours="" if edit.value is None else value_text(plain_value(path, edit.value)), theirs=theirs,
            )  # fmt: skip


def _means_the_same(base: Mapping[str, object] | None, now: Mapping[str, object], path: Path, edit: Edit) -> bool:
    at_the_end = edit.do == "add" and not isinstance(path[-1], int)
    if base is None:
        return at_the_end or edit.was is not ABSENT
    if path[0] in LISTS and len(path) > 1 and _identity(base, path) != _identity(now, path):
        return False
    return at_the_end or same_values(value_at(base, path), value_at(now, path))


def _identity(values: Mapping[str, object], path: Path) -> tuple[object, ...]:
    """What tells an entry of a list from the others."""
    return tuple(value_at(values, (*path[:2], key)) for key in ("name", "id", "file", "which"))
