"""A TOML file cut into its statements: headers, keys with their values, comments and blank lines, byte for byte."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import Final, cast

__all__ = ["KEY", "TOKEN", "Kind", "Path", "Statement", "cut", "keys_of"]

Path = tuple[str | int, ...]
"""Keys from the top; entries of a list are numbers from 1."""

TOKEN: Final = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}'
    r"|'''(?:[^']|'(?!''))*'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'"
    r"|\#[^\n]*|[\[\]{}\n=,]|[^\"'\#\[\]{}\n=,]+|.",
    re.DOTALL,
)
KEY: Final = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
_PLAIN: Final = re.compile(  # the most of a file: a key and a short value on one line
    r"""[ \t]*([A-Za-z0-9_-]+)[ \t]*=[ \t]*("[^"\\\n]*"|'[^'\n]*'|[A-Za-z0-9_.:+-]+)[ \t]*(?:\#[^\n]*)?\r?(?:\n|\Z)"""
)
_NAMED: Final = re.compile(r"\[\[?([A-Za-z0-9_-]+)\]\]?\s*(?:\#.*)?")
_BARE: Final = re.compile(r"\s*([A-Za-z0-9_-]+)\s*")


class Kind(Enum):
    """What a statement is."""

    BLANK = "blank"
    COMMENT = "comment"
    HEADER = "header"
    PAIR = "pair"


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One statement with its end of line.

    Attributes
    ----------
    kind : Kind
        What it is.
    text : str
        As it stands; all statements of a file joined are the file.
    path : tuple of (str or int)
        Path of the table that a header opens, or of the key of a pair; empty for comments and blank lines.
    listed : bool
        A header in double brackets.
    begin, end : int
        Where in `text` the value of a pair begins and ends. [1]
    keys : tuple of (int, int)
        Where in `text` each key of a pair begins and ends; several where it is written with dots.
    """

    kind: Kind
    text: str
    path: Path = ()
    listed: bool = False
    begin: int = 0
    end: int = 0
    keys: tuple[tuple[int, int], ...] = ()

    @property
    def value(self) -> str:
        """Value of a pair as it is written."""
        return self.text[self.begin : self.end]

    @property
    def parent(self) -> Path:
        """Path of the table that the last key stands in."""
        return self.path[:-1]


@lru_cache(maxsize=4)
def cut(text: str) -> tuple[Statement, ...]:
    r"""Statements of a file that is sound TOML.

    Parameters
    ----------
    text : str
        The file.

    Returns
    -------
    tuple of Statement
        In the order of the file; their texts joined are the file.

    Examples
    --------
    >>> [(one.kind.value, one.path) for one in cut('[[pull]]\nair = { pressure = "99 kPa" }  # by hand\n')]
    [('header', ('pull', 1)), ('pair', ('pull', 1, 'air'))]
    """
    statements: list[Statement] = []
    counts: dict[Path, int] = {}
    table: Path = ()
    at = 0
    while at < len(text):
        statement, at = _next(text, at, table, counts)
        if statement.kind is Kind.HEADER:
            table = statement.path
        statements.append(statement)
    return tuple(statements)


def _next(text: str, at: int, table: Path, counts: dict[Path, int]) -> tuple[Statement, int]:
    """Statement that begins at a place, and where the next one begins."""
    line_end = text.find("\n", at) + 1 or len(text)
    line = text[at:line_end]
    plain = line.strip()
    if not plain:
        return Statement(kind=Kind.BLANK, text=line), line_end
    if plain.startswith("#"):
        return Statement(kind=Kind.COMMENT, text=line), line_end
    if plain.startswith("["):
        return _header(line, plain, counts), line_end
    return _pair(text, at, table)


def _header(line: str, plain: str, counts: dict[Path, int]) -> Statement:
    listed = plain.startswith("[[")
    named = _NAMED.fullmatch(plain)
    keys = [named[1]] if named else _keys(tomllib.loads(plain))
    path: Path = ()
    for key in keys[:-1]:
        path = (*path, key)
        path = (*path, counts[path]) if path in counts else path
    path = (*path, keys[-1])
    if listed:
        counts[path] = counts.get(path, 0) + 1
        path = (*path, counts[path])
    return Statement(kind=Kind.HEADER, text=line, path=path, listed=listed)


def _keys(values: dict[str, object]) -> list[str]:
    """Keys of a chain of tables that has one key at each level."""
    keys: list[str] = []
    below: object = values
    while below:
        if isinstance(below, list):
            below = cast("list[object]", below)[0]
        if not isinstance(below, dict) or not below:
            break
        key, below = next(iter(cast("dict[str, object]", below).items()))
        keys.append(key)
    return keys


def _pair(text: str, at: int, table: Path) -> tuple[Statement, int]:
    plain = _PLAIN.match(text, at)
    if plain is not None:
        begin, end = plain.span(2)
        key = plain.start(1) - at, plain.end(1) - at
        found = Statement(kind=Kind.PAIR, text=plain.group(), path=(*table, plain[1]), begin=begin - at, end=end - at,
                          keys=(key,))  # fmt: skip
        return found, plain.end()
    equals, end, depth, tail = -1, at, 0, at
    for token in TOKEN.finditer(text, at):
        said = token.group()
        if said == "\n" and depth == 0 and equals >= 0:
            end = token.end()
            break
        end = token.end()
        if said == "=" and equals < 0:
            equals = token.start()
        depth += (said in "[{") - (said in "]}") if equals >= 0 else 0
        if not said.startswith("#") and said.strip():
            tail = token.start() + len(said.rstrip())
    begin = equals + 1
    while begin < tail and text[begin] in " \t":
        begin += 1
    keys = tuple(key.span() for key in KEY.finditer(text[at:equals]))
    path = (*table, *keys_of(text[at:equals]))
    found = Statement(kind=Kind.PAIR, text=text[at:end], path=path, begin=begin - at, end=tail - at, keys=keys)
    return found, end


def keys_of(written: str) -> list[str]:
    """Keys of a pair, of which several may be joined by dots."""
    bare = _BARE.fullmatch(written)
    return [bare[1]] if bare else _keys(tomllib.loads(f"{written.strip()} = 1"))
