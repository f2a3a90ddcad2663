"""Channels of the pulls of a session as one file of columns (Apache Parquet), which is compressed as it is kept.

So are kept the channels that `pullbook.remember.told_channels` cannot tell by the columns of a text, as those of a
workbook, and all channels of sessions that came into the archive before there was that way.

A column holds the channel of all pulls, one after the other, in counts: hundred-thousandths of the channel's largest
value, rounded to a power of ten, which is finer than any bench records. What is written is the difference to the row
before, because it takes half the room; the sum over the rows times the step of the column is the value. The steps and
the names of the pulls stand in the metadata of the file under ``pullbook``.
"""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.records.archived import ChannelTable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

__all__ = ["PARQUET", "from_parquet", "to_parquet"]

PARQUET: Final = b"PAR1"
"""Beginning of such a file."""
_KEY: Final = "pullbook"
_PULL: Final = "pull"
_FINEST: Final = 1e-5  # of the largest value
_ABSENT: Final = np.iinfo(np.int32).min


def to_parquet(tables: Sequence[ChannelTable]) -> bytes:
    """Channels of pulls as a file of columns; nothing for no pulls.

    Parameters
    ----------
    tables : sequence of ChannelTable
        The pulls.

    Examples
    --------
    >>> table = ChannelTable(pull="a1.csv", channels={"speed": np.array([2000.0, 2015.0, np.nan])})
    >>> back, = from_parquet(to_parquet([table]))
    >>> back.pull, back.channels["speed"].tolist()
    ('a1.csv', [2000.0, 2015.0, nan])
    """
    if not tables:
        return b""
    import polars as pl

    names = list(dict.fromkeys(name for table in tables for name in table.channels))
    lengths = [max(values.size for values in table.channels.values()) for table in tables]
    columns: dict[str, Any] = {_PULL: np.repeat(np.arange(len(tables), dtype=np.int32), lengths)}
    steps: dict[str, float] = {}
    for name in names:
        empty = (np.full(length, np.nan) for length in lengths)
        values = np.concatenate([table.channels.get(name, none) for table, none in zip(tables, empty, strict=True)])
        steps[name], columns[name] = _counts(values)
    told = json.dumps({"pulls": [table.pull for table in tables], "steps": steps}, separators=(",", ":"))
    stream = io.BytesIO()
    pl.DataFrame(columns).write_parquet(stream, compression="uncompressed", statistics=False, metadata={_KEY: told})
    return stream.getvalue()


def _counts(values: FloatArray) -> tuple[float, Any]:
    """Step of a channel and the differences of its counts; null where there is no value."""
    import polars as pl

    there = np.isfinite(values)
    largest = float(np.abs(values[there]).max(initial=0.0))
    step = float(10.0 ** np.floor(np.log10(largest * _FINEST))) if largest > 0.0 else 1.0
    counts = np.round(values[there] / step).astype(np.int64)
    differences = np.full(values.size, _ABSENT, dtype=np.int64)
    differences[there] = np.diff(counts, prepend=0)
    column = pl.Series(values=differences.astype(np.int32))
    return step, column.set(pl.Series(values=~there), None).shrink_dtype()


def from_parquet(content: bytes) -> tuple[ChannelTable, ...]:
    """Channels of pulls from a file of columns.

    Parameters
    ----------
    content : bytes
        What `to_parquet` gave.

    Raises
    ------
    ValueError
        If it is damaged.
    """
    if not content:
        return ()
    import polars as pl

    try:
        told = json.loads(pl.read_parquet_metadata(io.BytesIO(content))[_KEY])
        frame = pl.read_parquet(io.BytesIO(content))
        which = frame[_PULL].to_numpy()
        columns = {name: _values(frame[name].to_numpy(), step) for name, step in told["steps"].items()}
    except (pl.exceptions.PolarsError, KeyError, TypeError, ValueError, OSError) as error:
        raise ValueError(f"the columns cannot be read ({error})") from error
    tables: list[ChannelTable] = []
    for number, pull in enumerate(told["pulls"]):
        own = {name: values[which == number] for name, values in columns.items()}
        there = {name: values for name, values in own.items() if np.isfinite(values).any()}
        tables.append(ChannelTable(pull=pull, channels=there))
    return tuple(tables)


def _values(differences: FloatArray, step: float) -> FloatArray:
    """Values of a column; NaN where it has none."""
    there = np.isfinite(differences)
    values = np.full(differences.size, np.nan)
    counts = np.cumsum(differences[there])
    values[there] = counts * step if step >= 1.0 else counts / round(1.0 / step)
    return values
