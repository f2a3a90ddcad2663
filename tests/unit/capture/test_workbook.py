"""Spreadsheets, written here by other libraries than the one that reads them."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import pytest

from pullbook.capture import unzipped
from pullbook.capture.reader import read_tables
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

Sheets: TypeAlias = "Mapping[str, Sequence[Sequence[Any]]]"


def xlsx(sheets: Sheets) -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def xls(sheets: Sheets) -> bytes:
    import xlwt

    book = xlwt.Workbook()
    for name, rows in sheets.items():
        sheet = book.add_sheet(name)
        for i, row in enumerate(rows):
            for j, cell in enumerate(row):
                if cell is not None:
                    sheet.write(i, j, cell)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _ods_cell(cell: object) -> Any:
    from odf.table import TableCell
    from odf.text import P

    if cell is None:
        return TableCell()
    if isinstance(cell, str):
        element = TableCell(valuetype="string")
        element.addElement(P(text=cell))
        return element
    return TableCell(valuetype="float", value=repr(cell))


def ods(sheets: Sheets) -> bytes:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableRow

    book = OpenDocumentSpreadsheet()
    for name, rows in sheets.items():
        table = Table(name=name)
        for row in rows:
            line = TableRow()
            for cell in row:
                line.addElement(_ods_cell(cell))
            table.addElement(line)
        rest = TableRow(numberrowsrepeated=str(1_048_576 - len(rows)))  # as office programs fill a sheet
        rest.addElement(_ods_cell(None))
        table.addElement(rest)
        book.spreadsheet.addElement(table)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


WRITERS = pytest.mark.parametrize("write", [xls, xlsx, ods])


def columns(rows: Sequence[Sequence[Any]]) -> list[list[float]]:
    return [list(column) for column in zip(*rows, strict=True)]


@WRITERS
def test_numbers_of_a_sheet_are_those_that_were_stored(write: Callable[[Sheets], bytes]) -> None:
    rows = [[1500.0, 98.2], [1600.25, 99.75], [1700.0, -0.1]]
    contents = read_tables(write({"Pull": [["Speed [rpm]", "Torque (Nm)"], *rows]}), "a1")
    (table,) = contents.tables
    assert (table.names, table.units, table.sheet) == (("Speed", "Torque"), ("rpm", "Nm"), "")
    assert [column.tolist() for column in table.columns] == columns(rows)
    assert table.rows.tolist() == [2, 3, 4]
    assert contents.source.layout.startswith("spreadsheet (")


@WRITERS
def test_units_rows_preamble_summary_and_odd_cells_are_treated_as_in_text(write: Callable[[Sheets], bytes]) -> None:
    sheet: list[list[Any]] = [
        ["Cell 2, barometer 99.2 kPa"],
        ["Speed", "Torque", "Lambda", "State"],
        ["1/min", "N m", "-", None],
        [1500.0, 98.2, 0.9, "ok"],
        [1600.0, "19..22", 1e30, "ok"],
        [1700.0, "N/A", None, "ok"],
        ["Max", 98.2, 0.9, None],
    ]
    (table,) = read_tables(write({"Pull": sheet}), "a1").tables
    assert table.units == ("1/min", "N m", "-")
    assert table.rows.tolist() == [4, 5, 6]
    assert np.isnan(table.columns[1]).tolist() == [False, True, True]
    assert np.isnan(table.columns[2]).tolist() == [False, True, True]
    assert "row 5: '19..22' in column 'Torque' is a range, not a number, and was left blank" in table.doubts
    assert any(doubt.startswith("row 7: ") for doubt in table.doubts)
    assert table.preamble[0] == "Cell 2, barometer 99.2 kPa"


@WRITERS
def test_each_sheet_with_numbers_is_a_table(write: Callable[[Sheets], bytes]) -> None:
    sheet: list[list[Any]] = [["rpm", "Nm"], [1500.0, 98.2], [1600.0, 99.7]]
    contents = read_tables(write({"Build A": sheet, "Notes": [["cold oil"]], "Build B": sheet}), "a1")
    assert [table.sheet for table in contents.tables] == ["Build A", "Build B"]


@WRITERS
def test_numbers_kept_as_text_are_read_by_their_own_marks(write: Callable[[Sheets], bytes]) -> None:
    (table,) = read_tables(write({"P": [["rpm", "Nm"], ["1.500,5", "98,2"], ["1.600,0", "99,75"]]}), "a1").tables
    assert [column.tolist() for column in table.columns] == [[1500.5, 1600.0], [98.2, 99.75]]


def test_times_of_day_and_durations_become_seconds() -> None:
    sheet: list[list[Any]] = [["Time", "rpm"], [dt.time(9, 12, 3, 500_000), 1500], [dt.time(9, 12, 4), 1600]]
    (table,) = read_tables(xlsx({"P": sheet}), "a1").tables
    assert table.columns[0].tolist() == [33_123.5, 33_124.0]  # 9 h 12 min 3.5 s
    start = dt.datetime(2026, 5, 4, 9, 12, 3)  # noqa: DTZ001  # a bench clock has no zone
    dated: list[list[Any]] = [["Time", "rpm"], [start, 1500], [start + dt.timedelta(seconds=1), 1600]]
    (table,) = read_tables(xlsx({"P": dated}), "a1").tables
    assert table.columns[0].tolist() == [33_123.0, 33_124.0]


def test_a_sheet_with_one_cell_at_its_far_end_is_refused_before_it_is_unpacked() -> None:
    import openpyxl

    book = openpyxl.Workbook()
    book.active["A1"] = 1.0
    book.active["XFD1048576"] = 2.0
    buffer = io.BytesIO()
    book.save(buffer)
    with pytest.raises(FileRefusedError, match="unpacks to more than"):
        read_tables(buffer.getvalue(), "a1.xlsx")


def test_an_ods_that_repeats_a_filled_row_a_million_times_is_refused() -> None:
    data = ods({"P": [["rpm", "Nm"], [1500.0, 98.2]]})
    source = zipfile.ZipFile(io.BytesIO(data))
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            content = source.read(name)
            if name == "content.xml":
                many = b'<table:table-row table:number-rows-repeated="9000000">'
                content = content.replace(b"<table:table-row>", many)
            target.writestr(name, content)
    with pytest.raises(FileRefusedError, match="unpacks to more than"):
        read_tables(buffer.getvalue(), "a1.ods")


def test_a_zip_bomb_is_refused_by_what_it_unpacks_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unzipped, "_MOST_BYTES", 4_000_000)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", bytes(4_500_000))
    with pytest.raises(FileRefusedError, match="unpacks to more than"):
        read_tables(buffer.getvalue(), "a1.xlsx")


def test_a_zip_bomb_that_lies_about_its_size_is_refused_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unzipped, "_MOST_BYTES", 4_000_000)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", bytes(4_500_000))
    data = bytearray(buffer.getvalue())
    size = (4_500_000).to_bytes(4, "little")
    while (place := data.find(size)) >= 0:
        data[place : place + 4] = (1000).to_bytes(4, "little")
    with pytest.raises(FileRefusedError, match="unpacks to more than"):
        read_tables(bytes(data), "a1.xlsx")


@pytest.mark.parametrize("part", [0.2, 0.5, 0.9])
@WRITERS
def test_a_spreadsheet_cut_short_is_refused_or_read(write: Callable[[Sheets], bytes], part: float) -> None:
    data = write({"P": [["rpm", "Nm"], *[[1500.0 + i, 98.2] for i in range(200)]]})
    with pytest.raises(FileRefusedError):
        read_tables(data[: int(part * len(data))], "a1")


def test_an_archive_of_other_things_is_named_as_such() -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("a1.csv", "rpm,Nm\n1500,98.2\n")
    with pytest.raises(FileRefusedError, match="a zip archive, not a spreadsheet; unpack it"):
        read_tables(buffer.getvalue(), "a1.zip")


def test_a_library_that_panics_leaves_the_screen_alone(capfd: pytest.CaptureFixture[str], shared_data: Path) -> None:
    data = bytearray((shared_data / "single-cylinder-torque" / "run-table.xls").read_bytes())
    rng = np.random.default_rng(7)
    for _ in range(40):
        spoilt = bytearray(data)
        for place in rng.integers(512, len(data), 6):
            spoilt[place] = rng.integers(0, 256)
        try:
            read_tables(bytes(spoilt), "run-table.xls")
        except FileRefusedError:
            continue
    assert capfd.readouterr().err == ""


def test_the_real_run_table_has_its_conditions_and_its_runs(shared_data: Path) -> None:
    """Values as the sheet shows them; the drift of the returned baseline stands in the README of the data."""
    data = (shared_data / "single-cylinder-torque" / "run-table.xls").read_bytes()
    conditions, runs = read_tables(data, "run-table.xls").tables
    assert (conditions.names, conditions.units) == (("p_atm", "Date", "Engine speed"), ("Pa", "yyyymmdd", "RPM"))
    assert [column.tolist() for column in conditions.columns] == [[103_160.0], [20_250_325.0], [1100.0]]
    torque = runs.columns[runs.names.index("Torque")]
    assert runs.units[runs.names.index("Torque")] == "Nm"
    assert torque[[3, 4, 9, 17]].tolist() == [33.390, 33.470, 33.586, 33.693]
    assert torque[-1] == -12.173
    assert runs.rows.tolist() == list(range(5, 29))
    assert np.isnan(runs.columns[runs.names.index("Lambda")]).nonzero()[0].tolist() == [23]
    assert "row 7: '19..22' in column 'CH2O' is a range, not a number, and was left blank" in runs.doubts
