"""The one place that names the library for PostgreSQL; it is an extra, and loaded only where a server is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.errors import InputError

if TYPE_CHECKING:
    from types import ModuleType

__all__ = ["postgresql_driver"]


def postgresql_driver(shown: str) -> ModuleType:
    """Library that speaks with a PostgreSQL server.

    Parameters
    ----------
    shown : str
        Name of the archive for people.

    Raises
    ------
    InputError
        If it is not installed.
    """
    try:
        import psycopg
    except ImportError as error:
        raise InputError("the library that speaks with PostgreSQL is not installed", where=shown,
                         remedy="install it with: pip install 'pullbook[postgresql]'") from error  # fmt: skip
    return psycopg
