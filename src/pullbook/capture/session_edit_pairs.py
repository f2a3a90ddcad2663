"""Keys of a session file: one set or taken out, and every other statement left as it is."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.capture.session_edit_chunks import end_of_line, insert_chunk, remove_chunk, table_end
from pullbook.capture.session_edit_inline import remove_inside, set_inside
from pullbook.capture.session_edit_places import LISTS, keys_below, place_text
from pullbook.capture.session_edit_values import key_text, value_text
from pullbook.errors import InputError
from pullbook.quantities.toml_statements import Kind, cut

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.toml_statements import Path, Statement

_SPACES: Final = 2

__all__ = ["covering", "set_everywhere", "set_value", "unset_value", "with_key", "with_value"]


def covering(statements: Sequence[Statement], path: Path) -> int:
    """Number of the pair that holds a place in its value, from 0; -1 where none does. [1]."""
    return next(
        (at for at, one in enumerate(statements) if one.kind is Kind.PAIR and path[: len(one.path)] == one.path), -1
    )


def with_value(statements: Sequence[Statement], at: int, written: str) -> str:
    """File with another value in one pair."""
    pair = _with(statements[at], written, end_of_line(statements))
    return _joined([*statements[:at], pair, *statements[at + 1 :]])


def _with(pair: Statement, written: str, eol: str) -> Statement:
    """Pair with another value."""
    written = written.replace("\r\n", "\n").replace("\n", eol)
    text = pair.text[: pair.begin] + written + _behind(pair, written)
    return replace(pair, text=text, end=pair.begin + len(written))


def set_everywhere(text: str, paths: Sequence[Path], value: object) -> str:
    """File with one value at many places, all of which are there.

    Parameters
    ----------
    text : str
        The file.
    paths : sequence of tuple
        The places.
    value : object
        What each is to be.

    Returns
    -------
    str
        The file anew.
    """
    statements = list(cut(text))
    eol = end_of_line(statements)
    for path in paths:
        at = covering(statements, path)
        pair = statements[at]
        statements[at] = _with(pair, set_inside(pair.value, path[len(pair.path) :], value), eol)
    return _joined(statements)


def _behind(pair: Statement, written: str) -> str:
    """What stands behind a value; a remark that was set in a column stays in it."""
    rest = pair.text[pair.end :]
    remark = rest.lstrip(" ")
    room = len(rest) - len(remark)
    if remark.startswith("#") and room > _SPACES and "\n" not in pair.value + written:
        return " " * max(_SPACES, room + len(pair.value) - len(written)) + remark
    return rest


def with_key(statements: Sequence[Statement], at: int, key: str) -> str:
    """File with another last key in one pair."""
    pair = statements[at]
    begin, end = pair.keys[-1]
    text = pair.text[:begin] + key_text(key) + pair.text[end:]
    return _joined([*statements[:at], replace(pair, text=text), *statements[at + 1 :]])


def set_value(text: str, path: Path, value: object, factors: Sequence[str]) -> str:
    """File with the value of a key, which need not be there yet; so need not the tables above it.

    Parameters
    ----------
    text : str
        The file.
    path : tuple of (str or int)
        The key.
    value : object
        What it is to be.
    factors : sequence of str
        Names of the factors, for the order of levels.

    Returns
    -------
    str
        The file anew.

    Raises
    ------
    InputError
        If the entry of a list that the path names is not there.
    """
    statements = cut(text)
    at = covering(statements, path)
    if at >= 0:
        pair = statements[at]
        return with_value(statements, at, set_inside(pair.value, path[len(pair.path) :], value))
    if any(one.path[: len(path)] == path for one in statements if one.path):
        text = unset_value(text, path)
        statements = cut(text)
    return _insert(text, statements, path, value, factors)


def _insert(text: str, statements: Sequence[Statement], path: Path, value: object, factors: Sequence[str]) -> str:
    parent, key = path[:-1], path[-1]
    if isinstance(key, int):
        raise InputError(
            "there is no such entry", where=f"session.toml: {place_text(path)}", remedy="read the file again"
        )
    after = _place_in_table(statements, parent, key, keys_below(parent, factors) or ())
    if after >= 0:
        before = statements[after].text
        dotted = "".join(f"{before[begin:end]}." for begin, end in statements[after].keys[:-1])
        indent = before[: len(before) - len(before.lstrip(" \t"))]
        return _with_line(statements, after, f"{indent}{dotted}{key_text(key)} = {value_text(value)}")
    if len(path) > 1:
        return _insert(text, statements, parent, {key: value}, factors)
    if key in LISTS or not isinstance(value, dict):
        raise InputError(
            "this is a table, not a value", where=f"session.toml: {place_text(path)}", remedy="name a key below it"
        )
    lines = [f"[{key}]", *(f"{key_text(str(name))} = {value_text(below)}" for name, below in value.items())]
    return insert_chunk(text, key, "\n".join(lines) + "\n")


def _place_in_table(statements: Sequence[Statement], parent: Path, key: str, order: Sequence[str]) -> int:
    """Number of the statement behind which a key of a table has its place; -1 where the table is not written."""
    best, rank = -1, -1
    for at, one in enumerate(statements):
        if one.kind is Kind.HEADER and one.path == parent:
            best = max(best, at)
        elif one.kind is Kind.PAIR and one.parent == parent:
            own = _rank(str(one.path[-1]), order)
            if best < 0 or rank <= own < _rank(key, order):
                best, rank = at, own
    return best


def _rank(key: str, order: Sequence[str]) -> int:
    return order.index(key) if key in order else len(order)


def _with_line(statements: Sequence[Statement], after: int, line: str) -> str:
    eol = end_of_line(statements)
    before = _joined(statements[: after + 1])
    if not before.endswith("\n"):
        before += eol
    return before + line.replace("\n", eol) + eol + _joined(statements[after + 1 :])


def unset_value(text: str, path: Path) -> str:
    """File without a key or a table; a table or list that nothing is left in goes with it.

    Parameters
    ----------
    text : str
        The file.
    path : tuple of (str or int)
        The key.

    Returns
    -------
    str
        The file anew; as it was where the key is not there.
    """
    statements = cut(text)
    at = covering(statements, path)
    if at < 0:
        return _without_tables(text, path)
    pair = statements[at]
    inner = path[len(pair.path) :]
    left = remove_inside(pair.value, inner) if inner else "{}"
    if inner and left not in {"{}", "[]"}:
        return with_value(statements, at, left)
    return _joined([*statements[:at], *statements[at + 1 :]])


def _without_tables(text: str, path: Path) -> str:
    """File without a table that is written with a header of its own, or by dotted keys."""
    if len(path) == 1:
        return remove_chunk(text, path)
    statements = cut(text)
    out: set[int] = set()
    for at, one in enumerate(statements):
        if one.path[: len(path)] != path:
            continue
        out.update(range(at, table_end(statements, at)) if one.kind is Kind.HEADER else [at])
        if one.kind is Kind.HEADER and at and statements[at - 1].kind is Kind.BLANK:
            out.add(at - 1)
    return _joined([one for at, one in enumerate(statements) if at not in out])


def _joined(statements: Sequence[Statement]) -> str:
    return "".join(one.text for one in statements)
