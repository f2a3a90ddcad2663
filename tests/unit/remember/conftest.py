"""Archives on both databases, empty, one for each test."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from pullbook.remember.archive import SqlArchive
from pullbook.remember.history import Table
from pullbook.remember.migrate import settle
from pullbook.remember.place import place_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from postgresql_server import Server


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """A PostgreSQL server for the tests of one process."""
    postgresql_server = pytest.importorskip("postgresql_server", reason="PostgreSQL is tested on systems with users")
    pytest.importorskip("psycopg", reason="the extra 'postgresql' is not installed")
    if postgresql_server.programs() is None:
        pytest.skip("no PostgreSQL on this machine; `python3 tasks.py test` installs one")
    with postgresql_server.running_server() as running:
        yield running


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where an archive can be made that is not there yet."""
    if request.param == "sqlite":
        return str(tmp_path / "another.sqlite")
    running: Server = request.getfixturevalue("server")
    return running.new_archive()


def _settled(address: str) -> SqlArchive:
    """An archive with tables and without rows."""
    made = SqlArchive(place_of(address), patience=5.0)
    with made._doors.writing() as connection:
        settle(connection, made.place.shown)
    return made


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive with tables and without rows, to be copied."""
    path = tmp_path_factory.mktemp("empty") / "archive.sqlite"
    _settled(str(path)).close()
    return path


@pytest.fixture(scope="session")
def on_server(server: Server) -> Iterator[SqlArchive]:
    """An archive on the server, shared by the tests of one process."""
    made = _settled(server.new_archive())
    yield made
    made.close()


@pytest.fixture
def sqlite_archive(empty_file: Path, tmp_path: Path) -> Iterator[SqlArchive]:
    """An empty archive in a file."""
    shutil.copy(empty_file, tmp_path / "archive.sqlite")
    opened = SqlArchive(place_of(str(tmp_path / "archive.sqlite")), patience=5.0)
    yield opened
    opened.close()


@pytest.fixture
def postgresql_archive(on_server: SqlArchive) -> SqlArchive:
    """An empty archive on the server."""
    with on_server._doors.writing() as connection:
        connection.execute(text(f"TRUNCATE {', '.join(Table.metadata.tables)} RESTART IDENTITY CASCADE"))
    return on_server


@pytest.fixture(params=["sqlite", "postgresql"])
def archive(request: pytest.FixtureRequest) -> SqlArchive:
    """An empty archive on either database."""
    opened: SqlArchive = request.getfixturevalue(f"{request.param}_archive")
    return opened
