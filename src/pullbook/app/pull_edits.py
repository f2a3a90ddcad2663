"""Pulls of a file, as the lines that put them into the run order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["edits_for"]


def edits_for(
    card: Mapping[str, Any],
    build: str,
    *,
    which: Sequence[int] = (),
    received: str = "",
    columns: Mapping[str, Mapping[str, str]] | None = None,
    air: Mapping[str, str] | None = None,
) -> list[dict[str, Any]]:
    """Edits that add the pulls of a file to the end of the run order.

    Parameters
    ----------
    card : mapping
        The file, from `pullbook.app.session_files.file_card`.
    build : str
        Build that was on the bench.
    which : sequence of int
        Pulls of the file that are meant, from 1; empty for all of them. [1]
    received : str
        What the numbers of the file were corrected to, where it is not what the session says for all.
    columns : mapping or None
        Choices of the tester for this file; they go before those that were remembered.
    air : mapping or None
        Weather as written down, each with its unit.

    Returns
    -------
    list of dict
        ``do``, ``at`` and ``value`` of each edit; the rules that were remembered are written out in it, so that the
        session needs no memory.

    Examples
    --------
    >>> edits_for({"file": "pulls/a1.csv", "pulls": [{"which": 1}], "already": {}}, "A")
    [{'do': 'add', 'at': 'pull', 'value': {'build': 'A', 'file': 'pulls/a1.csv'}}]
    """
    there = [int(pull["which"]) for pull in card["pulls"]]
    rules = _rules(card.get("already") or {}, columns or {})
    edits: list[dict[str, Any]] = []
    for number in which or there:
        value: dict[str, Any] = {"build": build, "file": card["file"]}
        if len(there) > 1:
            value["which"] = number
        said = {"air": dict(air or {}), "received": received, "columns": rules}
        value |= {key: words for key, words in said.items() if words}
        edits.append({"do": "add", "at": "pull", "value": value})
    return edits


def _rules(
    remembered: Mapping[str, Mapping[str, str]], chosen: Mapping[str, Mapping[str, str]]
) -> dict[str, dict[str, str]]:
    """Rules in the form of the session file; a column that was chosen for one channel is not kept for another."""
    taken = {rule["column"] for rule in chosen.values()}
    kept = {channel: rule for channel, rule in remembered.items() if rule["column"] not in taken}
    return {channel: {key: word for key, word in rule.items() if word} for channel, rule in {**kept, **chosen}.items()}
