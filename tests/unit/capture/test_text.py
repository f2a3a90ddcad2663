"""Text of every dialect of the quirks list; every expected number is the one written in the text of the test."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from pullbook.capture.reader import read_tables

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


PULL = [[1500.0, 1600.0, 1750.5], [98.2, 99.75, 101.0]]


@pytest.mark.parametrize(
    "text",
    [
        "rpm,Nm\n1500,98.2\n1600,99.75\n1750.5,101.0\n",
        "rpm;Nm\n1500;98,2\n1600;99,75\n1750,5;101,0\n",
        "rpm\tNm\r\n1500\t98,2\r\n1600\t99,75\r\n1750,5\t101,0\r\n",
        "rpm|Nm\n1500|98.2\n1600|99.75\n1750.5|101.0\n",
        "rpm Nm\n1500 98.2\n1600 99.75\n1750.5 101.0\n",
        "rpm Nm\n1500 98,2\n1600 99,75\n1750,5 101,0\n",
        "  rpm       Nm\n  1500.0    98.2 \n  1600.0    99.75\n  1750.5   101.0\n",
        "rpm, Nm\n1500, 98.2\n1600, 99.75\n1750.5, 101.0\n",
        "rpm;Nm\n1500;98.2\n1600;99.75\n1750.5;101.0\n",
        "sep=;\nrpm;Nm\n1500;98,2\n1600;99,75\n1750,5;101,0\n",
        '"rpm","Nm"\n"1500","98.2"\n"1600","99.75"\n"1750.5","101.0"\n',
        "rpm,Nm,\n1500,98.2,\n1600,99.75,\n1750.5,101.0,\n",
        "rpm,Nm\n1500,98.2,\n1600,99.75,\n1750.5,101.0,\n",
        "rpm,Nm\r\n1500,98.2\n1600,99.75\r1750.5,101.0\r\n",
        "rpm,Nm\r1500,98.2\r1600,99.75\r1750.5,101.0\r",
        "rpm,Nm\n\n1500,98.2\n\n1600,99.75\n\n1750.5,101.0\n\n",
        "rpm,Nm\n1500 rpm,98.2 Nm\n1600 rpm,99.75 Nm\n1750.5 rpm,101.0 Nm\n",
        "rpm,Nm\n1.5e3,98.2\n1.6E+3,9975e-2\n1750.5,101.0",
        'rpm,Nm\n"1,500",98.2\n"1,600",99.75\n"1,750.5",101.0\n',
        "rpm;Nm\n1.500;98,2\n1.600;99,75\n1.750,5;101,0\n",
        "rpm\tNm\n1 500\t98,2\n1 600\t99,75\n1 750,5\t101,0\n",
        "rpm\tNm\n1'500\t98.2\n1'600\t99.75\n1'750.5\t101.0\n",
        "rpm,,Nm\n1500,,98.2\n1600,,99.75\n1750.5,,101.0\n",
    ],
)  # fmt: skip
def test_one_pull_in_any_dialect_gives_the_same_numbers(text: str) -> None:
    table = one(text)
    assert table.names == ("rpm", "Nm")
    assert values(table) == PULL


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_byte_order_marks_and_wide_characters_are_read(encoding: str) -> None:
    text = "rpm;T (\u00b0C)\n1500;98,2\n1600;99,75\n1750,5;101,0\n"
    table = one(text.encode(encoding))
    assert (table.names, table.units) == (("rpm", "T"), ("rpm", "\u00b0C"))
    assert values(table) == PULL


def test_a_degree_sign_in_windows_1252_is_read_with_a_doubt() -> None:
    table = one("rpm;Oil [\u00b0C]\n1500;98,2\n1600;99,75\n".encode("cp1252"))
    assert table.units == ("rpm", "\u00b0C")
    assert "row 1: not UTF-8, read as Windows-1252" in table.doubts


@pytest.mark.parametrize(
    ("header", "names", "units"),
    [
        ("Speed (rpm),Torque (lb-ft)", ("Speed", "Torque"), ("rpm", "lb-ft")),
        ("Speed [1/min],Torque [N m]", ("Speed", "Torque"), ("1/min", "N m")),
        ("Engine rpm,Torque Nm", ("Engine rpm", "Torque"), ("rpm", "Nm")),
        ("speed_rad_s,torque_Nm", ("speed", "torque"), ("rad_s", "Nm")),
        ("rpm x1000,Power (PS)", ("rpm x1000", "Power"), ("rpm x1000", "PS")),
        ("RPM (x1000),RWHP", ("RPM", "RWHP"), ("rpm x1000", "RWHP")),
        ("n,Power (corrected) [kW]", ("n", "Power (corrected)"), ("", "kW")),
        ("T_in,P_min", ("T_in", "P_min"), ("", "")),
    ],
)
def test_units_are_taken_out_of_the_header(header: str, names: tuple[str, ...], units: tuple[str, ...]) -> None:
    table = one(f"{header}\n1500,98.2\n1600,99.75\n")
    assert (table.names, table.units) == (names, units)


@pytest.mark.parametrize("line", ["----,----,----", "=====,=====,=====", "--,--,--\n==,==,=="])
def test_a_line_drawn_under_the_names_does_not_hide_them(line: str) -> None:
    table = one(f"time,Engine speed,Torque\nsec,rpm,Nm\n{line}\n0.0,1500,98.2\n0.1,1600,99.75\n")
    assert table.names == ("time", "Engine speed", "Torque")
    assert table.units == ("sec", "rpm", "Nm")


def test_a_row_of_units_wins_over_a_name_that_looks_like_one() -> None:
    table = one("t;n;Mv;torque [Nm]\ns;1/min;V;lb-ft\n0,0;1500;4,1;98,2\n0,1;1600;4,2;99,75\n")
    assert table.names == ("t", "n", "Mv", "torque")
    assert table.units == ("s", "1/min", "V", "Nm")


@pytest.mark.parametrize("row", ["rpm,lb-ft,-", "[rpm],[lb-ft],[-]", "(rpm),(lb-ft),"])
def test_a_row_of_units_under_the_header_is_no_record(row: str) -> None:
    table = one(f"Speed,Torque,Lambda\n{row}\n1500,98.2,0.9\n1600,99.75,0.88\n")
    assert table.names == ("Speed", "Torque", "Lambda")
    assert table.units[:2] == ("rpm", "lb-ft")
    assert table.rows.tolist() == [3, 4]


def test_lines_above_the_table_are_kept_as_written() -> None:
    table = one(
        "Test cell 2\nBarometer: 29.53 inHg\nTemperature;24,1;degC\nHumidity;46\n\nrpm;Nm\n1500;98,2\n1600;99,75\n"
    )
    assert table.preamble == ("Test cell 2", "Barometer: 29.53 inHg", "Temperature;24,1;degC", "Humidity;46")
    assert table.rows.tolist() == [7, 8]


def test_summary_and_footer_rows_are_left_out_with_their_numbers() -> None:
    table = one("rpm,Nm\n1500,98.2\n1600,99.75\nMax,99.75\nAvg,98.975\nPrinted by the cell\n")
    assert table.rows.tolist() == [2, 3]
    assert any(doubt.startswith("rows 4, 5 and 6: ") for doubt in table.doubts)
    assert table.preamble == ("Max,99.75", "Avg,98.975", "Printed by the cell")


def test_a_header_that_comes_back_within_a_running_log_is_left_out() -> None:
    table = one("s,rpm\n0.0,1500\n0.1,1510\ns,rpm\n0.2,1520\n0.3,1530\n")
    assert table.rows.tolist() == [2, 3, 5, 6]
    assert any(doubt.startswith("row 4: ") for doubt in table.doubts)


def test_stacked_runs_under_repeated_headers_become_tables() -> None:
    first, second = tables("Run 1\nrpm,Nm\n1500,98.2\n1600,99.75\n\nRun 2\nrpm,Nm\n1500,97.1\n1600,98.5\n")
    assert values(first) == [[1500.0, 1600.0], [98.2, 99.75]]
    assert values(second) == [[1500.0, 1600.0], [97.1, 98.5]]
    assert second.rows.tolist() == [8, 9]
    assert "Run 2" in second.preamble
    assert first.sheet != second.sheet


def test_blocks_with_other_columns_become_tables() -> None:
    first, second = tables("rpm,Nm\n1500,98.2\n1600,99.75\nt,rpm,Oil\n0,1500,88.5\n1,1600,89.0\n")
    assert (first.names, second.names) == (("rpm", "Nm"), ("t", "rpm", "Oil"))
    assert values(second) == [[0.0, 1.0], [1500.0, 1600.0], [88.5, 89.0]]


def test_runs_side_by_side_become_tables_without_their_blank_ends() -> None:
    first, second = tables("rpm,hp,Nm,rpm,hp,Nm\n1500,20.7,98.2,1500,20.5,97.1\n1600,22.4,99.75,,,\n")
    assert values(first) == [[1500.0, 1600.0], [20.7, 22.4], [98.2, 99.75]]
    assert values(second) == [[1500.0], [20.5], [97.1]]
    assert second.rows.tolist() == [2]


def test_duplicate_names_that_are_no_runs_are_kept_for_the_mapping_to_refuse() -> None:
    assert one("rpm,Nm,Nm\n1500,98.2,98.1\n1600,99.75,99.7\n").names == ("rpm", "Nm", "Nm")


def test_a_binary_trailer_is_cut_off_and_named() -> None:
    table = one(b"rpm,Nm\r\n1500,98.2\r\n1600,99.75\r\n\xffsettings \x1a\x05\x07\xaa\x00\x01\xfa\x00\r\nDate\r\n")
    assert table.rows.tolist() == [2, 3]
    assert any(doubt.startswith("from row 4 on, about ") for doubt in table.doubts)


def test_one_spoilt_line_does_not_cut_off_the_rest() -> None:
    table = one(b"rpm,Nm\n1500,98.2\n16\x0000,99.75\n1700,99.5\n1800,99.0\n")
    assert table.rows.tolist() == [2, 4, 5]
    assert any(doubt.startswith("row 3: ") for doubt in table.doubts)


def test_falling_speed_repeated_speed_and_negative_torque_are_numbers_like_others() -> None:
    assert values(one("rpm,Nm\n6000,-5.5\n6000,98\n5900,-.5\n")) == [[6000.0, 6000.0, 5900.0], [-5.5, 98.0, -0.5]]


def test_a_blank_cell_of_fixed_width_stays_in_its_column() -> None:
    text = "  rpm     Nm    Oil\n 1500   98.2   88.0\n 1600          89.0\n 1700   99.5   90.0\n 1800   99.1   91.0\n"
    table = one(text)
    assert table.columns[2].tolist() == [88.0, 89.0, 90.0, 91.0]
    assert np.isnan(table.columns[1]).tolist() == [False, True, False, False]


def test_names_of_several_words_in_a_file_of_blanks() -> None:
    table = one("Engine Speed   Brake Torque\n     1500.0           98.2\n     1600.0           99.7\n")
    assert table.names == ("Engine Speed", "Brake Torque")


def test_a_header_cell_of_two_lines_keeps_the_rows_right() -> None:
    table = one('rpm,"Torque\n(Nm)"\n1500,98.2\n1600,99.75\n')
    assert (table.names[1], table.units[1]) == ("Torque", "Nm")
    assert table.rows.tolist() == [3, 4]


def test_numbers_late_in_a_long_clean_file_are_exact_and_rows_true() -> None:
    # The numbers are the generator's; repr() of a float is read back as the same float.
    rng = np.random.default_rng(20260504)
    numbers = rng.normal(3000.0, 900.0, (60_000, 3))
    text = "t,rpm,Nm\n" + "\n".join(",".join(map(repr, row)) for row in numbers.tolist()) + "\n"
    table = one(text)
    assert np.array_equal(np.column_stack(table.columns), numbers)
    assert table.rows[[0, -1]].tolist() == [2, 60_001]


def test_one_odd_cell_late_in_a_long_file_spoils_nothing_else() -> None:
    lines = [f"{i / 10:.1f},{1500 + i},98.25" for i in range(50_000)]
    lines[40_000] = "4000.0,19..22,98.25"
    lines[45_000] = "Max,3.5,98.25"
    table = one("t,rpm,Nm\n" + "\n".join(lines) + "\n")
    assert len(table.rows) == 49_999
    assert np.flatnonzero(np.isnan(table.columns[1])).tolist() == [40_000]
    assert table.rows[40_000] == 40_002
    assert table.rows[-1] == 50_001
    assert table.columns[1][-1] == 51_499.0
