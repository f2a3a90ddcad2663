"""The history of one archive into another, whatever databases they are in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from sqlalchemy import func, insert, inspect, select, text

from pullbook.remember.history import HISTORY, Event, Piece, Table
from pullbook.remember.migrate import redraw, settle

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

__all__ = ["emptied", "events_in", "fill"]

_ROWS: Final = 200  # copied at once; pieces are few and large, so their number is what counts
_NUMBERED: Final = (Event, Piece)


def events_in(connection: Connection) -> int:
    """Number of events that an archive holds; 0 where it has no tables yet.

    Parameters
    ----------
    connection : Connection
        The archive.
    """
    if not inspect(connection).has_table(Event.__tablename__):
        return 0
    return int(connection.execute(select(func.count(Event.id))).scalar_one())


def emptied(connection: Connection) -> None:
    """Take all tables of an archive away, inside the transaction that is open.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    """
    Table.metadata.drop_all(connection)
    connection.execute(text("DROP TABLE IF EXISTS alembic_version"))
    if connection.dialect.name == "postgresql":
        connection.execute(text("DROP FUNCTION IF EXISTS only_added()"))


def fill(source: Connection, goal: Connection, shown: str, step: Callable[[str, int, int], None]) -> None:
    """Copy the history of an archive into one without any, and work out how its sessions stand.

    Parameters
    ----------
    source : Connection
        The archive that is read, with the tables of today.
    goal : Connection
        The archive that is filled, being written.
    shown : str
        Its name for people.
    step : callable of (str, int, int)
        Is told how far the work is.
    """
    settle(goal, shown)
    total, done = int(source.execute(select(func.count()).select_from(Piece)).scalar_one()), 0
    for table in HISTORY:
        columns = table.__table__.columns
        asked = select(*columns).order_by(*table.__table__.primary_key)
        result = source.execution_options(stream_results=True).execute(asked)
        for rows in result.mappings().partitions(1 if table is Piece else _ROWS):
            goal.execute(insert(table), [dict(row) for row in rows])
            done += len(rows) if table is Piece else 0
            step("copying", done, max(total, 1))
    if goal.dialect.name == "postgresql":
        for table in _NUMBERED:
            _count_on(goal, table.__tablename__)
    redraw(goal)
    step("copying", max(total, 1), max(total, 1))


def _count_on(connection: Connection, table: str) -> None:
    """Let the numbers of new rows go on behind those that were copied."""
    last = f"SELECT coalesce(max(id), 0) + 1 FROM {table}"  # noqa: S608 - a name of ours
    connection.execute(text(f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), ({last}), false)"))
