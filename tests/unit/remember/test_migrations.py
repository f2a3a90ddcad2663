"""An archive of every earlier version comes up to today's with all that it holds; one of a newer one is left alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from archive_cases import SIGNED, memory, silent
from archive_versions import write_as_0001
from sqlalchemy import Connection, insert, text

from pullbook.errors import InputError
from pullbook.records.archive_answer import ArchiveQuestion
from pullbook.remember.archive import SqlArchive
from pullbook.remember.blobs import keep
from pullbook.remember.events import add_event
from pullbook.remember.history import Table
from pullbook.remember.migrate import NEWEST, settle, version_of
from pullbook.remember.place import place_of
from pullbook.remember.remembering import add_session, make_parcel, told_of
from pullbook.remember.views import OF_SESSION

if TYPE_CHECKING:
    from collections.abc import Callable

ALL: Final = ArchiveQuestion(most=100)


def versions() -> list[str]:
    """Versions in the order in which they came."""
    config = Config()
    config.set_main_option("script_location", "pullbook.remember:migrations")
    return [script.revision for script in reversed(list(ScriptDirectory.from_config(config).walk_revisions()))]


def fill_history(connection: Connection) -> None:
    """Two sessions as a pullbook of version 0001 wrote them: events and files, and nothing worked out from them."""
    for number in (1, 2):
        write_as_0001(connection, memory(number, title=f"T{number}"))


def fill_views(connection: Connection) -> None:
    """What a pullbook of version 0002 wrote beside; a row that is wrong on purpose shows that they are made anew."""
    connection.execute(insert(OF_SESSION[0].metadata.tables["engine"]).values(key="old", name="old"))


def fill_binary(connection: Connection) -> None:
    """What a pullbook of version 0003 wrote: hashes of files as bytes."""
    found = connection.execute(text("SELECT sha256 FROM held UNION SELECT sha256 FROM piece")).scalars().all()
    assert {len(bytes(one)) for one in found} == {32}


def fill_told(connection: Connection) -> None:
    """What a pullbook of version 0004 wrote: channels by the columns of their files; views are made anew."""
    one = memory(3, title="T3")
    parcel = make_parcel(one, lambda _: set())
    keep(connection, parcel.files)
    add_event(connection, SIGNED, "remember", one.key[:12], told_of(one), held=parcel.held)
    found = connection.execute(text("SELECT name FROM held WHERE role = 'channels' ORDER BY event_id")).scalars().all()
    assert found == ["channels.parquet", "channels.parquet", "channels.json"]


def fill_benches(connection: Connection) -> None:
    """What a pullbook of version 0005 wrote: the name of the bench."""
    one = memory(4, title="T4")
    named = replace(one, content=one.content | {"bench": " Cell 2"})
    add_session(connection, make_parcel(named, lambda _: set()), SIGNED)
    assert set(connection.execute(text("SELECT bench FROM session")).scalars()) == {"", "cell 2"}


FILLED_BY: Final[dict[str, Callable[[Connection], None]]] = {
    "0001": fill_history, "0002": fill_views, "0003": fill_binary, "0004": fill_told,
    "0005": fill_benches,
}  # fmt: skip
"""What each version adds to what the ones before it had written."""


def test_the_newest_version_is_the_last_of_the_steps_and_each_has_data_to_be_tested_with() -> None:
    assert versions()[-1] == NEWEST
    assert list(FILLED_BY) == versions()


@pytest.mark.parametrize("start", versions())
def test_an_archive_of_every_earlier_version_comes_up_with_what_it_holds(address: str, start: str) -> None:
    titles = ["T4", "T3", "T2", "T1"][5 - max(int(start), 3) :]
    old = SqlArchive(place_of(address))
    for version in versions()[: versions().index(start) + 1]:
        with old._doors.writing() as connection:
            settle(connection, "old", to=version)
            FILLED_BY[version](connection)
    with old._doors.reading() as connection:
        assert version_of(connection) == start
        before = connection.execute(text("SELECT uid, sha256 FROM event ORDER BY id")).all()
    old.close()
    with SqlArchive(place_of(address))._writing() as connection:
        assert version_of(connection) == NEWEST
        assert connection.execute(text("SELECT uid, sha256 FROM event ORDER BY id")).all() == before
    new = SqlArchive(place_of(address))
    if start != NEWEST:
        assert [one.title for one in new.find(ALL).sessions] == titles
    assert new.check(silent, repair=True).damages == ()
    assert [one.title for one in new.find(ALL).sessions] == titles
    new.close()


def test_the_steps_lead_to_the_tables_of_the_models(archive: SqlArchive) -> None:
    with archive._reading() as connection:
        found = compare_metadata(MigrationContext.configure(connection, opts={"compare_type": True}), Table.metadata)
    assert found == []


def test_an_archive_of_a_newer_pullbook_is_left_alone(archive: SqlArchive) -> None:
    archive.remember(memory(), SIGNED)
    with archive._doors.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9001'"))
    try:
        for use in (
            lambda: archive.find(ALL),
            lambda: archive.remember(memory(2), SIGNED),
            lambda: archive.check(silent),
        ):
            with pytest.raises(InputError, match=r"written by a newer pullbook \('version 9001'\)"):
                use()
    finally:
        with archive._doors.writing() as connection:
            assert connection.execute(text("SELECT count(*) FROM event")).scalar_one() == 1
            connection.execute(text("UPDATE alembic_version SET version_num = :newest"), {"newest": NEWEST})


def test_a_database_of_something_else_is_left_alone(address: str) -> None:
    other = SqlArchive(place_of(address))
    with other._doors.writing() as connection:
        connection.execute(text("CREATE TABLE invoice (id integer)"))
    with pytest.raises(InputError, match="holds something else than an archive"):
        other.remember(memory(), SIGNED)
    with other._doors.reading() as connection:
        assert connection.execute(text("SELECT count(*) FROM invoice")).scalar_one() == 0
    other.close()
