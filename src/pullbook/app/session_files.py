"""The files of a session, each as a card: what was understood of it, its pulls as little curves, its questions.

The module is light: what reads files is imported where it is needed.
"""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING, Any, Final, cast

from pullbook.app.folder import inside, read_session_text
from pullbook.app.layouts import layout_id, remembered
from pullbook.errors import PullbookError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from pullbook.app.layouts import Memory, Rules
    from pullbook.app.ports import Progress
    from pullbook.app.read_pulls import CapturedFile
    from pullbook.records.declaration import ColumnRule

__all__ = ["cards", "file_card", "list_files"]

_PULLS: Final = "pulls"
_MOST: Final = 5_000
_DIGITS: Final = re.compile(r"(\d+)")


def list_files(folder: Path) -> list[str]:
    """Files in the ``pulls`` folder of a session, in the order that a person would put them in.

    Parameters
    ----------
    folder : Path
        The session folder.

    Returns
    -------
    list of str
        Paths relative to the folder, with forward slashes; hidden files, links and folders are passed over.
    """
    pulls = folder / _PULLS
    try:
        with os.scandir(pulls) as entries:
            found = [entry.name for entry in entries if entry.is_file(follow_symlinks=False)]
    except OSError:
        return []
    shown = sorted((name for name in found if not name.startswith(".")), key=_as_counted)
    return [f"{_PULLS}/{name}" for name in shown[:_MOST]]


def _as_counted(name: str) -> list[tuple[int, str]]:
    """Key that puts "run 9" before "run 10"."""
    parts = _DIGITS.split(name.lower())
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in parts]


def file_card(
    folder: Path,
    name: str,
    rules: Mapping[str, object] | Sequence[ColumnRule] = (),
    *,
    memory: Memory | None = None,
) -> dict[str, Any]:
    """What is understood of one file of a session, as plain data.

    Parameters
    ----------
    folder : Path
        The session folder.
    name : str
        The file, as the session names it.
    rules : mapping or sequence of ColumnRule
        The tester's word on its columns: that of the session and of the file together.
    memory : Memory or None
        What was chosen for files of the same layout; it fills in channels that `rules` leave open, and is for files
        that have no pull in the run order yet, since only what stands in ``session.toml`` counts there.

    Returns
    -------
    dict
        As an entry of ``pullbook capture --json``, and beside it ``layout_id``; ``already``, rules that were
        remembered and applied; ``columns``, these and the rules that pulls of the file have already, which its next
        pull needs too; ``received``, the standard that is remembered or written likewise, else empty; ``pulls``, each
        with ``which``, ``says``, ``curve`` and its doubts; ``questions``; ``remarks``; ``air`` that the file states,
        in SI; ``time`` of the recording, where it states one. ``refused`` says why the file cannot be compared; a
        file of which nothing can be read has nothing else.
    """
    from pullbook.app.column_rules import column_rules
    from pullbook.app.file_facts import as_card, refused_card
    from pullbook.app.read_pulls import capture_file

    try:
        own = column_rules(cast("Mapping[str, object]", rules)) if hasattr(rules, "items") else tuple(rules)
        path = inside(folder, name)
        captured = capture_file(path, name, cast("Sequence[ColumnRule]", own))
        already, again = _with_memory(path, captured, cast("Sequence[ColumnRule]", own), memory)
    except PullbookError as error:
        return refused_card(name, error)
    layout = _layout(captured)
    card: dict[str, Any] = {**as_card(again), "layout_id": layout, "already": already, "columns": already}
    if memory is not None:
        card["remarks"] += [memory.damaged] if memory.damaged else []
        card["received"] = memory.received.get(layout, "")
    if card["received"]:
        _settle_received(card)
    return card


def _settle_received(card: dict[str, Any]) -> None:
    """Ask no more what the numbers were corrected to."""
    card["questions"] = [question for question in card["questions"] if question["channel"] != "received"]


def _layout(captured: CapturedFile) -> str:
    kind = captured.source.layout.partition(",")[0]
    return layout_id(kind, (table.columns for table in captured.tables))


def _with_memory(
    path: Path, captured: CapturedFile, own: Sequence[ColumnRule], memory: Memory | None
) -> tuple[Rules, CapturedFile]:
    """Rules that were remembered for a layout and not overruled, and the file read with them."""
    from pullbook.app.column_rules import column_rules
    from pullbook.app.read_pulls import capture_file

    if memory is None or not memory.layouts:
        return {}, captured
    known = memory.layouts.get(_layout(captured), {})
    named = {rule.channel.value for rule in own}
    columns = {rule.column for rule in own}
    added = {channel: rule for channel, rule in known.items() if channel not in named and rule["column"] not in columns}
    if not added:
        return {}, captured
    again = capture_file(path, captured.source.name, (*own, *column_rules(added)))
    # A choice that makes a readable file unreadable was meant for another one.
    return ({}, captured) if again.refused and not captured.refused else (added, again)


def cards(folder: Path, names: Sequence[str], progress: Progress, *, use_memory: bool = True) -> list[dict[str, Any]]:
    """Cards of several files, each read with what ``session.toml`` says on its columns.

    Parameters
    ----------
    folder : Path
        The session folder.
    names : sequence of str
        The files.
    progress : Progress
        Is told of each.
    use_memory : bool
        Whether what was chosen for other files of a layout is applied to those that are not in the run order yet.
    """
    values = _values(folder)
    memory = remembered() if use_memory else None
    found: list[dict[str, Any]] = []
    for number, name in enumerate(names):
        progress.step(f"reading {name}", number, len(names))
        found.append(_card_in(folder, name, values, memory))
    progress.step("reading", len(names), len(names))
    return found


def _card_in(folder: Path, name: str, values: dict[str, Any], memory: Memory | None) -> dict[str, Any]:
    from pullbook.app.column_rules import is_in_run_order, own_rules, received_of_file, rules_for_file

    in_run = is_in_run_order(values, name)
    card = file_card(folder, name, rules_for_file(values, name), memory=None if in_run else memory)
    card["columns"] = own_rules(values, name) | card["already"]
    card["received"] = card["received"] or received_of_file(values, name)
    if card["received"]:
        _settle_received(card)
    return card


def _values(folder: Path) -> dict[str, Any]:
    """What the session file says, as far as it can be read: a file that is being written does not hide the pulls."""
    from pullbook.quantities.toml_text import load_toml

    try:
        return load_toml(read_session_text(folder), where="session.toml")
    except PullbookError:
        return {}
