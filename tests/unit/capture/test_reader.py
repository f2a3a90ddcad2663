"""What `read_tables` refuses, and what it says of the bytes it read."""

from __future__ import annotations

import gzip
import hashlib
import mmap
from typing import TYPE_CHECKING

import numpy as np
import pytest

from pullbook.capture.reader import read_tables
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from pathlib import Path

CLEAN = b"Speed [rpm];Torque [Nm]\n1500;98,2\n1600;99,7\n"


def refusal(data: bytes) -> str:
    with pytest.raises(FileRefusedError) as caught:
        read_tables(data, "pulls/a1.csv")
    sentence = str(caught.value)
    assert sentence.startswith("pulls/a1.csv: ")
    assert sentence.count(".\n") == 0
    assert sentence.endswith(".")
    return sentence


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"\n\n\n", "no table with two columns of numbers"),
        (b"hello\nworld\n", "no table with two columns of numbers"),
        (b"rpm,Nm\n", "no table with two columns of numbers"),
        (b"98.2\n99.1\n99.9\n", "no table with two columns of numbers"),
        (bytes(range(256)) * 40, "binary file of an unknown kind"),
        (b"\x00\x01\x02\x03" * 100, "binary file of an unknown kind"),
        (b"%PDF-1.7 and so on", "this is a PDF document, not a pull"),
        (gzip.compress(CLEAN, mtime=0), "this is compressed by gzip, not a pull"),
        (b"PK\x03\x04" + b"x" * 200, "the spreadsheet is damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000), "the spreadsheet is damaged"),
        (b"MDF     3.30    " + bytes(200), "only version 4 is read"),
        (b"MDF     4.10    " + bytes(20), "the MDF file is damaged or cut off"),
    ],
)
def test_what_cannot_be_a_pull_is_refused_in_one_sentence(data: bytes, words: str) -> None:
    assert words in refusal(data)


def test_a_file_of_more_than_two_gigabytes_is_refused_before_it_is_read() -> None:
    size = 2_000_000_001
    with (
        mmap.mmap(-1, size) as mapped,  # pages that nobody touches take no memory
        memoryview(mapped) as view,
        pytest.raises(FileRefusedError, match=r"the file has 2\.0 GB"),
    ):
        read_tables(view, "log.csv")


def test_the_record_of_the_source_names_hash_size_and_layout() -> None:
    source = read_tables(CLEAN, "pulls/a1.csv").source
    assert source.name == "pulls/a1.csv"
    assert source.sha256 == hashlib.sha256(CLEAN).hexdigest()
    assert source.size == len(CLEAN)
    assert source.layout == "text, ASCII or UTF-8, semicolons between columns, decimal comma"


def test_a_mapped_file_gives_the_same_as_its_bytes(tmp_path: Path) -> None:
    path = tmp_path / "a1.csv"
    path.write_bytes(CLEAN)
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as mapped:
        view = memoryview(mapped)
        contents = read_tables(view, "a1.csv")
        view.release()
    assert [column.tolist() for column in contents.tables[0].columns] == [[1500.0, 1600.0], [98.2, 99.7]]


def test_columns_cannot_be_written_to() -> None:
    column = read_tables(CLEAN, "a1.csv").tables[0].columns[0]
    with pytest.raises(ValueError, match="read-only"):
        column[0] = 1.0


def test_a_row_of_more_columns_than_any_bench_has_is_refused() -> None:
    row = b",".join([b"1"] * 5000) + b"\n"
    assert "at most 4000 are read" in refusal(row * 3)


def test_rows_of_every_real_brake_log_are_those_of_the_file(shared_data: Path) -> None:
    """The trailers start at the line where the last record ends; first and last record as the files show them."""
    files = {
        "day-a-two-pulls": (10_596, [0.0, 2384.0], [211.918, 0.0]),
        "day-b-free-revs": (935, [0.0, 3231.0], [18.680, 3788.0]),
        "day-b-run-5": (3012, [0.0, 5314.0], [60.221, 0.0]),
        "day-b-run-6": (7308, [0.0, 2371.0], [146.140, 0.0]),
        "day-b-three-pulls": (8892, [0.0, 2665.0], [177.827, 2988.0]),
        "restrictor-day-1-r": (6004, [0.0, 6306.0], [60.027, 0.0]),
        "restrictor-day-1-w": (6004, [0.0, 6306.0], [60.026, 0.0]),
    }
    for name, (rows, first, last) in files.items():
        data = (shared_data / "engine-brake-logs" / f"{name}.csv").read_bytes()
        (table,) = read_tables(data, name).tables
        assert len(table.rows) == rows, name
        assert table.rows[[0, -1]].tolist() == [2, rows + 1], name
        assert [column[-1] for column in table.columns[:2]] == last, name
        if not name.endswith("-r"):
            assert [column[0] for column in table.columns[:2]] == first, name
        assert any("no text and were cut off" in doubt for doubt in table.doubts), name
        assert not any(np.isnan(column).any() for column in table.columns), name


@pytest.mark.parametrize(
    ("file", "names", "units", "rows"),
    [
        ("roller-wot-repeats/three-full-throttle-repeats.txt", ("Time", "Dyno_Speed"), ("sec", "mph"), 2821),
        ("roller-wot-repeats/drive-cycle.txt", ("Time", "Dyno_Speed"), ("sec", "mph"), 15_581),
        ("digitised-curves/power_curve.csv", ("RPM", "Power"), ("RPM", "hp"), 93),
        ("digitised-curves/torque_curve.csv", ("RPM", "Torque"), ("RPM", "ft-lb"), 97),
        ("full-load-points/na-2.0-i4.csv", ("speed", "torque"), ("rad_s", "Nm"), 19),
        ("full-load-points/turbo-diesel-3.0.csv", ("speed", "torque"), ("rad_s", "Nm"), 14),
    ],
)
def test_real_tables_of_text(
    shared_data: Path, file: str, names: tuple[str, ...], units: tuple[str, ...], rows: int
) -> None:
    """Names, units and the number of lines are counted in the files by hand (``wc -l``)."""
    (table,) = read_tables((shared_data / file).read_bytes(), file).tables
    assert table.names[:2] == names
    assert table.units[:2] == units
    assert len(table.rows) == rows
    assert not any(np.isnan(column).any() for column in table.columns)
    assert table.doubts == ()
