"""Connections to an archive, each transaction whole: all of it is there afterwards, or nothing.

A writer of SQLite takes the lock at once (BEGIN IMMEDIATE) and waits for others; WAL and full synchronisation keep a
committed transaction through a loss of power. On PostgreSQL one advisory lock keeps writers in line likewise.
"""

from __future__ import annotations

import time
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final

from sqlalchemy import create_engine, event, text
from sqlalchemy.engine import URL
from sqlalchemy.pool import NullPool

from pullbook.remember.driver import postgresql_driver
from pullbook.remember.failures import explained
from pullbook.remember.leftovers import sweep

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path
    from typing import Any

    from sqlalchemy import Connection, Engine

    from pullbook.remember.place import ArchivePlace

__all__ = ["MARK", "PATIENCE", "Doors"]

MARK: Final = 0x50554C42
"""Application id in the head of the file: "PULB"."""
PATIENCE: Final = 20.0
"""How long a writer waits for another one. [s]"""
_LOCK: Final = 0x50554C4C424F4F4B  # "PULLBOOK"
_PAGE: Final = 2048  # byte; packed files fill small pages to 97 %, pages of 16,384 to 86 %
_CACHE_KB: Final = 16_000


class Doors:
    """Ways into one archive: to read, and to write.

    Parameters
    ----------
    place : ArchivePlace
        Where it is.
    patience : float
        How long a writer waits for another one. [s]
    """

    def __init__(self, place: ArchivePlace, *, patience: float = PATIENCE) -> None:
        self.place = place
        self._patience = patience
        self._writer: Engine | None = None
        self._reader: Engine | None = None

    @contextmanager
    def reading(self) -> Generator[Connection]:
        """Connection that sees one state of the archive from its first look to the last, and changes nothing."""
        with explained(self.place.shown, writing=False):
            if self._reader is None:
                self._reader = self._made(writing=False)
            with self._reader.connect() as connection:
                yield connection

    @contextmanager
    def writing(self) -> Generator[Connection]:
        """Connection that alone writes; what it did is there when the block ends well, and nothing of it otherwise."""
        with explained(self.place.shown, writing=True):
            if self._writer is None:
                self._writer = self._made(writing=True)
            with self._writer.connect() as connection, connection.begin():
                if self.place.path is None:
                    milliseconds = int(self._patience * 1000)
                    connection.execute(text(f"SET LOCAL lock_timeout = {milliseconds}"))
                    connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
                yield connection

    def close(self) -> None:
        """Let go of the archive."""
        for engine in (self._reader, self._writer):
            if engine is not None:
                engine.dispose()
        self._reader = self._writer = None

    def _made(self, *, writing: bool) -> Engine:
        if self.place.path is not None:
            with suppress(OSError):  # a folder that may only be read
                sweep(self.place.path)
            return _sqlite(self.place.path, self._patience, writing=writing)
        driver = postgresql_driver(self.place.shown)
        engine = create_engine(self.place.url, module=driver, poolclass=NullPool, connect_args={"connect_timeout": 10})
        if not writing:
            engine = engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
        return engine


def _sqlite(path: Path, patience: float, *, writing: bool) -> Engine:
    """Engine of a file; only a writer makes it where it is not there."""
    query = {"uri": "true"} if writing else {"uri": "true", "mode": "ro"}
    if not writing and _is_still(path):
        query["immutable"] = "1"
    name = f"file:{_quoted(path)}"
    url = URL.create("sqlite", database=name, query=query)
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": patience})

    @event.listens_for(engine, "connect")
    def _settle(connection: Any, record: object) -> None:  # noqa: ANN401, ARG001 - what the driver hands over
        connection.isolation_level = None  # transactions are begun below, not by the driver
        _ask(connection, "PRAGMA foreign_keys = ON")
        _ask(connection, f"PRAGMA cache_size = -{_CACHE_KB}")
        _ask(connection, "PRAGMA trusted_schema = OFF")
        if writing:
            _ask(connection, f"PRAGMA page_size = {_PAGE}")  # counts for a new file only
            _as_wal(connection, patience)
            _ask(connection, "PRAGMA synchronous = FULL")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _as_wal(connection: Any, patience: float) -> None:  # noqa: ANN401 - what the driver hands over
    """Switch to a write-ahead log; the change of mode does not wait for others by itself."""
    import sqlite3

    until = time.monotonic() + patience
    while True:
        try:
            _ask(connection, "PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)
        else:
            return


def _ask(connection: Any, question: str) -> None:  # noqa: ANN401 - what the driver hands over
    cursor = connection.cursor()
    cursor.execute(question)
    cursor.close()


def _is_still(path: Path) -> bool:
    """Whether nobody can be writing: the folder may not be written to, and no log of a writer stands beside."""
    import os

    beside = [path.with_name(path.name + end) for end in ("-wal", "-shm")]
    return not os.access(path.parent, os.W_OK) and not any(one.exists() for one in beside)


def _quoted(path: Path) -> str:
    """Path in an address of SQLite."""
    from urllib.parse import quote

    return quote(str(path.absolute()).replace("\\", "/"))
