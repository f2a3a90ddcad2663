"""A second archive is merged in: nothing twice, histories kept, differences said; all of it or nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from archive_cases import SIGNED, memory, silent
from sqlalchemy import func, select

from pullbook.errors import FailureError, InputError
from pullbook.records.archive_answer import ArchiveQuestion
from pullbook.records.archived import Signed
from pullbook.remember import merging
from pullbook.remember.archive import SqlArchive
from pullbook.remember.history import Blob
from pullbook.remember.place import place_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pullbook.records.archive_answer import Merged

OTHER = Signed(who="other bench", at="2026-06-01T10:00:00Z")
ALL = ArchiveQuestion(most=100, excluded=True)


@pytest.fixture
def second(tmp_path: Path) -> Iterator[SqlArchive]:
    """An archive of another bench, in a file."""
    opened = SqlArchive(place_of(str(tmp_path / "second.sqlite")))
    yield opened
    opened.close()


def titles(archive: SqlArchive) -> list[str]:
    return sorted(one.title for one in archive.find(ALL).sessions)


def merged(archive: SqlArchive, second: SqlArchive) -> Merged:
    path = second.place.path
    assert path is not None
    second.close()
    done = archive.merge(path, silent)
    assert archive.check(silent).damages == ()
    return done


def test_what_both_have_is_there_once_and_the_rest_comes_with_its_history(
    archive: SqlArchive, second: SqlArchive
) -> None:
    for number in (1, 2):
        archive.remember(memory(number, title=f"T{number}"), SIGNED)
    for number in (2, 3):
        second.remember(memory(number, title=f"T{number}"), OTHER)
    third = second.find(ArchiveQuestion(words=("t3",))).sessions[0].session
    second.correct(third, "engine", "Street six", OTHER)
    second.undo(second.exclude(third, "wrong camshaft", OTHER), OTHER)
    done = merged(archive, second)
    assert (done.sessions, done.changed, done.events, done.conflicts) == (1, 0, 4, ())
    assert titles(archive) == ["T1", "T2", "T3"]
    assert [(one.kind, one.who, one.at) for one in archive.history(third)] == [
        (kind, OTHER.who, OTHER.at) for kind in ("remember", "correct", "exclude", "undo")
    ]
    assert archive.find(ArchiveQuestion(words=("t3",))).sessions[0].engine == "Street six"
    with archive._reading() as connection:
        files = connection.execute(select(func.count()).select_from(Blob)).scalar_one()
    assert files == 3 * (1 + 3 + 3)  # of each session: its file, three pulls; content, findings and channels


def test_merged_again_nothing_changes(archive: SqlArchive, second: SqlArchive) -> None:
    archive.remember(memory(1), SIGNED)
    session = second.remember(memory(2), OTHER).session
    second.correct(session, "title", "Another", OTHER)
    merged(archive, second)
    before = archive.history("")
    done = merged(archive, second)
    assert (done.sessions, done.changed, done.events, done.files, done.conflicts) == (0, 0, 0, 0, ())
    assert archive.history("") == before


def test_what_both_say_of_a_session_is_said_and_can_be_taken_back(archive: SqlArchive, second: SqlArchive) -> None:
    session = archive.remember(memory(1, pulls=(1, 2, 3)), SIGNED).session
    archive.correct(session, "title", "Ours", SIGNED)
    there = second.remember(memory(1, pulls=(1, 2, 3, 4)), OTHER).session
    assert there != session
    second.correct(there, "title", "Theirs", OTHER)
    second.exclude(there, "leaking header", OTHER)
    done = merged(archive, second)
    assert (done.sessions, done.changed, done.events) == (0, 1, 3)
    revision, title, excluded = done.conflicts
    assert f"session {session} has another revision there" in revision
    assert "'Ours' here and 'Theirs' there" in title
    assert "leaking header" in excluded
    found = archive.find(ALL).sessions
    assert [(one.session, one.revision, one.title, one.excluded) for one in found] == [
        (session, 2, "Theirs", "leaking header")
    ]  # fmt: skip
    for number in (5, 4, 3):
        archive.undo(number, SIGNED)
    found = archive.find(ALL).sessions
    assert [(one.revision, one.title, one.excluded) for one in found] == [(1, "Ours", "")]


def test_a_session_that_was_taken_back_there_stays_here(archive: SqlArchive, second: SqlArchive) -> None:
    archive.remember(memory(1), SIGNED)
    second.remember(memory(1), OTHER)
    second.undo(1, OTHER)
    done = merged(archive, second)
    assert done.events == 0
    assert "was taken back there on 2026-06-01T10:00:00Z; here it stays" in done.conflicts[0]
    assert archive.find(ALL).count == 1


def test_histories_that_began_as_one_are_one_again(archive: SqlArchive, tmp_path: Path) -> None:
    session = archive.remember(memory(1), SIGNED).session
    archive.backup(tmp_path / "copy", silent, replace=False)
    copy = SqlArchive(place_of(str(tmp_path / "copy")))
    copy.exclude(session, "wrong camshaft", OTHER)
    copy.remember(memory(2), OTHER)
    archive.remember(memory(3), SIGNED)
    done = merged(archive, copy)
    assert (done.sessions, done.changed, done.events) == (1, 1, 2)
    assert len(archive.history(session)) == 2
    assert archive.find(ALL).count == 3


def test_a_merge_that_fails_half_way_leaves_the_archive_as_it_was(
    archive: SqlArchive, second: SqlArchive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    archive.remember(memory(1), SIGNED)
    second.remember(memory(2), OTHER)
    before = archive.history("")

    def fails(*_: object) -> None:
        raise FailureError("the disk is full")

    monkeypatch.setattr(merging, "draw", fails)
    with pytest.raises(FailureError, match="the disk is full"):
        archive.merge(tmp_path / "second.sqlite", silent)
    monkeypatch.undo()
    assert archive.history("") == before
    assert archive.check(silent).damages == ()
    (tmp_path / "other").write_bytes(b"no archive" * 100)
    with pytest.raises(InputError, match="this is no backup"):
        archive.merge(tmp_path / "other", silent)
    with pytest.raises(InputError, match="there is no such file"):
        archive.merge(tmp_path / "absent", silent)
