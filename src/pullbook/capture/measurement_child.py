"""What runs in a process of its own for `pullbook.capture.measurement`: an MDF 4 file in, its tables out.

The library for MDF trusts a file: a damaged one can send it round for ever, fill the memory or end the process. None of
that may happen to the program that somebody is working with.
"""

from __future__ import annotations

import io
import json
import logging
import sys
from contextlib import redirect_stdout
from typing import TYPE_CHECKING, Any, Final, TypeAlias

import numpy as np

from pullbook.capture.bus import Frames, decoded
from pullbook.errors import FileRefusedError
from pullbook.records.table import RawTable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.quantities.arrays import FloatArray

__all__ = ["main", "packed", "unpacked"]

Mdf: TypeAlias = Any  # asammdf ships no types
Signal: TypeAlias = Any
_MOST_SAMPLES: Final = 100_000_000
_MOST_MEMORY: Final = 6_000_000_000


def packed(tables: tuple[RawTable, ...]) -> bytes:
    """Tables as bytes that hold numbers and text and nothing that could be executed."""
    words = [
        {"names": table.names, "units": table.units, "doubts": table.doubts, "sheet": table.sheet} for table in tables
    ]
    arrays = {f"{index}": np.column_stack([table.rows, *table.columns]) for index, table in enumerate(tables)}
    buffer = io.BytesIO()
    np.savez(buffer, allow_pickle=False, words=np.frombuffer(json.dumps(words).encode(), np.uint8), **arrays)
    return buffer.getvalue()


def unpacked(content: bytes) -> tuple[RawTable, ...]:
    """Tables from what `packed` made of them.

    Raises
    ------
    ValueError
        If the bytes are none of it.
    """
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as archive:
            words = json.loads(archive["words"].tobytes())
            return tuple(_unpacked(entry, archive[f"{index}"]) for index, entry in enumerate(words))
    except (OSError, KeyError, EOFError) as error:
        msg = "no tables"
        raise ValueError(msg) from error


def _unpacked(words: dict[str, Any], numbers: FloatArray) -> RawTable:
    return RawTable(
        names=tuple(words["names"]), units=tuple(words["units"]), columns=tuple(numbers.T[1:]),
        rows=numbers[:, 0].astype(np.int64), doubts=tuple(words["doubts"]), sheet=words["sheet"],
    )  # fmt: skip


def main() -> None:
    """Read an MDF 4 file from the standard input, write its tables to the standard output; status 3 says "damaged"."""
    _limit_memory()
    logging.disable(logging.CRITICAL)
    out = sys.stdout.buffer
    try:
        with redirect_stdout(io.StringIO()):  # the library prints what it stumbles over
            content = packed(_read(sys.stdin.buffer.read()))
    except Exception:  # noqa: BLE001  # the library raises whatever its parsing of a broken file runs into
        sys.exit(3)
    out.write(content)


def _limit_memory() -> None:
    try:
        import resource
    except ImportError:  # Windows
        return
    resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))


def _read(data: bytes) -> tuple[RawTable, ...]:
    import asammdf

    with asammdf.MDF(io.BytesIO(data)) as mdf:
        return tuple(_tables(mdf))


def _tables(mdf: Mdf) -> Iterator[RawTable]:
    samples = sum(group.channel_group.cycles_nr * len(group.channels) for group in mdf.groups)
    if samples > _MOST_SAMPLES:
        raise FileRefusedError("too many samples")
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


if __name__ == "__main__":
    main()
