"""Channels of pulls told by the columns of numbers that they were read from: factor times cell plus shift.

A channel is a column of a file, cut to the pull, in another unit. The file is kept, so that the column, the factor and
the shift say all of it, to a part in a billion of its largest value. A channel of which that is not true, as one of a
workbook, is left to `pullbook.remember.channels`, which keeps its numbers.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.records.archived import ChannelTable

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from pullbook.quantities.arrays import FloatArray
    from pullbook.remember.columns import NumberColumns

__all__ = ["channels_told", "demand_told", "tell_channels"]

_SCHEMA: Final = "pullbook.channels/1"
_NEAR: Final = 1e-9  # of the largest value
_Told = tuple[int, float, float]  # place of the column from 0, factor, shift


def tell_channels(
    tables: Sequence[ChannelTable], columns_of: Callable[[str], NumberColumns | None]
) -> tuple[bytes, list[ChannelTable]]:
    """Channels of pulls by the columns of their files, as JSON.

    Parameters
    ----------
    tables : sequence of ChannelTable
        The pulls.
    columns_of : callable of str to NumberColumns or None
        Columns of numbers of a file.

    Returns
    -------
    told : bytes
        The JSON; empty where no channel can be told so.
    rest : list of ChannelTable
        Channels that are not told in it.
    """
    known: dict[str, _Told] = {}
    pulls: list[dict[str, Any]] = []
    rest: list[ChannelTable] = []
    for table in tables:
        cut = _cut(table, columns_of(table.file) if table.first_line else None)
        told = _told(table, cut[1], known) if cut else {}
        if cut and told:
            pulls.append({
                "pull": table.pull, "file": table.file, "separator": cut[0], "line": table.first_line,
                "rows": _rows(table), "channels": told,
            })  # fmt: skip
        left = {name: values for name, values in table.channels.items() if name not in told}
        if left:
            rest.append(ChannelTable(pull=table.pull, channels=left, file=table.file, first_line=table.first_line))
    text = json.dumps({"schema": _SCHEMA, "pulls": pulls}, separators=(",", ":"), ensure_ascii=False)
    return text.encode() if pulls else b"", rest


def _rows(table: ChannelTable) -> int:
    return max(values.size for values in table.channels.values())


def _cut(table: ChannelTable, columns: NumberColumns | None) -> tuple[str, dict[int, FloatArray]] | None:
    """Separator, and the rows of a pull in the columns of its file; None where they are not all there."""
    if columns is None:
        return None
    start = table.first_line - columns.first_line
    stop = start + _rows(table)
    if start < 0 or stop > columns.rows:
        return None
    return columns.separator, {place: cells[start:stop] for place, cells in columns.columns.items()}


def _told(table: ChannelTable, columns: Mapping[int, FloatArray], known: dict[str, _Told]) -> dict[str, _Told]:
    """Channels of a pull that a column tells; `known` is how the pull before was told, which is tried first."""
    told: dict[str, _Told] = {}
    for name, values in table.channels.items():
        if not np.isfinite(values).all():
            continue
        way = known.get(name)
        if way is None or way[0] not in columns or not _same(columns[way[0]], values, way):
            ways = (_way(place, cells, values) for place, cells in columns.items())
            way = next((one for one in ways if one is not None), None)
        if way is not None:
            told[name] = known[name] = way
    return told


def _way(place: int, cells: FloatArray, values: FloatArray) -> _Told | None:
    """How a column tells the values; None where it does not."""
    if cells.shape != values.shape:
        return None
    low, high = int(cells.argmin()), int(cells.argmax())
    step = float(cells[high] - cells[low])
    factor = float(values[high] - values[low]) / step if step else 0.0
    for digits in (12, 17):  # a factor of units in the fewest digits, so that all pulls have the same one
        rounded = float(f"{factor:.{digits}g}")
        shift = float(f"{float(values[low]) - rounded * float(cells[low]):.{digits}g}")
        for way in ((place, rounded, 0.0), (place, rounded, shift)):
            if _same(cells, values, way):
                return way
    return None


def _same(cells: FloatArray, values: FloatArray, way: _Told) -> bool:
    _, factor, shift = way
    near = _NEAR * float(np.abs(values).max(initial=0.0))
    return cells.shape == values.shape and bool(np.all(np.abs(factor * cells + shift - values) <= near))


def channels_told(content: bytes, files: Callable[[str], bytes]) -> tuple[ChannelTable, ...]:
    r"""Channels of pulls from what `tell_channels` said.

    Parameters
    ----------
    content : bytes
        The JSON.
    files : callable of str to bytes
        Bytes of a file of the session.

    Raises
    ------
    ValueError
        If it is of another form.

    Examples
    --------
    >>> told = b'{"schema":"pullbook.channels/1","pulls":[{"pull":"a1","file":"a1.csv","separator":";","line":2,'
    >>> told += b'"rows":2,"channels":{"torque":[1,1.0,0.0],"oil_temperature":[2,1.0,273.15]}}]}'
    >>> pull, = channels_told(told, lambda name: b"rpm;Nm;degC\r\n2000;180,5;80\r\n2015;181;81\r\n")
    >>> pull.channels["torque"].tolist(), pull.channels["oil_temperature"].tolist()
    ([180.5, 181.0], [353.15, 354.15])
    """
    return tuple(_table(one, files(one["file"])) for one in demand_told(content))


def demand_told(content: bytes) -> list[dict[str, Any]]:
    """Pulls of which `tell_channels` told the channels.

    Parameters
    ----------
    content : bytes
        The JSON.

    Raises
    ------
    ValueError
        If it is damaged, or of another form.
    """
    told = json.loads(content)
    schema = told.get("schema") if isinstance(told, dict) else None
    pulls = told.get("pulls") if schema == _SCHEMA else None
    if not isinstance(pulls, list):
        raise ValueError(f"channels in an unknown form ({schema})")  # noqa: TRY004 - what is wrong is the file
    return pulls


def _table(told: Mapping[str, Any], content: bytes) -> ChannelTable:
    first = told["line"] - 1
    lines = content.split(b"\n")[first : first + told["rows"]]
    cells = [line.split(told["separator"].encode()) for line in lines]
    return ChannelTable(
        pull=told["pull"], file=told["file"], first_line=told["line"],
        channels={
            name: factor * np.array([float(row[place].replace(b",", b".")) for row in cells]) + shift
            for name, (place, factor, shift) in told["channels"].items()
        },
    )  # fmt: skip
