"""Line of a TOML file that a key path means, for messages about files that are sound TOML and wrong all the same."""

from __future__ import annotations

import re
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator

__all__ = ["line_of", "lines_named"]

_HEADER: Final = re.compile(r"\s*(?P<open>\[\[?)(?P<path>[^\[\]]+)\]")
_KEY: Final = re.compile(r"""\s*(?P<path>(?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=""")
_PART: Final = re.compile(r"""[\w-]+|"[^"]*"|'[^']*'""")
_LONG: Final = re.compile(r'"""|\'\'\'')


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
    """
    wanted = path.split(".")
    best, depth = 0, 0
    for row, place, plain in _places(text):
        matched = _matched(place, wanted, plain=plain)
        if matched == len(place) and matched > depth:
            best, depth = row, matched
    return best


def _matched(place: list[str], wanted: list[str], *, plain: bool) -> int:
    """How many parts agree; the last part of a key stands for its entries too, as in ``windows`` for ``windows[2]``."""
    count = 0
    for at, (part, want) in enumerate(zip(place, wanted, strict=False)):
        last = plain and at == len(place) - 1
        if part != (want.partition("[")[0] if last else want):
            break
        count += 1
    return count


def _places(text: str) -> Iterator[tuple[int, list[str], bool]]:
    """Row, path and whether it is a key, of every header and key of a file; text over several lines is passed over."""
    counts: dict[str, int] = {}
    table: list[str] = []
    inside = False
    for row, line in enumerate(text.splitlines(), start=1):
        was, inside = inside, inside != (len(_LONG.findall(line)) % 2 == 1)
        header, key = _HEADER.match(line), _KEY.match(line)
        if was:
            continue
        if header:
            table = [part.strip("\"'") for part in _PART.findall(header["path"])]
            names = [".".join(table[:length]) for length in range(1, len(table) + 1)]
            if header["open"] == "[[":
                counts[names[-1]] = counts.get(names[-1], 0) + 1
            table = [
                f"{part}[{counts[name]}]" if name in counts else part for part, name in zip(table, names, strict=True)
            ]
            yield row, table, False
        elif key:
            yield row, [*table, *(part.strip("\"'") for part in _PART.findall(key["path"]))], True


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
