"""ASAM MDF 4: one table for each channel group that has samples; raw bus frames are decoded first."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.capture.mdf_links import check_links
from pullbook.capture.measurement_child import unpacked
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from pullbook.records.table import RawTable

__all__ = ["read_measurement"]

_UNFINISHED: Final = "the logger did not finish this file; its end may be missing"
_INSTALL: Final = "install the reader with pip install 'pullbook[mdf]'"
_SECONDS: Final = 60.0
_BYTES_A_SECOND: Final = 5e6
_CHILD: Final = "pullbook.capture.measurement_child"


def read_measurement(data: bytes | memoryview, name: str) -> tuple[str, tuple[RawTable, ...]]:
    """Layout in words, and the tables of an MDF 4 file.

    Parameters
    ----------
    data : bytes or memoryview
        The file.
    name : str
        Its name, for error messages.

    Raises
    ------
    FileRefusedError
        If the library for MDF is not installed, or the file is of another version, damaged, cut off or without numbers.

    Notes
    -----
    Values are physical (conversions of the file applied) and units as the file names them. The master channel is the
    first column. Channel names lose a trailing device path; the channel group is named in `RawTable.sheet`.
    """
    version = bytes(data[8:12]).decode("ascii", errors="replace").strip()
    if not version.startswith("4"):
        raise FileRefusedError(
            f"this is MDF version {version or 'unknown'}, and only version 4 is read", where=name,
            remedy="export it as MDF 4 or as text",
        )  # fmt: skip
    if importlib.util.find_spec("asammdf") is None:
        raise FileRefusedError("MDF files need a library that is not installed", where=name, remedy=_INSTALL)
    finished = bytes(data[:8]) == b"MDF     "
    check_links(data, name, finished=finished)
    tables = _read_apart(data, name)
    if not tables:
        raise FileRefusedError(
            "no channel group of the MDF file holds numbers, or engine speed by OBD or J1939", where=name,
            remedy="decode the bus frames into channels before the export",
        )  # fmt: skip
    if not finished:
        tables = tuple(replace(table, doubts=(*table.doubts, _UNFINISHED)) for table in tables)
    return f"MDF {version}, {len(tables)} channel group{'s' if len(tables) != 1 else ''} with samples", tables


def _read_apart(data: bytes | memoryview, name: str) -> tuple[RawTable, ...]:
    """Tables read in a process of its own, see `pullbook.capture.measurement_child`."""
    allowed = _SECONDS + len(data) / _BYTES_A_SECOND
    try:
        done = subprocess.run(  # noqa: S603  # our own module, with nothing from the file on the command line
            [sys.executable, "-m", _CHILD], input=data, capture_output=True, timeout=allowed, check=True
        )
        return unpacked(done.stdout)
    except (subprocess.SubprocessError, ValueError):
        raise FileRefusedError(
            "the MDF file is damaged, cut off or too large", where=name,
            remedy="export it again from the logger's software, with only the channels of the pull",
        ) from None  # fmt: skip
