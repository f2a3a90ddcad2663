"""What killed processes leave beside an archive is swept or ended at the next open."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from archive_cases import SIGNED, memory, silent

from pullbook.records.archive_answer import ArchiveQuestion
from pullbook.remember import backup as backups
from pullbook.remember import leftovers
from pullbook.remember.archive import SqlArchive
from pullbook.remember.place import place_of

if TYPE_CHECKING:
    from collections.abc import Callable

ALL = ArchiveQuestion(most=100)
DAMAGED = b"x" * 5000
LOG = b"a log of the old file"


class Killed(BaseException):
    """Stands for the end of a process."""


def dying(function: Callable[..., Any], left: list[int]) -> Callable[..., Any]:
    """A function that ends the process before the step whose turn it is."""

    def step(*words: Any, **named: Any) -> Any:
        left[0] -= 1
        if left[0] == 0:
            raise Killed
        return function(*words, **named)

    return step


@pytest.fixture(scope="module")
def backup(empty_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A backup with one session."""
    folder = tmp_path_factory.mktemp("backup")
    shutil.copy(empty_file, folder / "archive.sqlite")
    archive = SqlArchive(place_of(str(folder / "archive.sqlite")))
    archive.remember(memory(1, title="T1"), SIGNED)
    archive.backup(folder / "backup", silent, replace=False)
    archive.close()
    return folder / "backup"


# Four steps keep what was there under other names, the fifth lets the new file count, the last two put it in place.
@pytest.mark.parametrize(("step", "new"), [(1, False), (2, False), (5, False), (6, True), (7, True), (8, True)])
def test_killed_while_an_unreadable_archive_is_replaced_the_old_one_or_the_new_one_is_there_whole(
    backup: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    step: int,
    new: bool,  # noqa: FBT001 - a case
) -> None:
    path, log, aside = (tmp_path / name for name in ("archive.sqlite", "archive.sqlite-wal", "aside.sqlite"))
    path.write_bytes(DAMAGED)
    log.write_bytes(LOG)
    killed = False
    with backups.readable(backup, place_of(str(path)), silent) as source, monkeypatch.context() as patched:
        left = [step]
        patched.setattr("pullbook.remember.leftovers.os.link", dying(os.link, left))
        patched.setattr(Path, "replace", dying(Path.replace, left))
        patched.setattr("pullbook.remember.backup.end_restore", dying(leftovers.end_restore, left))
        try:
            backups._instead_of_damaged(source, path, aside, silent)
        except Killed:
            killed = True
    assert killed == (step < 8)
    if not new:
        assert (path.read_bytes(), log.read_bytes()) == (DAMAGED, LOG)
        leftovers.sweep(path)
        assert (path.read_bytes(), log.read_bytes()) == (DAMAGED, LOG)
        return
    opened = SqlArchive(place_of(str(path)))
    assert [one.title for one in opened.find(ALL).sessions] == ["T1"]
    assert opened.check(silent).damages == ()
    opened.close()
    assert (aside.read_bytes(), aside.with_name("aside.sqlite-wal").read_bytes()) == (DAMAGED, LOG)


def _age(path: Path) -> None:
    """Let a file be older than any that somebody is writing."""
    written = path.stat().st_mtime - 3700.0
    os.utime(path, (written, written))


def test_scratch_files_that_nobody_writes_to_any_more_are_swept_and_others_stay(
    sqlite_archive: SqlArchive, tmp_path: Path
) -> None:
    sqlite_archive.remember(memory(1), SIGNED)
    sqlite_archive.close()
    swept = [".archive.sqlite-0123456789ab", ".archive.sqlite-0123456789ab-wal", ".restoring-backup-0123456789ab",
             ".archive-before-restore-01234567.sqlite-0123456789ab"]  # fmt: skip
    stay = [".another.sqlite-0123456789ab", "archive.sqlite-0123456789ab", ".archive.sqlite-short"]
    for name in (*swept, *stay):
        (tmp_path / name).write_bytes(b"left")
        _age(tmp_path / name)
    (tmp_path / ".archive.sqlite-aaaaaaaaaaaa").write_bytes(b"somebody is at work")
    opened = SqlArchive(place_of(str(tmp_path / "archive.sqlite")))
    assert opened.find(ALL).count == 1
    opened.close()
    there = {path.name for path in tmp_path.iterdir()}
    assert not there & set(swept)
    assert there >= {*stay, ".archive.sqlite-aaaaaaaaaaaa"}


def test_a_scratch_file_of_an_earlier_backup_is_swept_by_the_next_one(
    sqlite_archive: SqlArchive, tmp_path: Path
) -> None:
    sqlite_archive.remember(memory(1), SIGNED)
    stick = tmp_path / "stick"
    stick.mkdir()
    left = stick / ".backup-0123456789ab"
    shutil.copy(tmp_path / "archive.sqlite", left)
    _age(left)
    sqlite_archive.backup(stick / "backup", silent, replace=False)
    assert [path.name for path in stick.iterdir()] == ["backup"]
