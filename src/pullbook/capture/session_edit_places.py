"""Places of a session file: key paths as text, which keys there are, and what kind of value a key takes."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Final, cast

from pullbook.capture.session_file_keys import KEYS, TOP
from pullbook.errors import InputError, SessionFileError
from pullbook.quantities.toml_table import nearest

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.quantities.toml_statements import Path

__all__ = ["LISTS", "demand_known", "demand_whole", "keys_below", "ordered", "place_text", "plain_value", "read_place"]

LISTS: Final = ("factor", "part", "build", "pull", "claim")
"""Tables in double brackets."""
_STEP: Final = re.compile(r'(?:"(?P<quoted>(?:[^"\\]|\\.)*)"|(?P<bare>[^.\[\]"]+))(?P<numbers>(?:\[\d{1,9}\])*)')
_NUMBER: Final = re.compile(r"\d+")
_BROKEN: Final = re.compile("[\ud800-\udfff]")
_DEEPEST: Final = 8
_FILE: Final = "session.toml: "
_LEVELS: Final = re.compile(r"(build\[\d{1,9}\]\.levels)\.([^\"].*)", re.DOTALL)


def read_place(at: str) -> Path:
    """Path that a key path in words means.

    Parameters
    ----------
    at : str
        As messages write it; what follows the levels of a build is one name, whatever stands in it.

    Returns
    -------
    tuple of (str or int)
        Keys and numbers of entries.

    Raises
    ------
    InputError
        If it is no key path.

    Examples
    --------
    >>> read_place("pull[3].air.pressure"), read_place("build[1].levels.inlet cam")
    (('pull', 3, 'air', 'pressure'), ('build', 1, 'levels', 'inlet cam'))
    """
    levels = _LEVELS.fullmatch(at)
    if levels is not None:
        return (*read_place(levels[1]), levels[2])
    steps: list[str | int] = []
    place = 0
    while True:
        step = _STEP.match(at, place)
        if step is None:
            break
        quoted = step["quoted"]
        steps.append(step["bare"] if quoted is None else re.sub(r"\\(.)", r"\1", quoted))
        steps.extend(int(number) for number in _NUMBER.findall(step["numbers"]))
        place = step.end()
        if place == len(at):
            return tuple(steps)
        if at[place] != ".":
            break
        place += 1
    raise InputError("this is no place in a session file", value=at, remedy="write it as in pull[3].air.pressure")


def place_text(path: Path) -> str:
    """Key path in words, as messages write it.

    Examples
    --------
    >>> place_text(("pull", 3, "air", "pressure"))
    'pull[3].air.pressure'
    """
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def keys_below(path: Path, factors: Sequence[str]) -> tuple[str, ...] | None:
    """Keys that a table may have, in their usual order; None where the path is no table.

    Parameters
    ----------
    path : tuple of (str or int)
        Path of the table; empty for the whole file.
    factors : sequence of str
        Names of the factors of the session.

    Examples
    --------
    >>> keys_below(("pull", 1, "air"), [])
    ('temperature', 'pressure', 'humidity')
    """
    names = tuple(step for step in path if isinstance(step, str))
    if names[:2] == ("pull", "columns"):
        names = names[1:]
    if names == ("build", "levels"):
        return tuple(factors)
    if len(names) == 2 and names[0] == "columns":
        return KEYS["columns.channel"]
    return KEYS.get(".".join(names) if names else TOP)


def demand_known(path: Path, value: object, factors: Sequence[str]) -> None:
    """Refuse a key that a session file does not have, on the way to a place or inside the value for it.

    Parameters
    ----------
    path : tuple of (str or int)
        The place.
    value : object
        What is to be put there.
    factors : sequence of str
        Names of the factors of the session.

    Raises
    ------
    SessionFileError
        If there is one; the nearest known one is named.
    """
    for length, step in enumerate(path):
        known = keys_below(path[:length], factors)
        if isinstance(step, str) and (known is None or step not in known):
            remedy = nearest(step, known) if known else f"{place_text(path[:length])} has no keys below it"
            raise SessionFileError("this key is unknown", where=_FILE + place_text(path[: length + 1]), remedy=remedy)
    if isinstance(value, dict):
        for key, below in value.items():
            demand_known((*path, str(key)), below, factors)
    if isinstance(value, list):
        for number, below in enumerate(value, start=1):
            demand_known((*path, number), below, factors)


def plain_value(path: Path, value: object) -> object:
    """Value as a session file holds it: text without blanks at its ends, ISO text of dates as dates, nothing as absent.

    Parameters
    ----------
    path : tuple of (str or int)
        Where it is to stand.
    value : object
        As the page sends it.

    Raises
    ------
    InputError
        If it is nested too deeply, or holds half a character.

    Examples
    --------
    >>> plain_value(("pull", 1), {"build": " A ", "time": "2026-05-04T09:12", "left_out": None})
    {'build': 'A', 'time': datetime.datetime(2026, 5, 4, 9, 12)}
    """
    if len(path) > _DEEPEST:
        raise InputError("no value of a session file is nested that deeply", where=_FILE + place_text(path[:2]),
                         remedy="send the tables as the reference of the session file has them")  # fmt: skip
    if isinstance(value, str):
        demand_whole(value, where=_FILE + place_text(path))
        return _dated(path, value.replace("\r\n", "\n").strip())
    if isinstance(value, dict):
        table = cast("Mapping[object, object]", value)
        return {str(key): plain_value((*path, str(key)), below) for key, below in table.items() if below is not None}
    if isinstance(value, list | tuple):
        entries = cast("Sequence[object]", value)
        return [plain_value((*path, number), below) for number, below in enumerate(entries, start=1)]
    return value


def demand_whole(text: str, *, where: str = "session.toml") -> None:
    """Refuse text with half a character in it, which no file can hold.

    Raises
    ------
    InputError
        If there is one.
    """
    if not text.isascii() and _BROKEN.search(text):
        raise InputError("this text has half a character in it", where=where, remedy="type it again")


def ordered(path: Path, value: object, factors: Sequence[str]) -> object:
    """Value with the keys of its tables in their usual order.

    Parameters
    ----------
    path : tuple of (str or int)
        Where it is to stand.
    value : object
        The value.
    factors : sequence of str
        Names of the factors, for the order of levels.

    Examples
    --------
    >>> ordered(("pull", 1), {"file": "pulls/a1.csv", "build": "A"}, [])
    {'build': 'A', 'file': 'pulls/a1.csv'}
    """
    if isinstance(value, list):
        entries = cast("Sequence[object]", value)
        return [ordered((*path, number), below, factors) for number, below in enumerate(entries, start=1)]
    if not isinstance(value, dict):
        return value
    table = cast("Mapping[str, object]", value)
    order = keys_below(path, factors) or ()
    keys = sorted(table, key=lambda key: order.index(key) if key in order else len(order))
    return {key: ordered((*path, key), table[key], factors) for key in keys}


def _dated(path: Path, text: str) -> object:
    """Date or time that the text stands for where the key takes one; the text where it stands for none."""
    kinds: dict[tuple[str | int, ...], tuple[type[date | time], ...]] = {
        ("session", "date"): (date,), ("pull", "time"): (time, datetime),
    }  # fmt: skip
    for kind in kinds.get(tuple(step for step in path if isinstance(step, str)), ()):
        try:
            return kind.fromisoformat(text)
        except ValueError:
            continue
    return text
