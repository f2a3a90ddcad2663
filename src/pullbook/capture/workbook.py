"""Spreadsheets (xls, xlsx, ods): the cells of each sheet go the same way as the lines of a text file."""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.capture.blocks import BlockReader
from pullbook.capture.open_table import Record, Writing, filled_width
from pullbook.capture.panics import silent_panics
from pullbook.capture.unzipped import check_unzipped
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.numbers import Cell
    from pullbook.records.table import RawTable

__all__ = ["read_workbook"]

_MOST_CELLS: Final = 5_000_000


def read_workbook(data: bytes | memoryview, name: str) -> tuple[str, tuple[RawTable, ...]]:
    """Layout in words, and the tables of a spreadsheet.

    Parameters
    ----------
    data : bytes or memoryview
        The file.
    name : str
        Its name, for error messages.

    Raises
    ------
    FileRefusedError
        If it is damaged, protected by a password, unreasonably large when unpacked, or holds no table of numbers.

    Notes
    -----
    Stored numbers are taken as they are stored. Times of day become clock text, so that they are read like those
    of a text file; dates without a time are words. A formula counts with the value that was saved with it.
    """
    kind = check_unzipped(data, name) if bytes(data[:2]) == b"PK" else "xls"
    tables: list[RawTable] = []
    sheets = 0
    for sheet, rows in _sheets(data, name):
        reader = BlockReader(Writing(), f"{name}, sheet '{sheet}'")
        width = max((filled_width(cells) for cells in rows), default=0)
        for row, cells in enumerate(rows, start=1):
            if filled_width(cells):
                reader.feed(_record(row, cells[:width]))
        found = reader.finish()
        sheets += bool(found)
        tables.extend(replace(table, sheet=f"{sheet}, {table.sheet}" if table.sheet else sheet) for table in found)
    if not tables:
        raise FileRefusedError(
            "no sheet holds a table with two columns of numbers", where=name,
            remedy="put engine speed and torque or power in columns under a header",
        )  # fmt: skip
    if len(tables) == 1:
        tables = [replace(tables[0], sheet="")]
    return f"spreadsheet ({kind}), {sheets} sheet{'s' if sheets != 1 else ''} with numbers", tuple(tables)


def _sheets(data: bytes | memoryview, name: str) -> list[tuple[str, Sequence[Sequence[object]]]]:
    """Names and rows of all sheets; what the library says against a file becomes one sentence."""
    import python_calamine

    try:
        with silent_panics():
            return _loaded(data, name)
    except FileRefusedError:
        raise
    except python_calamine.PasswordError:
        raise FileRefusedError(
            "the spreadsheet is protected by a password", where=name, remedy="save a copy without a password"
        ) from None
    except BaseException as error:
        # The library is written in Rust: a broken file can make it panic, which is no Exception.
        if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
            raise
        raise FileRefusedError(
            "the spreadsheet is damaged or of an unknown kind", where=name, remedy="save it again, or export it as text"
        ) from None


def _loaded(data: bytes | memoryview, name: str) -> list[tuple[str, Sequence[Sequence[object]]]]:
    import python_calamine

    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
    sheets: list[tuple[str, Sequence[Sequence[object]]]] = []
    cells = 0
    for sheet_name in book.sheet_names:
        try:
            sheet = book.get_sheet_by_name(sheet_name)
        except python_calamine.WorksheetNotFound:  # a sheet that holds only a chart
            continue
        cells += sheet.height * sheet.width
        _check_cells(cells, name)
        sheets.append((sheet_name, sheet.to_python(skip_empty_area=False)))
    return sheets


def _check_cells(cells: int, name: str) -> None:
    if cells > _MOST_CELLS:
        raise FileRefusedError(
            f"the sheets span {cells} cells, and at most {_MOST_CELLS} are read", where=name,
            remedy="delete what stands far from the table, or export it as text",
        )  # fmt: skip


def _record(row: int, cells: Sequence[object]) -> Record:
    told = [_cell(cell) for cell in cells]
    return Record(row, told, "; ".join(str(cell) for cell in told if cell != ""))


def _cell(cell: object) -> Cell:
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, (bool, int, float)):
        return float(cell)
    if isinstance(cell, dt.timedelta):
        return cell.total_seconds()
    if isinstance(cell, dt.datetime):
        return cell.isoformat(sep=" ")
    return cell.isoformat() if isinstance(cell, (dt.date, dt.time)) else str(cell)
