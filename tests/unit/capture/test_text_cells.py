"""Odd cells, rows and marks in text; every expected number is the one written in the text of the test."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest

from pullbook.capture.reader import read_tables
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from pullbook.records.table import RawTable


def tables(text: str | bytes) -> tuple[RawTable, ...]:
    data = text if isinstance(text, bytes) else text.encode()
    return read_tables(data, "pulls/a1.csv").tables


def one(text: str | bytes) -> RawTable:
    (table,) = tables(text)
    return table


def values(table: RawTable) -> list[list[float]]:
    return [column.tolist() for column in table.columns]


@pytest.mark.parametrize(
    "cell", ["NaN", "-", "---", "#DIV/0!", "N/A", "1E30", "9.91E37", "19..22", "abc", "inf", "19-22"]
)
def test_a_cell_that_is_no_number_is_blank_and_named_by_its_row(cell: str) -> None:
    table = one(f"rpm,Nm\n1500,98.2\n1600,{cell}\n1700,99.5\n")
    assert math.isnan(table.columns[1][1])
    assert table.columns[1][[0, 2]].tolist() == [98.2, 99.5]
    assert any(doubt.startswith("row 3: ") for doubt in table.doubts)


def test_a_range_in_a_cell_is_named_as_it_is_written() -> None:
    table = one("rpm,Nm\n1500,98.2\n1600,19..22\n1700,99.5\n")
    assert "row 3: '19..22' in column 'Nm' is a range, not a number, and was left blank" in table.doubts


def test_a_blank_cell_is_blank_without_a_doubt() -> None:
    table = one("rpm,Nm,Oil\n1500,98.2,88\n1600,,89\n1700,99.5,\n")
    assert np.isnan(table.columns[1]).tolist() == [False, True, False]
    assert np.isnan(table.columns[2]).tolist() == [False, False, True]
    assert table.doubts == ()


def test_an_empty_column_is_named_only_if_it_has_a_name() -> None:
    assert one("rpm,,Nm\n1500,,98.2\n1600,,99.75\n").doubts == ()
    assert one("rpm,Gear,Nm\n1500,,98.2\n1600,,99.75\n").doubts == ("column 'Gear' is empty and was left out",)


def test_a_column_of_words_is_left_out_and_named() -> None:
    table = one("rpm,Nm,State\n1500,98.2,ok\n1600,99.75,ok\n")
    assert table.names == ("rpm", "Nm")
    assert table.doubts == ("column 'State' holds words, not numbers, and was left out",)


def test_a_row_cut_off_at_the_end_of_the_file_is_left_out() -> None:
    table = one("rpm,Nm,Oil\n1500,98.2,88\n1600,99.75,89\n1700,99")
    assert table.rows.tolist() == [2, 3]
    assert "row 4: the file ends in the middle of this row; it was left out" in table.doubts


def test_a_last_number_that_lost_its_decimals_is_left_out() -> None:
    table = one("rpm,Nm\n1500,98.20\n1600,99.75\n1700,99.50\n1800,99.90\n1900,9")
    assert table.rows.tolist() == [2, 3, 4, 5]
    assert any(doubt.startswith("row 6: the file ends in the middle of its last number") for doubt in table.doubts)


def test_a_last_row_without_line_end_is_read_when_it_is_whole() -> None:
    assert one("rpm,Nm\n1500,98.20\n1600,99.75\n1700,99.50\n1800,99.90\n1900,99.10").rows.tolist() == [2, 3, 4, 5, 6]


def test_a_short_row_in_the_middle_is_left_out_by_number() -> None:
    lines = [f"{1500 + 10 * i},{90 + i}.5,88" for i in range(40)]
    lines[20] = "1700,110"
    table = one("rpm,Nm,Oil\n" + "\n".join(lines) + "\n")
    assert len(table.rows) == 39
    assert 22 not in table.rows
    assert "row 22: too few or too many fields; left out" in table.doubts


def test_more_than_one_odd_row_in_twenty_refuses_the_file() -> None:
    lines = [f"{1500 + 10 * i},{90 + i}.5,88" for i in range(40)]
    for index in (5, 10, 20):
        lines[index] = "1700,110"
    with pytest.raises(FileRefusedError, match="rows 7, 12 and 22 have 2 fields where 3 are needed"):
        one("rpm,Nm,Oil\n" + "\n".join(lines) + "\n")


def test_decimal_commas_between_commas_are_refused() -> None:
    with pytest.raises(FileRefusedError, match="no decimal comma between commas"):
        one("rpm,Nm\n1500,98,2\n1600,99,7\n1700,99,5\n")


def test_a_file_without_header_gets_numbered_columns_and_a_doubt() -> None:
    table = one("1500,98.2\n1600,99.75\n1700,99.5\n")
    assert table.names == ("column 1", "column 2")
    assert table.doubts == ("the file names no columns; they were numbered",)


def test_clock_times_become_seconds_and_run_on_over_midnight() -> None:
    table = one("Time;rpm\n23:59:59,5;1500\n00:00:00,5;1600\n00:00:01,5;1700\n")
    assert table.columns[0].tolist() == [86399.5, 86400.5, 86401.5]
    assert table.units[0] == "s"


@pytest.mark.parametrize(
    ("cell", "seconds"),
    [("12:03:04.5", 43384.5), ("3:04.5", 184.5), ("2026-05-04T12:03:04", 43384.0), ("04.05.2026 12:03:04", 43384.0),
     ("1:03:04 PM", 46984.0), ("12:03:04Z", 43384.0)],
)  # fmt: skip
def test_times_of_day_in_many_spellings(cell: str, seconds: float) -> None:
    table = one(f"Time\trpm\n{cell}\t1500\n{cell}\t1600\n{cell}\t1700\n")
    assert table.columns[0].tolist() == [seconds] * 3


def test_one_clock_time_in_a_column_of_numbers_changes_no_other_number() -> None:
    table = one("rpm;Nm\n99000;1\n98000;2\n12:03;3\n1500;4\n1600;5\n")
    assert table.columns[0][[0, 1, 3, 4]].tolist() == [99_000.0, 98_000.0, 1500.0, 1600.0]
    assert table.units[0] == "rpm"


def test_a_unit_in_one_cell_is_not_the_unit_of_the_column() -> None:
    table = one("x,y\n15,98.2\n16,99.75\n17 A,99.5\n18,99.1\n")
    assert table.units == ("", "")
    assert np.isnan(table.columns[0]).tolist() == [False, False, True, False]


def test_a_column_that_is_thousands_by_its_own_numbers_needs_no_doubt() -> None:
    table = one("x;y\n950;1\n1.000;2\n1.050;3\n")
    assert table.columns[0].tolist() == [950.0, 1000.0, 1050.0]
    assert table.doubts == ()


@pytest.mark.parametrize(("name", "first"), [("rpm", 5500.0), ("Lambda", 5.5)])
def test_marks_that_could_mean_either_are_decided_by_the_name_with_a_doubt(name: str, first: float) -> None:
    table = one(f"{name};y\n5.500;1\n5.600;2\n5.700;3\n")
    assert table.columns[0][0] == first
    assert any(doubt.startswith(f"column '{name}': '.' was taken") for doubt in table.doubts)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_speed_that_no_engine_reaches_is_not_read_as_thousands(delimiter: str) -> None:
    rows = [("speed_rad_s", "torque_Nm"), ("108.825", "139.160"), ("125.254", "148.650"), ("147.179", "156.429")]
    table = one("".join(f"{delimiter.join(row)}\n" for row in rows))
    assert table.columns[0].tolist() == [108.825, 125.254, 147.179]
    assert table.columns[1].tolist() == [139.16, 148.65, 156.429]


def test_three_decimals_between_commas_are_decimals_without_doubt() -> None:
    table = one("rpm,torque\n1500,139.160\n1600,148.650\n1700,156.429\n")
    assert table.columns[1].tolist() == [139.16, 148.65, 156.429]
    assert table.doubts == ()


def test_another_column_proves_the_decimal_mark_for_the_whole_file() -> None:
    table = one("Time,rpm\n5.500,1.25\n5.600,1.35\n")
    assert table.columns[0].tolist() == [5.5, 5.6]
    assert table.doubts == ()


def test_suffixes_of_another_unit_are_never_mixed() -> None:
    table = one("rpm,Power\n1500,20.7 kW\n1600,30.0 hp\n1700,22.1 kW\n")
    assert table.units[1] == "kW"
    assert np.isnan(table.columns[1]).tolist() == [False, True, False]


@pytest.mark.parametrize("cell", ["NaN", "nan", "inf", "-Infinity", "1E30", "-", "0x1F", "1_000", "12..15", "abc"])
def test_an_odd_cell_deep_in_a_long_file_is_found_by_the_fast_reader_too(cell: str) -> None:
    lines = [f"{i / 10:.1f},{1500 + i}.5,98.25" for i in range(3000)]
    lines[2500] = f"250.0,{cell},98.25"
    table = one("t,rpm,Nm\n" + "\n".join(lines) + "\n")
    assert np.flatnonzero(np.isnan(table.columns[1])).tolist() == [2500]
    assert any("row 2502: " in doubt for doubt in table.doubts)


@pytest.mark.parametrize("between", ["\t", " "])
def test_decimal_commas_are_not_cut_where_two_columns_look_like_three(between: str) -> None:
    rows = [[-8.39, -6229.07], [4.69, 1362.19], [-5.49, 5780.63]]
    text = "\n".join(between.join(repr(value).replace(".", ",") for value in row) for row in rows)
    table = one(f"x{between}y\n{text}\n")
    assert np.column_stack(table.columns).tolist() == rows
