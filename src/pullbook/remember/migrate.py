"""Bring an archive to the tables of today; one of a newer pullbook is left alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from sqlalchemy import inspect, select, text

from pullbook.errors import InputError
from pullbook.remember.connect import MARK
from pullbook.remember.drawn import draw
from pullbook.remember.history import Event

if TYPE_CHECKING:
    from sqlalchemy import Connection

__all__ = ["NEWEST", "demand_current", "redraw", "settle", "version_of"]

NEWEST: Final = "0005"
"""Version of the tables that this pullbook reads and writes."""
_PACKAGE: Final = "pullbook.remember:migrations"


def version_of(connection: Connection) -> str:
    """Version of the tables of an archive; empty where it holds nothing yet.

    Parameters
    ----------
    connection : Connection
        The archive.
    """
    if not inspect(connection).has_table("alembic_version"):
        return ""
    return str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none() or "")


def demand_current(connection: Connection, shown: str) -> bool:
    """Refuse an archive that this pullbook cannot read; tell whether it is one of today.

    Parameters
    ----------
    connection : Connection
        The archive.
    shown : str
        Its name for people.

    Returns
    -------
    bool
        Whether it can be read as it is; False for an empty or an older one.

    Raises
    ------
    InputError
        If it is of a newer pullbook, or holds something else.
    """
    version = version_of(connection)
    if version > NEWEST:
        raise InputError(
            "the archive was written by a newer pullbook", where=shown, value=f"version {version}",
            remedy=f"use that one, or a newer; this one knows versions up to {NEWEST}; nothing was changed",
        )  # fmt: skip
    if not version and inspect(connection).get_table_names():
        raise InputError("this database holds something else than an archive of pullbook", where=shown,
                         remedy="name another one; nothing was changed")  # fmt: skip
    return version == NEWEST


def settle(connection: Connection, shown: str, *, to: str = NEWEST) -> None:
    """Bring an archive to a version, inside the transaction that is open.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    shown : str
        Its name for people.
    to : str
        The version.

    Raises
    ------
    InputError
        If it is of a newer pullbook, or holds something else.
    """
    if demand_current(connection, shown):
        return
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", _PACKAGE)
    config.attributes["connection"] = connection
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {MARK}")
    command.upgrade(config, to)
    if to == NEWEST:
        redraw(connection)


def redraw(connection: Connection) -> None:
    """Work out from the history how every session stands.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    """
    for uid in connection.execute(select(Event.subject).distinct().order_by(Event.subject)).scalars().all():
        draw(connection, uid)
