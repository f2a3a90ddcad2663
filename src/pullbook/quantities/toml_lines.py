"""Line of a TOML file that a key path means, for messages about files that are sound TOML and wrong all the same."""

from __future__ import annotations

import tomllib
from contextlib import contextmanager
from functools import lru_cache
from typing import TYPE_CHECKING

from pullbook.errors import InputError
from pullbook.quantities.toml_items import items_of
from pullbook.quantities.toml_statements import cut

if TYPE_CHECKING:
    from collections.abc import Generator

    from pullbook.quantities.toml_statements import Path

__all__ = ["line_of", "lines_named"]


def line_of(text: str, path: str) -> int:
    r"""Line of the key that a path names, else of the nearest table or key above it.

    Parameters
    ----------
    text : str
        The file, which is sound TOML.
    path : str
        Path as messages write it, entries counted from 1, as in ``pull[3].air.pressure``.

    Returns
    -------
    int
        Line, from 1; 0 where not even the first part of the path is there. [1]

    Examples
    --------
    >>> line_of('[session]\ntitle = "x"\n[[pull]]\nfile = "a"\n[[pull]]\nfile = "b"', "pull[2].file")
    6
    >>> line_of('[[pull]]\nfile = "a"\n[pull.air]\npressure = "99 kPa"', "pull[1].air.pressure")
    4
    >>> line_of('windows = [\n"2000..3000 rpm",\n"x",\n]', "windows[2]")
    3
    """
    rows = _rows(text.removeprefix("\ufeff"))
    while path:
        if path in rows:
            return rows[path]
        path = path[: max(path.rfind("."), path.rfind("["), 0)]
    return 0


@lru_cache(maxsize=2)
def _rows(text: str) -> dict[str, int]:
    """Line of every table and key; of a list of tables, or a table without a header, that of the first thing in it."""
    rows: dict[str, int] = {}
    try:
        statements = cut(text)
    except tomllib.TOMLDecodeError:  # the message is about that
        return rows
    row = 1
    for statement in statements:
        place = _place(statement.path)
        for length in range(1, len(statement.path) + 1):  # a table that has no header begins with its first key
            rows.setdefault(_place(statement.path[:length]), row)
        if "\n" in statement.value:
            rows.update(_rows_inside(statement.value, place, row + statement.text[: statement.begin].count("\n")))
        row += statement.text.count("\n")
    return rows


def _rows_inside(value: str, place: str, row: int) -> dict[str, int]:
    """Line of every entry of a list that is written on several lines."""
    return {
        f"{place}[{number}]": row + value[: item.begin].count("\n")
        for number, item in enumerate(items_of(value), start=1)
        if not item.keys
    }


def _place(path: Path) -> str:
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


@contextmanager
def lines_named(text: str, file: str) -> Generator[None]:
    """Name the line in every error about a key of a file.

    Parameters
    ----------
    text : str
        The file.
    file : str
        Its name as messages begin, as in ``session.toml: pull[3].file``.

    Raises
    ------
    InputError
        The same error, with ``session.toml, line 21: pull[3].file``.
    """
    try:
        yield
    except InputError as error:
        before, _, path = error.where.partition(f"{file}: ")
        row = line_of(text, path.partition(", ")[0]) if path and not before else 0
        if row:
            error.where = f"{file}, line {row}: {path}"
        raise
