"""Composition root: which bench, which archive and which clock the use cases get."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from pullbook.app.ports import Archive, Clock, DemoBench

__all__ = ["archive_at", "archive_file", "archive_place", "demo_bench", "system_clock"]


class _InventedBench:
    """The bench of the demo."""

    def demo_session(self) -> Mapping[str, bytes]:
        """Give the files of the demo session folder."""
        from pullbook.bench.demo import demo_session

        return demo_session()


def demo_bench() -> DemoBench:
    """Bench that the demo runs on."""
    return _InventedBench()


class _SystemClock:
    """The clock of the machine."""

    def now(self) -> datetime:
        """Give the moment, with its zone."""
        from datetime import UTC, datetime

        return datetime.now(UTC)  # noqa: TID251 - this is the clock


def system_clock() -> Clock:
    """Clock of this machine."""
    return _SystemClock()


def archive_at(place: str) -> Archive:
    """Archive of a place; nothing is opened yet.

    Parameters
    ----------
    place : str
        Path or address; empty for that of ``PULLBOOK_ARCHIVE``, else the file in the user's data folder.

    Raises
    ------
    InputError
        If it is an address of something else.
    """
    from pullbook.remember.archive import SqlArchive
    from pullbook.remember.place import place_of

    return SqlArchive(place_of(archive_place(place)))


def archive_place(place: str) -> str:
    """Place itself, or the usual one.

    Parameters
    ----------
    place : str
        As `archive_at` takes it.
    """
    import os

    from pullbook.app.user_folders import data_folder

    return place or os.environ.get("PULLBOOK_ARCHIVE", "") or str(data_folder() / "archive.sqlite")


def archive_file(place: str) -> Path | None:
    """File of an archive, there or not; None where it is on a server. The database library is not loaded.

    Parameters
    ----------
    place : str
        As `archive_at` takes it.

    Raises
    ------
    InputError
        If it is an address of something else.
    """
    from pullbook.remember.place import file_at

    return file_at(archive_place(place))
