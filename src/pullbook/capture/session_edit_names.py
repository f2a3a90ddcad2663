"""A factor, level, build or claim renamed, with everything that refers to it."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING

from pullbook.capture.session_edit_lines import cut
from pullbook.capture.session_edit_pairs import covering, set_value, with_key, with_value
from pullbook.capture.session_edit_places import place_text
from pullbook.capture.session_edit_plain import set_plain, value_at
from pullbook.capture.session_edit_values import rename_inside
from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.capture.session_edit_lines import Path

__all__ = ["renamed"]


def renamed(text: str, values: dict[str, object], path: Path, name: str) -> tuple[str, dict[str, object]]:
    """File and values with another name for something that others refer to.

    Parameters
    ----------
    text : str
        The file.
    values : dict of str to object
        What it says.
    path : tuple of (str or int)
        ``build[2]``, ``factor[1]``, ``claim[3]`` (or the name in it), or a level as ``factor[1].levels[2]``.
    name : str
        The new name.

    Returns
    -------
    tuple of (str, dict)
        Both anew.

    Raises
    ------
    InputError
        If nothing with a name stands there.
    """
    place = _named(path)
    old = value_at(values, place)
    if not isinstance(old, str):
        raise InputError("nothing with a name stands at this place", where=place_text(path),
                         remedy="name a build, a factor, a level or a claim")  # fmt: skip
    if place[0] == "factor" and place[2:] == ("name",):
        text, values = _with_key(text, values, old, name)
    places = [place, *(one for one in _referring(values, place) if value_at(values, one) == old)]
    values = copy.deepcopy(values)
    for one in places:
        text = set_value(text, one, name, ())
        set_plain(values, one, name)
    return text, values


def _named(path: Path) -> Path:
    if len(path) == 2 and path[0] in {"build", "factor", "claim"}:
        return (*path, "id" if path[0] == "claim" else "name")
    return path


def _referring(values: dict[str, object], place: Path) -> Iterator[Path]:
    """Places that may hold the name."""
    if place[0] == "build" and place[2:] == ("name",):
        for number in _numbers(values, "pull"):
            yield ("pull", number, "build")
        for number in _numbers(values, "claim"):
            for key in ("of", "from"):
                yield ("claim", number, key)
                yield ("claim", number, "same_as", key)
    if place[0] == "factor" and place[2:3] == ("levels",):
        factor = value_at(values, ("factor", place[1], "name"))
        for number in _numbers(values, "build"):
            yield ("build", number, "levels", str(factor))


def _with_key(text: str, values: dict[str, object], old: str, name: str) -> tuple[str, dict[str, object]]:
    """File and values in which the builds name their level of a factor under another key."""
    values = copy.deepcopy(values)
    for number in _numbers(values, "build"):
        place: Path = ("build", number, "levels", old)
        levels = value_at(values, place[:-1])
        if not isinstance(levels, dict) or old not in levels:
            continue
        level = levels.pop(old)
        levels[name] = level
        statements = cut(text)
        at = covering(statements, place)
        pair = statements[at]
        inner = place[len(pair.path) :]
        if inner:
            text = with_value(statements, at, rename_inside(pair.value, inner, name))
        else:
            text = with_key(statements, at, name)
    return text, values


def _numbers(values: dict[str, object], key: str) -> range:
    entries = values.get(key)
    return range(1, len(entries) + 1) if isinstance(entries, list) else range(0)
