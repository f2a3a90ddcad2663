"""A backup is one state of the archive in one file, and goes back into either database."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from archive_cases import SIGNED, memory, silent
from sqlalchemy import select

from pullbook.errors import FailureError, InputError
from pullbook.records.archive_answer import ArchiveQuestion
from pullbook.remember import backup as backups
from pullbook.remember.archive import SqlArchive
from pullbook.remember.history import HISTORY
from pullbook.remember.place import place_of

if TYPE_CHECKING:
    from pathlib import Path

ALL = ArchiveQuestion(most=100, excluded=True)


def history_of(archive: SqlArchive) -> list[list[tuple[object, ...]]]:
    """All rows of the history."""
    with archive._reading() as connection:
        return [
            sorted((tuple(row) for row in connection.execute(select(*table.__table__.columns))), key=repr)
            for table in HISTORY
        ]  # fmt: skip


def filled(archive: SqlArchive) -> SqlArchive:
    """Three sessions, one excluded and one corrected."""
    for number in (1, 2, 3):
        archive.remember(memory(number, title=f"T{number}"), SIGNED)
    names = [one.session for one in archive.find(ALL).sessions]
    archive.exclude(names[0], "wrong camshaft", SIGNED)
    archive.undo(archive.correct(names[1], "title", "T9", SIGNED), SIGNED)
    return archive


def test_a_backup_goes_back_into_either_database(archive: SqlArchive, address: str, tmp_path: Path) -> None:
    filled(archive).backup(tmp_path / "backup", silent, replace=False)
    other = SqlArchive(place_of(address))
    assert other.restore(tmp_path / "backup", silent, replace=False) == ""
    assert history_of(other) == history_of(archive)
    assert other.find(ALL) == archive.find(ALL)
    assert other.check(silent).damages == ()
    assert other.remember(memory(4), SIGNED).outcome == "new"  # numbers go on behind those that came
    assert other.history("")[-1].number == 7
    other.close()
    assert [path.name for path in tmp_path.iterdir() if "backup" in path.name] == ["backup"]


def test_an_archive_that_holds_something_is_replaced_only_when_asked_and_kept_beside(
    archive: SqlArchive, tmp_path: Path
) -> None:
    filled(archive).backup(tmp_path / "backup", silent, replace=False)
    before = history_of(archive)
    archive.remember(memory(4, title="T4"), SIGNED)
    after = history_of(archive)
    with pytest.raises(InputError, match="the archive holds 7 events; add --replace"):
        archive.restore(tmp_path / "backup", silent, replace=False)
    assert history_of(archive) == after
    aside = archive.restore(tmp_path / "backup", silent, replace=True)
    assert history_of(archive) == before
    kept = SqlArchive(place_of(aside))
    assert history_of(kept) == after
    kept.close()


def test_a_restore_that_fails_half_way_leaves_the_archive_as_it_was(
    archive: SqlArchive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled(archive).backup(tmp_path / "backup", silent, replace=False)
    archive.remember(memory(4, title="T4"), SIGNED)
    before = history_of(archive)

    def fails(*_: object) -> None:
        raise FailureError("the disk is full")

    monkeypatch.setattr("pullbook.remember.copying.redraw", fails)
    monkeypatch.setattr(backups, "back_up", lambda *_, **__: None)
    with pytest.raises(FailureError, match="the disk is full"):
        archive.restore(tmp_path / "backup", silent, replace=True)
    assert history_of(archive) == before


def test_a_damaged_or_foreign_backup_is_refused_before_anything_is_touched(
    sqlite_archive: SqlArchive, tmp_path: Path
) -> None:
    goal = tmp_path / "backup"
    filled(sqlite_archive).backup(goal, silent, replace=False)
    before = history_of(sqlite_archive)
    whole = goal.read_bytes()
    place = whole.index(b'"title":"T2"') + 9  # in an event
    for content, told in (
        (b"no database at all" * 100, "no backup, or a damaged one"),
        (whole[:place] + b"U" + whole[place + 1 :], "the backup is damaged"),
        (whole[: len(whole) // 2], "damaged"),
        (b"", "there is no archive in it"),
    ):
        goal.write_bytes(content)
        with pytest.raises((InputError, FailureError), match=told):
            sqlite_archive.restore(goal, silent, replace=True)
        assert history_of(sqlite_archive) == before
    with pytest.raises(InputError, match="there is no such file"):
        sqlite_archive.restore(tmp_path / "absent", silent, replace=True)


def test_a_file_in_the_way_of_a_backup_stays_unless_it_may_be_replaced(
    sqlite_archive: SqlArchive, tmp_path: Path
) -> None:
    sqlite_archive.remember(memory(), SIGNED)
    goal = tmp_path / "backup"
    goal.write_text("mine")
    with pytest.raises(InputError, match="a file is in the way"):
        sqlite_archive.backup(goal, silent, replace=False)
    assert goal.read_text() == "mine"
    sqlite_archive.backup(goal, silent, replace=True)
    assert goal.read_bytes().startswith(b"SQLite format 3")
    with pytest.raises(InputError, match="this is the archive itself"):
        sqlite_archive.backup(tmp_path / "archive.sqlite", silent, replace=True)


def test_a_damaged_archive_is_replaced_and_kept_beside(sqlite_archive: SqlArchive, tmp_path: Path) -> None:
    filled(sqlite_archive).backup(tmp_path / "backup", silent, replace=False)
    before = history_of(sqlite_archive)
    sqlite_archive.close()
    path = tmp_path / "archive.sqlite"
    path.write_bytes(b"x" * 5000)
    with pytest.raises(FailureError, match="this is no archive"):
        sqlite_archive.restore(tmp_path / "backup", silent, replace=False)
    assert path.read_bytes() == b"x" * 5000
    aside = sqlite_archive.restore(tmp_path / "backup", silent, replace=True)
    assert history_of(sqlite_archive) == before
    with open(aside, "rb") as stream:  # noqa: PTH123 - a name as text
        assert stream.read() == b"x" * 5000
