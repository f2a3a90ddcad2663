"""What ``pullbook remember`` prints."""

from __future__ import annotations

import shutil
import sys
import textwrap
from typing import TYPE_CHECKING, Final

from pullbook.quantities.phrases import counted
from pullbook.records.archive_answer import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.records.archive_answer import Found, FoundSession, Remembered
    from pullbook.records.archived import ArchivedSession

__all__ = ["print_found", "print_remembered"]

_WIDEST: Final = 100


def print_remembered(done: Remembered, content: ArchivedSession) -> None:
    """Print what the archive did with a session."""
    pulls = counted(len(content["pulls"]), "pull")
    says = {
        Outcome.NEW: f"Remembered with {pulls} as session {done.session}.",
        Outcome.REVISED: f"Remembered as revision {done.revision} of session {done.session}; the earlier ones stay.",
        Outcome.FINDINGS: f"Session {done.session} was there already; its findings were worked out anew and added.",
        Outcome.SAME: f"Session {done.session} was there already, with the same files; nothing was changed.",
    }
    print(f"{content['title']}\n{says[done.outcome]}")
    for line in done.changed:
        print(f"  {line}")


def print_found(found: Found) -> None:
    """Print the sessions that were found, the latest first."""
    width = min(shutil.get_terminal_size((_WIDEST, 24)).columns, _WIDEST)
    strong = ("\033[1m", "\033[0m") if sys.stdout.isatty() else ("", "")
    for one in found.sessions:
        for line in _lines(one, width, strong):
            print(line)
        print()
    shown = len(found.sessions)
    if not found.count:
        print("No session answers; fewer words find more, and the beginning of a word is enough.")
    elif shown < found.count:
        print(f"{shown} of {found.count:,} sessions; the rest with --most {found.count}, or ask for less.")
    else:
        print(f"{counted(shown, 'session').capitalize()}.")


def _lines(one: FoundSession, width: int, strong: tuple[str, str]) -> Iterator[str]:
    revision = f", revision {one.revision}" if one.revision > 1 else ""
    yield f"{strong[0]}{one.date or 'no date':10}  {one.title}{strong[1]}"
    engine = f"{one.engine}; " if one.engine else ""
    lines = [f"{engine}{counted(one.pulls, 'pull')}; session {one.session}{revision}"]
    lines += [f"excluded: {one.excluded}"] if one.excluded else []
    lines += [*one.changed, one.headline, one.folder]
    for line in lines:
        yield from textwrap.wrap(line, width, initial_indent=" " * 12, subsequent_indent=" " * 12,
                                 break_long_words=False, break_on_hyphens=False)  # fmt: skip
