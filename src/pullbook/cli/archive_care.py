"""What each option of ``remember`` does: JSON, lines for the screen, and the status of the command."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.app import archive_json as written
from pullbook.cli import show_archive as shown
from pullbook.cli.watch import Bar
from pullbook.errors import InputError
from pullbook.wiring import system_clock

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.app.ports import Archive

__all__ = ["backup", "check", "correct", "exclude", "find", "history", "keep", "restore", "undo"]


def keep(archive: Archive, session: Path) -> tuple[object, list[str], int]:
    """Remember a session."""
    from pullbook.app.remember_session import remember_session

    with Bar() as bar:
        done, memory = remember_session(session, archive, system_clock(), bar)
    return written.remembered_json(done, memory.content), shown.remembered_lines(done, memory.content), 0


def find(
    archive: Archive, text: str, filters: tuple[str, str, str], most: int, *, excluded: bool
) -> tuple[object, list[str], int]:
    """Find sessions; none is an answer too."""
    from pullbook.app.archive_question import archive_question

    engine, since, until = filters
    question = archive_question(text, engine=engine, since=since, until=until, most=most, excluded=excluded)
    found = archive.find(question)
    return written.found_json(found, question), shown.found_lines(found), 0


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


def restore(archive: Archive, goal: Path, *, replace: bool) -> tuple[object, list[str], int]:
    """Put a backup in the place of the archive."""
    with Bar() as bar:
        aside = archive.restore(goal, bar.step, replace=replace)
    lines = [f"Restored from {goal}."] + ([f"What was there before: {aside}"] if aside else [])
    return written.restored_json(str(goal), aside), lines, 0
