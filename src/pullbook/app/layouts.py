"""What the tester chose for the columns of a file, remembered for the next file of that layout.

The memory is a file of the user, not of a session; what is taken from it is written into ``session.toml``, so that a
session folder is complete without it.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, cast

from pullbook.app.session_lock import locked
from pullbook.app.user_folders import config_folder
from pullbook.app.whole_file import write_whole
from pullbook.capture.session_file_keys import OBSERVED, STANDARDS
from pullbook.errors import FailureError, InputError
from pullbook.quantities.channels import Channel
from pullbook.quantities.units import find_unit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

__all__ = ["Memory", "Rules", "forget", "layout_id", "memory_stamp", "recall", "remember", "remembered"]

Rules = dict[str, dict[str, str]]
"""Channel to ``{"column": name as the file writes it, "unit": symbol}``."""

_FILE: Final = "layouts.json"
_LOCK: Final = ".locks/layouts"
_SCHEMA: Final = "pullbook.layouts/1"
_MOST: Final = 500  # layouts; the one that was chosen longest ago is forgotten first
_LARGEST: Final = 10_000_000  # bytes
_LONGEST: Final = 400  # characters of a column name
_CHANNELS: Final = frozenset(channel.value for channel in Channel)


@dataclass(frozen=True, slots=True, kw_only=True)
class Memory:
    """All layouts that are remembered.

    Attributes
    ----------
    layouts : mapping of str to Rules
        Rules of each layout, by its id; chosen last stands last.
    received : mapping of str to str
        Standard that the numbers of a layout were corrected to, by its id, as ``session.toml`` names it.
    damaged : str
        What is wrong with the file, as a sentence without full stop; empty where it is whole or not there.
    """

    layouts: Mapping[str, Rules] = field(default_factory=dict[str, Rules])
    received: Mapping[str, str] = field(default_factory=dict[str, str])
    damaged: str = ""


def layout_id(kind: str, tables: Iterable[tuple[tuple[str, str], ...]]) -> str:
    """Id of a layout: the same for all files that a bench writes in one way.

    Parameters
    ----------
    kind : str
        Text, spreadsheet or the like.
    tables : iterable of tuple of (str, str)
        Name and unit of each column of each table, in their order; a table that comes again counts once.

    Returns
    -------
    str
        Sixteen hexadecimal digits.

    Examples
    --------
    >>> one = layout_id("text", [(("RPM", ""), ("Torque", "Nm"))])
    >>> one == layout_id("text", 2 * [(("RPM", ""), ("Torque", "Nm"))])
    True
    >>> one == layout_id("text", [(("RPM", ""), ("Torque", "lb-ft"))])
    False
    """
    each = [[list(column) for column in table] for table in dict.fromkeys(tables)]
    return hashlib.sha256(json.dumps([kind, each]).encode()).hexdigest()[:16]


def remembered(folder: Path | None = None) -> Memory:
    """Everything that is remembered.

    Parameters
    ----------
    folder : Path or None
        Where the memory lies; None for the user's settings.
    """
    path = (folder or config_folder()) / _FILE
    try:
        content = path.read_bytes() if path.stat().st_size <= _LARGEST else b""
        return _checked(json.loads(content))
    except FileNotFoundError:
        return Memory()
    except OSError as error:
        return Memory(damaged=f"{path} cannot be read ({error.strerror}): choices of earlier files are not at hand")
    except (ValueError, RecursionError):
        return Memory(damaged=f"{path} is damaged: choices of earlier files are not at hand")


def recall(layout: str, folder: Path | None = None) -> Rules:
    """What was chosen for a layout; empty where nothing was."""
    return remembered(folder).layouts.get(layout, {})


def remember(
    layout: str, rules: Mapping[str, Mapping[str, str]], folder: Path | None = None, *, received: str = ""
) -> str:
    """Keep what the tester chose, beside what was chosen for the layout before.

    Parameters
    ----------
    layout : str
        Id of the layout.
    rules : mapping
        Channel to column and unit; these win over what was kept before.
    folder : Path or None
        Where the memory lies; None for the user's settings.
    received : str
        Standard that the numbers were corrected to, or "observed"; empty to leave it as it was.

    Returns
    -------
    str
        What became of a damaged memory, as a sentence without full stop; empty where it was whole.

    Raises
    ------
    InputError
        If a rule names no channel, no column or an unknown unit, or the standard is unknown.
    FailureError
        If the memory cannot be written; it is as it was.
    """
    try:
        new = _rules_checked({channel: dict(rule) for channel, rule in rules.items()})
        _received_checked(received)
    except _DamageError:
        raise InputError(
            "a choice is a channel, a column of the file and a known unit, or a known standard", where="columns",
            value=str(received or dict(rules))[:80], remedy="choose one of the proposals",
        ) from None  # fmt: skip

    def change(layouts: dict[str, Rules], standards: dict[str, str]) -> None:
        kept = layouts.pop(layout, {})
        taken = {rule["column"] for rule in new.values()}
        layouts[layout] = {channel: rule for channel, rule in kept.items() if rule["column"] not in taken} | new
        if received:
            standards[layout] = received

    return _change(folder, change)


def forget(layout: str = "", folder: Path | None = None) -> str:
    """Forget what was chosen for a layout, or all of it where none is named; returns and raises as `remember`."""

    def change(layouts: dict[str, Rules], standards: dict[str, str]) -> None:
        for one in [layout] if layout else list(layouts):
            layouts.pop(one, None)
            standards.pop(one, None)

    return _change(folder, change)


def memory_stamp(folder: Path | None = None) -> str:
    """A word that changes whenever the memory does, for the key of what was read with it."""
    try:
        return hashlib.sha256(((folder or config_folder()) / _FILE).read_bytes()).hexdigest()[:16]
    except OSError:
        return ""


def _change(folder: Path | None, change: Callable[[dict[str, Rules], dict[str, str]], None]) -> str:
    path = (folder or config_folder()) / _FILE
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with locked(path.parent / _LOCK):
            memory = remembered(path.parent)
            says = _put_aside(path) if memory.damaged else ""
            layouts, standards = dict(memory.layouts), dict(memory.received)
            change(layouts, standards)
            write_whole(path, _written(layouts, standards))
            return says
    except OSError as error:
        raise FailureError(
            f"the choice cannot be remembered ({error.strerror})", where=str(path),
            remedy="check the permissions and the disk; it holds for this session all the same",
        ) from error  # fmt: skip


def _written(layouts: Mapping[str, Rules], standards: Mapping[str, str]) -> bytes:
    kept = {
        layout: {"columns": rules} | ({"received": standards[layout]} if layout in standards else {})
        for layout, rules in list(layouts.items())[-_MOST:]
    }
    text = json.dumps({"schema": _SCHEMA, "layouts": kept}, indent=1, ensure_ascii=False)
    return text.encode("utf-8", "surrogatepass") + b"\n"


def _put_aside(path: Path) -> str:
    """Keep a damaged memory under another name, for whoever wants to look at it."""
    number = 1
    while (aside := path.with_name(f"layouts-damaged-{number}.json")).exists():
        number += 1
    path.rename(aside)
    return f"{path} was damaged; it is kept as {aside.name}, and the memory begins anew"


def _checked(plain: object) -> Memory:
    """What a memory file says, if it is one; another version or another form is taken for damage."""
    words = _table(plain)
    if words.get("schema") != _SCHEMA:
        raise _DamageError
    entries = {layout: _table(entry) for layout, entry in _table(words.get("layouts")).items()}
    standards = {layout: _received_checked(entry.get("received", "")) for layout, entry in entries.items()}
    return Memory(
        layouts={layout: _rules_checked(entry.get("columns")) for layout, entry in entries.items()},
        received={layout: standard for layout, standard in standards.items() if standard},
    )


def _table(plain: object) -> dict[str, object]:
    if not isinstance(plain, dict):
        raise _DamageError
    return cast("dict[str, object]", plain)


def _received_checked(plain: object) -> str:
    if not isinstance(plain, str) or (plain and plain not in (OBSERVED, *STANDARDS)):
        raise _DamageError
    return plain


def _rules_checked(plain: object) -> Rules:
    """Rules that any file can be read by: known channels, one column each, known units."""
    rules: Rules = {}
    for channel, rule in _table(plain).items():
        words = _table(rule)
        column, unit = words.get("column"), words.get("unit", "")
        if channel not in _CHANNELS or not isinstance(column, str) or not isinstance(unit, str):
            raise _DamageError
        if not 0 < len(column) <= _LONGEST or (unit and find_unit(unit) is None):
            raise _DamageError
        rules[channel] = {"column": column, "unit": unit}
    return rules


class _DamageError(ValueError):
    """A memory file says something that none of ours would."""
