"""Whether a folder is in the archive: as it stands, as it was, or not at all; on both databases."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from archive_cases import SIGNED, memory
from sqlalchemy import inspect

from pullbook.errors import InputError
from pullbook.records.archive_answer import ArchiveQuestion
from pullbook.records.recollection import SessionState
from pullbook.remember.archive import SqlArchive
from pullbook.remember.place import place_of

if TYPE_CHECKING:
    from pullbook.records.archived import SessionMemory


def state_of(told: SessionMemory) -> SessionState:
    files = {one["name"]: one["sha256"] for one in told.content["files"]}
    pulls = tuple(dict.fromkeys(pull["file"] for pull in told.content["pulls"]))
    return SessionState(key=told.key, folder=told.content["folder"], files=files, pulls=pulls)


def test_a_session_is_told_as_it_stands_with_its_name_revision_and_moment(archive: SqlArchive) -> None:
    archive.remember(memory(2), SIGNED)
    done = archive.remember(memory(1), SIGNED)
    found = archive.look_up(state_of(memory(1)))
    assert found is not None
    assert (found.session, found.revision, found.latest, found.at) == (done.session, 1, 1, SIGNED.at)
    assert (found.program, found.excluded, found.changed) == ("0.1.0", "", ())


def test_what_has_changed_since_is_told_by_the_files(archive: SqlArchive) -> None:
    done = archive.remember(memory(1, pulls=(1, 2, 3)), SIGNED)
    now = memory(1, pulls=(1, 2, 4), title="Another title")
    found = archive.look_up(state_of(now))
    assert found is not None
    assert (found.session, found.revision) == (done.session, 1)
    assert found.changed == ("session.toml changed", "pulls/4.csv is new", "pulls/3.csv is gone")
    assert found.changed == archive.remember(now, SIGNED).changed  # remembering finds the same


def test_a_folder_that_went_back_to_an_older_revision_is_told_so(archive: SqlArchive) -> None:
    archive.remember(memory(1, pulls=(1, 2, 3)), SIGNED)
    archive.remember(memory(1, pulls=(1, 2, 4)), SIGNED)
    found = archive.look_up(state_of(memory(1, pulls=(1, 2, 3))))
    assert found is not None
    assert (found.revision, found.latest, found.changed) == (1, 2, ())


def test_looking_makes_no_tables_where_nothing_is_yet(address: str) -> None:
    there = SqlArchive(place_of(address))
    for ask in (lambda: there.look_up(state_of(memory(1))), lambda: there.find(ArchiveQuestion())):
        with pytest.raises(InputError, match="there is no archive yet"):
            ask()
    assert there.place.path is None or not there.place.path.exists()
    if there.place.path is None:
        with there._doors.reading() as connection:
            assert inspect(connection).get_table_names() == []
    there.close()


def test_a_new_session_an_undone_one_and_an_excluded_one(archive: SqlArchive) -> None:
    done = archive.remember(memory(1), SIGNED)
    assert archive.look_up(state_of(memory(2))) is None
    archive.exclude(done.session, "wrong camshaft", SIGNED)
    found = archive.look_up(state_of(memory(1)))
    assert found is not None
    assert found.excluded == "wrong camshaft"
    archive.undo(1, SIGNED)
    assert archive.look_up(state_of(memory(1))) is None
