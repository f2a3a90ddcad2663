"""Bytes that changed in the file are found and named, or belong to nothing."""

from __future__ import annotations

import random
import shutil
import sqlite3
from typing import TYPE_CHECKING, Final

import pytest
from archive_cases import SIGNED, memory, silent
from sqlalchemy import select, text

from pullbook.errors import PullbookError
from pullbook.remember.archive import SqlArchive
from pullbook.remember.history import HISTORY, Table
from pullbook.remember.place import place_of

if TYPE_CHECKING:
    from pathlib import Path

FLIPS: Final = 16


def rows_of(archive: SqlArchive) -> dict[str, list[tuple[object, ...]]]:
    """All that the archive says."""
    with archive._doors.reading() as connection:
        return {
            name: sorted((tuple(row) for row in connection.execute(select(table))), key=repr)
            for name, table in Table.metadata.tables.items()
        }


def test_any_byte_that_is_changed_is_found_unless_nothing_was_said_with_it(
    sqlite_archive: SqlArchive, tmp_path: Path
) -> None:
    sqlite_archive.remember(memory(1), SIGNED)
    sqlite_archive.exclude(sqlite_archive.remember(memory(2), SIGNED).session, "wrong camshaft", SIGNED)
    said = rows_of(sqlite_archive)
    sqlite_archive.backup(tmp_path / "whole", silent, replace=False)
    whole = (tmp_path / "whole").read_bytes()
    rng = random.Random(5)  # noqa: S311 - a test
    spots = rng.sample([place for place, byte in enumerate(whole) if byte], FLIPS)  # much of the rest is unused
    found = 0
    for spot in spots:
        damaged = bytearray(whole)
        damaged[spot] ^= 1 << rng.randrange(8)
        (tmp_path / "damaged.sqlite").write_bytes(damaged)
        archive = SqlArchive(place_of(str(tmp_path / "damaged.sqlite")))
        try:
            damages = archive.check(silent).damages
        except PullbookError:  # it cannot even be opened, and says so
            found += 1
            continue
        if not damages:
            assert rows_of(archive) == said, f"byte {spot} changed unnoticed"
        found += bool(damages)
        archive.close()
    assert found > 0


def test_a_damaged_file_is_named_with_its_session(sqlite_archive: SqlArchive, tmp_path: Path) -> None:
    kept = memory(1, title="Primaries")
    session = sqlite_archive.remember(kept, SIGNED).session
    sqlite_archive.close()
    sha256 = next(one["sha256"] for one in kept.content["files"] if one["name"] == "pulls/101.csv")
    changes = {
        "pulls/101.csv of session": (
            "UPDATE piece SET content = substr(content, 1, 200) || x'00' || substr(content, 202) WHERE sha256 = :sha256"
        ),
        "event 1 (remember": "UPDATE event SET content = replace(content, 'Primaries', 'Camshafts')",
        "the rows by which session": "UPDATE session SET title = 'Camshafts'",
        "rows of held refer to rows of blob": "DELETE FROM blob WHERE sha256 = :sha256",
        "protects the history, is missing": "SELECT 1",
    }  # fmt: skip
    for named, change in changes.items():
        path = tmp_path / "damaged.sqlite"
        shutil.copy(tmp_path / "archive.sqlite", path)
        connection = sqlite3.connect(path)
        for table in ("event", "blob", "piece", "held"):
            connection.execute(f"DROP TRIGGER {table}_no_update").close()
            connection.execute(f"DROP TRIGGER {table}_no_delete").close()
        connection.execute(change, {"sha256": bytes.fromhex(sha256)} if ":sha256" in change else {}).close()
        connection.commit()
        connection.close()
        damages = SqlArchive(place_of(str(path))).check(silent).damages
        assert any(named in damage.what for damage in damages), (named, damages)
        if "session" in named:
            assert any(session in damage.what for damage in damages)


def test_damaged_rows_of_a_server_are_found_too(postgresql_archive: SqlArchive) -> None:
    postgresql_archive.remember(memory(1), SIGNED)
    with postgresql_archive._doors.writing() as connection:
        connection.execute(text("UPDATE session SET headline = 'B makes less torque.'"))
        connection.execute(text("ALTER TABLE event DISABLE TRIGGER USER"))
        connection.execute(text("UPDATE event SET who = 'somebody else'"))
        connection.execute(text("ALTER TABLE event ENABLE TRIGGER USER"))
    found = [damage.what for damage in postgresql_archive.check(silent).damages]
    assert len(found) == 2
    assert "event 1 (remember" in found[0]
    assert "the rows by which session" in found[1]


def test_what_follows_from_the_history_is_repaired(archive: SqlArchive) -> None:
    archive.remember(memory(1), SIGNED)
    with archive._doors.writing() as connection:
        connection.execute(text("UPDATE session SET title = 'Camshafts'"))
        connection.execute(text("DELETE FROM word"))
    assert archive.check(silent).damages
    assert archive.check(silent, repair=True).damages == ()


@pytest.mark.parametrize("table", [table.__tablename__ for table in HISTORY])
def test_a_missing_trigger_is_named(sqlite_archive: SqlArchive, table: str) -> None:
    with sqlite_archive._doors.writing() as connection:
        connection.execute(text(f"DROP TRIGGER {table}_no_delete"))
    assert [damage.what for damage in sqlite_archive.check(silent).damages] == [
        f"the trigger {table}_no_delete, which protects the history, is missing"
    ]
