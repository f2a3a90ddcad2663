"""RawTable: what a file says, before anybody knows which column is torque."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats, frozen_ints

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["RawTable", "SourceFile"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceFile:
    """Identity of the bytes that the bench wrote.

    Attributes
    ----------
    name : str
        Path as the session names it, with forward slashes, relative to the session folder.
    sha256 : str
        Hash of the raw bytes, hexadecimal.
    size : int
        Length of the raw bytes. [byte]
    layout : str
        What the reader understood of the file, in words ("text, ';' between columns, decimal comma, ...").
    """

    name: str
    sha256: str
    size: int
    layout: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawTable:
    """One table of numbers found in a file, with where each row came from.

    Attributes
    ----------
    names : tuple of str
        Column names as written, without unit and surrounding blanks; `columns` has the same order.
    units : tuple of str
        Units as written, from the header or the units row; empty where the file names none.
    columns : tuple of (n,) array of float
        Values as written, not yet converted; NaN where blank or not a number. [as `units`]
    rows : (n,) array of int
        Row of the file (counted from 1) that each record came from.
    preamble : tuple of str
        Lines before, between and after the table that are not records, as written.
    doubts : tuple of str
        Sentences about what had to be guessed or left out.
    sheet : str
        Sheet, channel group or block of the file; empty where a file has only one table.
    cut_row : int
        Row in whose middle the file ends, which was left out; 0 where the file is whole.
    header : tuple of (str, str)
        Name and unit of every column that the file names, those that hold nothing too; empty where `names` are all.
    """

    names: tuple[str, ...]
    units: tuple[str, ...]
    columns: tuple[FloatArray, ...]
    rows: IntArray
    preamble: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    sheet: str = ""
    cut_row: int = 0
    header: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "columns", tuple(frozen_floats(column) for column in self.columns))
        object.__setattr__(self, "rows", frozen_ints(self.rows))
