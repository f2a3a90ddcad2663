"""ASAM MDF 4: one table for each channel group that has samples; raw bus frames are decoded first."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, TypeAlias

import numpy as np

from pullbook.capture.bus import Frames, decoded
from pullbook.capture.mdf_links import check_links
from pullbook.errors import FileRefusedError
from pullbook.records.table import RawTable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.quantities.arrays import FloatArray

__all__ = ["read_measurement"]

Mdf: TypeAlias = Any  # asammdf ships no types
Signal: TypeAlias = Any
_MOST_SAMPLES: Final = 100_000_000
_UNFINISHED: Final = "the logger did not finish this file; its end may be missing"
_INSTALL: Final = "install the reader with pip install 'pullbook[mdf]'"


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
        If the library for MDF is not installed, or the file is of another version, damaged, cut off or without samples.

    Notes
    -----
    Values are physical (conversions of the file applied) and units as the file names them. The master channel is the
    first column. Channel names lose a trailing device path; the channel group is named in `RawTable.sheet`.
    """
    version = bytes(data[8:12]).decode("ascii", errors="replace")
    if not version.startswith("4"):
        raise FileRefusedError(
            f"this is MDF version {version.strip() or 'unknown'}, and only version 4 is read", where=name,
            remedy="export it as MDF 4 or as text",
        )  # fmt: skip
    finished = bytes(data[:8]) == b"MDF     "
    check_links(data, name, finished=finished)
    mdf = _opened(data, name)
    try:
        tables = tuple(_tables(mdf, name))
    except FileRefusedError:
        raise
    except Exception as error:  # the library raises whatever its parsing of a broken file runs into
        raise _damaged(name) from error
    finally:
        mdf.close()
    if not tables:
        raise FileRefusedError(
            "no channel group of the MDF file holds numbers, engine speed by OBD or engine speed by J1939", where=name,
            remedy="decode the bus frames into channels before the export",
        )  # fmt: skip
    if not finished:
        tables = tuple(replace(table, doubts=(*table.doubts, _UNFINISHED)) for table in tables)
    return f"MDF {version.strip()}, {len(tables)} channel group{'s' if len(tables) != 1 else ''} with samples", tables


def _opened(data: bytes | memoryview, name: str) -> Mdf:
    try:
        import asammdf
    except ImportError:
        raise FileRefusedError("MDF files need a library that is not installed", where=name, remedy=_INSTALL) from None
    try:
        return asammdf.MDF(io.BytesIO(data))
    except Exception as error:  # see above
        raise _damaged(name) from error


def _damaged(name: str) -> FileRefusedError:
    return FileRefusedError(
        "the MDF file is damaged or cut off", where=name, remedy="export it again from the logger's software"
    )


def _tables(mdf: Mdf, name: str) -> Iterator[RawTable]:
    samples = sum(group.channel_group.cycles_nr * len(group.channels) for group in mdf.groups)
    if samples > _MOST_SAMPLES:
        raise FileRefusedError(
            f"the MDF file holds {samples} samples, and at most {_MOST_SAMPLES} are read", where=name,
            remedy="export only the channels of the pull",
        )  # fmt: skip
    for index, group in enumerate(mdf.groups):
        if group.channel_group.cycles_nr:
            label = str(group.channel_group.acq_name or f"channel group {index + 1}")
            frames = _frames(mdf, index)
            if frames is not None:
                yield from decoded(frames, label)
            else:
                yield from _group_table(mdf, index, label)


def _frames(mdf: Mdf, index: int) -> Frames | None:
    """CAN data frames of a bus logger; None where the group is none of these."""
    places = {channel.name.rpartition(".")[2]: place for place, channel in enumerate(mdf.groups[index].channels)}
    names = [channel.name for channel in mdf.groups[index].channels]
    if "CAN_DataFrame" not in names or not {"ID", "DataBytes"} <= places.keys():
        return None
    payload = mdf.get(group=index, index=places["DataBytes"], ignore_invalidation_bits=True)
    numbers = np.asarray(mdf.get(group=index, index=places["ID"], ignore_invalidation_bits=True).samples, np.int64)
    content = np.asarray(payload.samples)
    if content.ndim != 2 or content.shape[1] < 8 or len(content) != len(numbers):
        return None
    return Frames(time=np.asarray(payload.timestamps, np.float64), number=numbers & 0x1FFFFFFF, payload=content)


def _group_table(mdf: Mdf, index: int, label: str) -> Iterator[RawTable]:
    master = mdf.masters_db.get(index)
    names: list[str] = []
    units: list[str] = []
    columns: list[FloatArray] = []
    doubts: list[str] = []
    time: FloatArray | None = None
    for place, channel in enumerate(mdf.groups[index].channels):
        if place == master:
            continue
        signal = mdf.get(group=index, index=place, ignore_invalidation_bits=True)
        short = str(signal.name).split("\\")[0]
        values = _numbers(signal)
        if values is None:
            doubts.append(f"channel '{channel.name}' holds no plain numbers and was left out")
            continue
        if short != signal.name:
            doubts.append(f"channel '{short}' is called '{signal.name}' in the file")
        time = np.asarray(signal.timestamps, np.float64) if time is None else time
        names.append(short)
        units.append(str(signal.unit or ""))
        columns.append(values)
    if time is None or any(len(column) != len(time) for column in columns):
        return
    if master is not None:
        first = mdf.groups[index].channels[master]
        names.insert(0, str(first.name).split("\\")[0])
        units.insert(0, str(first.unit or "s"))
        columns.insert(0, time)
    yield RawTable(
        names=tuple(names), units=tuple(units), columns=tuple(columns), rows=np.arange(1, len(time) + 1),
        doubts=tuple(doubts), sheet=label,
    )  # fmt: skip


def _numbers(signal: Signal) -> FloatArray | None:
    """Samples as floats, NaN where they are marked invalid or stand for no number; None where they are none."""
    samples = np.asarray(signal.samples)
    if samples.ndim != 1 or samples.dtype.kind not in "iufb":
        return None
    values = samples.astype(np.float64)
    invalid = signal.invalidation_bits
    if invalid is not None:
        values[np.asarray(invalid, bool)] = np.nan
    values[~(np.abs(values) < 1e30)] = np.nan
    return values
