"""A factor, level, build or claim renamed, with everything that refers to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.capture.session_edit_inline import rename_inside
from pullbook.capture.session_edit_pairs import covering, set_everywhere, unset_value, with_key, with_value
from pullbook.capture.session_edit_places import place_text
from pullbook.capture.session_edit_plain import remove_plain, set_plain, value_at
from pullbook.errors import InputError
from pullbook.quantities.toml_statements import cut

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pullbook.quantities.toml_statements import Path

__all__ = ["factor_names", "lost_build", "renamed", "without_levels"]


def factor_names(values: dict[str, object]) -> list[str]:
    """Names of the factors of a file, in its order."""
    names = (value_at(values, ("factor", number, "name")) for number in _numbers(values, "factor"))
    return [name for name in names if isinstance(name, str)]


def renamed(text: str, values: dict[str, object], path: Path, name: str) -> str:
    """File with another name for something that others refer to; its values change with it.

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
    str
        The file anew.

    Raises
    ------
    InputError
        If nothing with a name stands there.
    """
    place = _named(path)
    old = value_at(values, place)
    if not isinstance(old, str) or place[0] not in {"build", "factor", "claim"}:
        raise InputError("nothing with a name stands at this place", where=f"session.toml: {place_text(path)}",
                         remedy="name a build, a factor, a level or a claim")  # fmt: skip
    if place[0] == "factor" and place[2:] == ("name",):
        text = _with_key(text, values, old, name)
    places = [place, *(one for one in _referring(values, place) if value_at(values, one) == old)]
    for one in places:
        set_plain(values, one, name)
    return set_everywhere(text, places, name)


def lost_build(before: Mapping[str, object], after: Mapping[str, object]) -> InputError | None:
    """Refusal of a build that is gone while pulls or claims are still about it; None where there is none.

    Parameters
    ----------
    before, after : mapping of str to object
        What the file said, and what it would say.
    """
    there = [value_at(after, ("build", number, "name")) for number in _numbers(after, "build")]
    for number in _numbers(before, "build"):
        name = value_at(before, ("build", number, "name"))
        of_it = {one[:2] for one in _referring(after, ("build", number, "name")) if value_at(after, one) == name}
        if name not in there and of_it:
            kinds = [str(kind) for kind, _ in of_it]
            counts = [f"{n} {kind}{'s' * (n > 1)}" for kind in ("pull", "claim") if (n := kinds.count(kind))]
            return InputError(
                f"this build is still named by {' and '.join(counts)}", where=f"session.toml: build[{number}]",
                value=str(name), remedy="take those out first, or give them another build",
            )  # fmt: skip
    return None


def without_levels(text: str, values: dict[str, object], path: Path) -> str:
    """File in which no build names a level of a factor that is to be removed; as it was for any other place.

    Parameters
    ----------
    text : str
        The file.
    values : dict of str to object
        What it says; changes with it.
    path : tuple of (str or int)
        What is to be removed.

    Returns
    -------
    str
        The file anew.
    """
    if len(path) != 2 or path[0] != "factor":
        return text
    name = value_at(values, (*path, "name"))
    for number in _numbers(values, "build"):
        place: Path = ("build", number, "levels", str(name))
        if value_at(values, place) is not None:
            remove_plain(values, place)
            text = unset_value(text, place)
    return text


def _named(path: Path) -> Path:
    if len(path) == 2 and path[0] in {"build", "factor", "claim"}:
        return (*path, "id" if path[0] == "claim" else "name")
    return path


def _referring(values: Mapping[str, object], place: Path) -> Iterator[Path]:
    """Places that may hold the name."""
    if place[0] == "build" and place[2:] == ("name",):
        for number in _numbers(values, "pull"):
            yield ("pull", number, "build")
        for number in _numbers(values, "claim"):
            for key in ("of", "from"):
                yield ("claim", number, key)
                yield ("claim", number, "same_as", key)
    elif place[0] == "factor":
        yield from _naming_factor(values, place)


def _naming_factor(values: Mapping[str, object], place: Path) -> Iterator[Path]:
    """Places that may hold the name of a factor, or of a level."""
    parts = _numbers(values, "part")
    if place[2:] == ("name",):
        yield from (("part", number, "factor") for number in parts)
    elif place[2:3] == ("levels",):
        factor = value_at(values, ("factor", place[1], "name"))
        yield from (("build", number, "levels", str(factor)) for number in _numbers(values, "build"))
        for number in parts:
            if value_at(values, ("part", number, "factor")) == factor:
                yield ("part", number, "level")


def _with_key(text: str, values: dict[str, object], old: str, name: str) -> str:
    """File in which the builds name their level of a factor under another key."""
    for number in _numbers(values, "build"):
        place: Path = ("build", number, "levels", old)
        levels = value_at(values, place[:-1])
        if not isinstance(levels, dict) or old not in levels:
            continue
        set_plain(values, (*place[:-1], name), remove_plain(values, place))
        statements = cut(text)
        at = covering(statements, place)
        inner = place[len(statements[at].path) :]
        if inner:
            text = with_value(statements, at, rename_inside(statements[at].value, inner, name))
        else:
            text = with_key(statements, at, name)
    return text


def _numbers(values: Mapping[str, object], key: str) -> range:
    entries = values.get(key)
    return range(1, len(entries) + 1) if isinstance(entries, list) else range(0)
