"""The tester's word on columns, from plain data: as it stands in ``session.toml``, or as a page sends it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, cast

from pullbook.capture.session_file_engine import parse_columns
from pullbook.capture.session_file_keys import KEYS
from pullbook.errors import InputError
from pullbook.quantities.toml_table import TomlTable

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.records.declaration import ColumnRule

__all__ = ["column_rules", "is_in_run_order", "own_rules", "received_of_file", "rules_for_file"]

_FILE: Final = "session.toml"


def column_rules(plain: Mapping[str, object]) -> tuple[ColumnRule, ...]:
    """Rules of a ``columns`` table.

    Parameters
    ----------
    plain : mapping
        Channel to "Column [unit]", "Column", or a mapping with ``column`` and ``unit``.

    Returns
    -------
    tuple of ColumnRule
        In the order of the channel catalogue.

    Raises
    ------
    InputError
        If a channel or a unit is unknown, or two channels have one column.

    Examples
    --------
    >>> [(rule.column, rule.unit) for rule in column_rules({"torque": "Load [lb ft]", "speed": {"column": "N"}})]
    [('N', ''), ('Load', 'lb ft')]
    """
    columns = {key: _without_empty(rule) for key, rule in plain.items()}
    return parse_columns(TomlTable(columns, file=_FILE, path="columns", known=KEYS["columns"]))


def _without_empty(rule: object) -> object:
    return {k: v for k, v in cast("dict[str, object]", rule).items() if v != ""} if isinstance(rule, dict) else rule


def rules_for_file(values: Mapping[str, Any], name: str) -> dict[str, object]:
    """What a session file says on the columns of a file: that of its pulls, and below it that of the session.

    Parameters
    ----------
    values : mapping
        The session file, as plain data; it may be unfinished.
    name : str
        The file, as in "pulls/a1.csv".

    Returns
    -------
    dict of str to object
        Channel to rule, for `column_rules`.
    """
    found: dict[str, object] = {}
    for table in (values.get("columns"), *(entry.get("columns") for entry in _entries(values, name))):
        if isinstance(table, dict):
            found |= cast("dict[str, object]", table)
    return found


def is_in_run_order(values: Mapping[str, Any], name: str) -> bool:
    """Whether a pull of the session is of a file."""
    return bool(_entries(values, name))


def own_rules(values: Mapping[str, Any], name: str) -> dict[str, dict[str, str]]:
    """Rules that the pulls of a file have of their own, in one form; none where they cannot be understood."""
    found: dict[str, object] = {}
    for entry in _entries(values, name):
        table = entry.get("columns")
        found |= cast("dict[str, object]", table) if isinstance(table, dict) else {}
    try:
        return {rule.channel.value: {"column": rule.column, "unit": rule.unit} for rule in column_rules(found)}
    except InputError:
        return {}


def received_of_file(values: Mapping[str, Any], name: str) -> str:
    """What the pulls of a file say that its numbers were corrected to; empty where they do not all say the same."""
    said = {str(entry.get("received") or "") for entry in _entries(values, name)}
    return said.pop() if len(said) == 1 else ""


def _entries(values: Mapping[str, Any], name: str) -> Sequence[dict[str, Any]]:
    pulls = values.get("pull")
    entries = cast("list[object]", pulls) if isinstance(pulls, list) else []
    tables = [cast("dict[str, Any]", entry) for entry in entries if isinstance(entry, dict)]
    return [entry for entry in tables if entry.get("file") == name]
