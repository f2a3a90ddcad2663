"""Runs that stand side by side in one table (RPM, HP, TQ, RPM, HP, TQ) become tables of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.records.table import RawTable

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["separated"]


def separated(table: RawTable) -> tuple[RawTable, ...]:
    """Tables of the runs that stand side by side in one; the table itself where there is one run.

    Notes
    -----
    Runs are told apart by the first name: it must come back, each time with columns that the first run has too.
    A repeated name that fits no such pattern stays where it is, for the mapping to refuse.
    """
    starts = _starts([name.lower() for name in table.names])
    if len(starts) < 2:
        return (table,)
    ends = [*starts[1:], len(table.names)]
    return tuple(
        _cut(table, start, end, run) for run, (start, end) in enumerate(zip(starts, ends, strict=True), start=1)
    )


def _starts(names: Sequence[str]) -> list[int]:
    starts = [index for index, name in enumerate(names) if name == names[0]]
    groups = [names[start:end] for start, end in zip(starts, [*starts[1:], len(names)], strict=True)]
    first = groups[0]
    regular = all(2 <= len(group) == len(set(group)) and set(group) <= set(first) for group in groups)
    return starts if regular else []


def _cut(table: RawTable, start: int, end: int, run: int) -> RawTable:
    columns = table.columns[start:end]
    told = ~np.all(np.isnan(np.stack(columns)), axis=0)
    return RawTable(
        names=table.names[start:end], units=table.units[start:end], columns=tuple(column[told] for column in columns),
        rows=table.rows[told], preamble=table.preamble, doubts=table.doubts,
        sheet=f"{table.sheet}, run {run}" if table.sheet else f"run {run}",
    )  # fmt: skip
