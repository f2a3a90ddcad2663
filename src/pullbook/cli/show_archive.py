"""What ``pullbook remember`` prints."""

from __future__ import annotations

import shutil
import sys
import textwrap
from typing import TYPE_CHECKING, Final

from pullbook.quantities.phrases import counted
from pullbook.records.archive_answer import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pullbook.app.export_sessions import ExportedSession
    from pullbook.records.archive_answer import CheckedArchive, Found, FoundSession, HistoryEntry, Merged, Remembered
    from pullbook.records.archived import ArchivedSession

__all__ = ["checked_lines", "exported_lines", "found_lines", "history_lines", "merged_lines", "remembered_lines"]

_WIDEST: Final = 100


def remembered_lines(done: Remembered, content: ArchivedSession) -> list[str]:
    """What the archive did with a session."""
    pulls = counted(len(content["pulls"]), "pull")
    says = {
        Outcome.NEW: f"Remembered with {pulls} as session {done.session}.",
        Outcome.REVISED: f"Remembered as revision {done.revision} of session {done.session}; the earlier ones stay.",
        Outcome.FINDINGS: f"Session {done.session} was there already; its findings were worked out anew and added.",
        Outcome.SAME: f"Session {done.session} was there already, with the same files; nothing was changed.",
    }
    return [content["title"], says[done.outcome], *[f"  {line}" for line in done.changed]]


def found_lines(found: Found) -> list[str]:
    """The sessions that were found, the latest first."""
    width = min(shutil.get_terminal_size((_WIDEST, 24)).columns, _WIDEST)
    strong = ("\033[1m", "\033[0m") if sys.stdout.isatty() else ("", "")
    lines = [line for one in found.sessions for line in (*_lines(one, width, strong), "")]
    shown = len(found.sessions)
    if not found.count:
        return ["No session answers; fewer words find more, and the beginning of a word is enough."]
    if shown < found.count:
        return [*lines, f"{shown} of {found.count:,} sessions; the rest with --most {found.count}, or ask for less."]
    return [*lines, f"{counted(shown, 'session').capitalize()}."]


def history_lines(entries: Sequence[HistoryEntry]) -> list[str]:
    """Who did what, and when."""
    width = max((len(entry.who) for entry in entries), default=0)
    return [
        f"{entry.number:>5}  {entry.at}  {entry.who:{width}}  {entry.session}  {entry.says}"
        + (f" (undone by {entry.undone_by})" if entry.undone_by else "")
        for entry in entries
    ] or ["Nothing has been done with it."]


def checked_lines(checked: CheckedArchive) -> list[str]:
    """What was checked, and what is damaged."""
    share = f", {100.0 * checked.size / checked.raw_size:.0f} % of the files in it" if checked.raw_size else ""
    what = (
        f"{counted(checked.sessions, 'session')}, {counted(checked.events, 'event')}, {counted(checked.files, 'file')}"
    )
    lines = [f"{what[0].upper()}{what[1:]}; {checked.size / 1e6:,.1f} MB{share}."]
    if not checked.damages:
        return [*lines, "All of it is whole."]
    lines += [f"! {one.what}" + (f"; lost: {one.lost}" if one.lost else "") for one in checked.damages]
    remedy = "Put a backup in its place with 'pullbook remember --restore FILE --replace'."
    return [*lines, remedy] if any(damage.lost for damage in checked.damages) else lines


def merged_lines(merged: Merged) -> list[str]:
    """What came out of another archive, and what both say differently."""
    conflicts = [f"! {one}" for one in merged.conflicts]
    if not merged.events:
        return ["Nothing is in it that is not here already.", *conflicts]
    what = [counted(merged.sessions, "new session")] if merged.sessions else []
    what += [f"{counted(merged.changed, 'session')} with more than before"] if merged.changed else []
    what += [counted(merged.events, "event"), counted(merged.files, "file")]
    text = ", ".join(what)
    return [f"{text[0].upper()}{text[1:]}.", *conflicts]


def exported_lines(exported: Sequence[ExportedSession]) -> list[str]:
    """What was written as open data, and under which licence."""
    lines = []
    for one in exported:
        lines += [one.title, f"  session {one.session}: {counted(one.files, 'file')}, {one.size / 1e6:,.1f} MB"]
        lines += [f"  licence: {one.licence}" if one.licence else "  no licence was given", f"  {one.folder}"]
    if any(not one.licence for one in exported):
        lines.append('Without a licence nobody may use the data unasked: write licence = "CC-BY-4.0" or another under '
                     "[session] in session.toml, and remember the session again.")  # fmt: skip
    return [*lines, "Whoever has it checks it with 'sha256sum -c SHA256SUMS' and 'pullbook compare FOLDER'."]


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
