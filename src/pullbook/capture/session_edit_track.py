"""Where the places that some edits put something into have come to lie when all of them are made."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, cast

from pullbook.capture.session_edit_places import read_place
from pullbook.capture.session_edit_plain import insert_plain, value_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pullbook.capture.session_edit import Edit
    from pullbook.quantities.toml_statements import Path

__all__ = ["edited_places"]


def edited_places(values: Mapping[str, object], edits: Iterable[Edit]) -> list[tuple[Path, bool]]:
    """Places of the edited file that were set, unset or added, and whether each was added.

    Parameters
    ----------
    values : mapping of str to object
        What the file said before the edits.
    edits : iterable of Edit
        The edits, in their order.

    Returns
    -------
    list of (tuple, bool)
        Paths in the edited file; what was taken out again is not there.
    """
    counted = copy.deepcopy(dict(values))
    places: list[tuple[Path, bool]] = []
    for edit in edits:
        path = read_place(edit.at)
        if edit.do == "add":
            path = _entry(counted, path)
            insert_plain(counted, path, {})
            places = [(_inserted(place, path), added) for place, added in places]
            places.append((path, True))
        elif edit.do == "remove":
            cast("list[object]", value_at(counted, path[:-1])).pop(int(path[-1]) - 1)
            places = [(_removed(place, path), added) for place, added in places if place[: len(path)] != path]
        elif edit.do == "move":
            to = (*path[:-1], cast("int", edit.value))
            places = [(_moved(place, path, to), added) for place, added in places]
        elif edit.do in {"set", "unset"}:
            places.append((path, False))
    return places


def _entry(values: dict[str, object], path: Path) -> Path:
    """Path of an entry to be added, with its number."""
    if isinstance(path[-1], int):
        return path
    entries = value_at(values, path)
    return (*path, len(cast("list[object]", entries)) + 1 if isinstance(entries, list) else 1)


def _inserted(place: Path, path: Path) -> Path:
    return _shifted(place, path, 1, past=_number(path) - 1)


def _removed(place: Path, path: Path) -> Path:
    return _shifted(place, path, -1, past=_number(path))


def _moved(place: Path, path: Path, to: Path) -> Path:
    if place[: len(path)] == path:
        return (*to, *place[len(path) :])
    return _inserted(_removed(place, path), to)


def _shifted(place: Path, path: Path, by: int, *, past: int) -> Path:
    """Place with its number in the list of a path changed, where it comes past a number."""
    at = len(path) - 1
    number = place[at] if len(place) > at and place[:at] == path[:at] else None
    return (*place[:at], number + by, *place[at + 1 :]) if isinstance(number, int) and number > past else place


def _number(path: Path) -> int:
    return cast("int", path[-1])
