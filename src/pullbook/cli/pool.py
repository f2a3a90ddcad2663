"""What ``remember --pool`` and ``remember --honest`` do: JSON, lines for the screen, and the status of the command."""

from __future__ import annotations

import shutil
import textwrap
from typing import TYPE_CHECKING, Final

from pullbook.cli.watch import Bar
from pullbook.errors import InputError
from pullbook.quantities.phrases import counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from pullbook.app.ports import Archive

__all__ = ["honest", "pool"]

_WIDEST: Final = 100
_DYNOS: Final = ("engine", "chassis")


def pool(
    archive: Archive, words: str, goal: Path | None, *, standard: str, dyno: str, windows: Sequence[str]
) -> tuple[object, list[str], int]:
    """Pool a change over all sessions that tested it; write its page where one is asked for."""
    from pullbook.app.pool_json import pool_json
    from pullbook.app.pool_sessions import PoolTerms, pool_sessions, write_pool
    from pullbook.app.question import standard_named, window_of
    from pullbook.publish.pool_words import curve_sentences, pool_sentences, row_named

    if dyno and dyno not in _DYNOS:
        raise InputError("there is no such dynamometer", where="--dyno", value=dyno, remedy="write engine or chassis")
    terms = PoolTerms(
        standard=standard_named(standard, "--standard") if standard else None, dyno=dyno,
        windows=tuple(window_of(text, "--window") for text in windows),
    )  # fmt: skip
    with Bar() as bar:
        found = pool_sessions(archive, words, terms, bar)
    says = (*pool_sentences(found), *curve_sentences(found))
    told = pool_json(found, says)
    lines = [f"{words}: {counted(len(found.rows), 'session')}, {found.dyno} dynamometer, {_at(found.standard)}",
             *_wrapped(says), "", "Sessions"]  # fmt: skip
    for row in found.rows:
        lines += _wrapped([f"{row_named(row)}: {row.from_} to {row.to}; {row.folder}"])
    if goal is not None:
        lines += ["", *(str(path) for path in write_pool(found, told, goal))]
    return told, lines, 0


def _at(standard: str) -> str:
    return "as observed" if standard == "none" else f"corrected to {standard}"


def honest(archive: Archive) -> tuple[object, list[str], int]:
    """Say how often bands held."""
    from pullbook.app.honest_bands import honest_bands
    from pullbook.app.pool_json import honest_json
    from pullbook.publish.pool_words import honest_sentences

    found = honest_bands(archive)
    says = honest_sentences(
        (found.held, found.sessions), (found.windows_held, found.windows), (found.low, found.high), found.without
    )
    says += [f"Outside: session {one.session} ({one.title}), {one.worst:.2f} times the band; {one.folder}"
             for one in found.outside]  # fmt: skip
    return honest_json(found, says), _wrapped(says), 0


def _wrapped(says: Iterable[str]) -> list[str]:
    width = min(shutil.get_terminal_size((_WIDEST, 24)).columns, _WIDEST)
    lines: list[str] = []
    for one in says:
        lines += textwrap.wrap(one, width, initial_indent="  ", subsequent_indent="    ", break_long_words=False,
                               break_on_hyphens=False)  # fmt: skip
    return lines
