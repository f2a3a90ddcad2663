"""What each option of ``remember`` does: JSON, lines for the screen, and the status of the command."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.app import archive_json as written
from pullbook.cli import show_archive as shown
from pullbook.cli.watch import Bar
from pullbook.errors import InputError
from pullbook.wiring import system_clock

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.app.ports import Archive
    from pullbook.records.archive_answer import ArchiveQuestion

_ALL: Final = 1_000_000

__all__ = [
    "Asked",
    "backup",
    "check",
    "correct",
    "exclude",
    "export",
    "find",
    "history",
    "keep",
    "merge",
    "restore",
    "undo",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is looked for, in the words of the command line."""

    words: str
    engine: str
    since: str
    until: str
    most: int
    excluded: bool

    def question(self, *, most: int = 0) -> ArchiveQuestion:
        """What the archive is asked."""
        from pullbook.app.archive_question import archive_question

        return archive_question(self.words, engine=self.engine, since=self.since, until=self.until,
                                most=min(most or self.most, _ALL), excluded=self.excluded)  # fmt: skip


def keep(archive: Archive, sessions: Sequence[str]) -> tuple[object, list[str], int]:
    """Remember a session."""
    from pullbook.app.remember_session import remember_session

    if len(sessions) > 1:
        raise InputError("one session is remembered at a time", value=" ".join(sessions),
                         remedy="run the command once for each folder")  # fmt: skip
    with Bar() as bar:
        done, memory = remember_session(Path(sessions[0]), archive, system_clock(), bar)
    return written.remembered_json(done, memory.content), shown.remembered_lines(done, memory.content), 0


def find(archive: Archive, asked: Asked) -> tuple[object, list[str], int]:
    """Find sessions; none is an answer too."""
    question = asked.question()
    found = archive.find(question)
    return written.found_json(found, question), shown.found_lines(found), 0


def export(
    archive: Archive, goal: Path, asked: Sequence[str] | Asked, *, replace: bool
) -> tuple[object, list[str], int]:
    """Write sessions as open data: those that are named, or all that are found."""
    from pullbook.app.export_sessions import export_sessions

    if isinstance(asked, Asked):
        names = [one.session for one in archive.find(asked.question(most=_ALL)).sessions]
        if not names:
            raise InputError("no session answers", where="--find", value=asked.words, remedy="use fewer words")
    else:
        names = list(asked)
    apart = isinstance(asked, Asked) or len(names) > 1
    with Bar() as bar:
        done = export_sessions(archive, goal, names, bar, replace=replace, apart=apart)
    return written.exported_json(done), shown.exported_lines(done), 0


def history(archive: Archive, session: str) -> tuple[object, list[str], int]:
    """Show the events of a session, or of all with the word "all"."""
    entries = archive.history("" if session == "all" else session)
    return written.history_json(entries), shown.history_lines(entries), 0


def exclude(archive: Archive, asked: tuple[str, str]) -> tuple[object, list[str], int]:
    """Exclude a session."""
    from pullbook.app.remember_session import signed_by

    return _noted(archive.exclude(asked[0], asked[1], signed_by(system_clock())))


def correct(archive: Archive, asked: tuple[str, str]) -> tuple[object, list[str], int]:
    """Correct a session."""
    from pullbook.app.archive_question import day_of
    from pullbook.app.remember_session import signed_by

    key, mark, value = asked[1].partition("=")
    if not mark:
        raise InputError("this is no correction", where="--correct", value=asked[1],
                         remedy='write for example --correct 3fa94c21 "engine=race four"')  # fmt: skip
    what = key.strip().lower()
    to = day_of(value, "--correct", last=False) if what == "date" else value
    return _noted(archive.correct(asked[0], what, to, signed_by(system_clock())))


def undo(archive: Archive, number: int) -> tuple[object, list[str], int]:
    """Undo an event."""
    from pullbook.app.remember_session import signed_by

    return _noted(archive.undo(number, signed_by(system_clock())))


def _noted(number: int) -> tuple[object, list[str], int]:
    return (
        written.noted_json(number),
        [f"Noted as event {number}; 'pullbook remember --undo {number}' takes it back."],
        0,
    )


def check(archive: Archive, *, repair: bool) -> tuple[object, list[str], int]:
    """Check the archive; damage is the status 1."""
    with Bar() as bar:
        checked = archive.check(bar.step, repair=repair)
    return written.checked_json(checked), shown.checked_lines(checked), 1 if checked.damages else 0


def backup(archive: Archive, goal: Path, *, replace: bool) -> tuple[object, list[str], int]:
    """Back the archive up."""
    with Bar() as bar:
        archive.backup(goal, bar.step, replace=replace)
    return written.backup_json(str(goal)), [f"Backup: {goal}"], 0


def merge(archive: Archive, other: Path) -> tuple[object, list[str], int]:
    """Take what another archive has beside."""
    with Bar() as bar:
        done = archive.merge(other, bar.step)
    return written.merged_json(str(other), done), shown.merged_lines(done), 0


def restore(archive: Archive, goal: Path, *, replace: bool) -> tuple[object, list[str], int]:
    """Put a backup in the place of the archive."""
    with Bar() as bar:
        aside = archive.restore(goal, bar.step, replace=replace)
    lines = [f"Restored from {goal}."] + ([f"What was there before: {aside}"] if aside else [])
    return written.restored_json(str(goal), aside), lines, 0
