"""Readers against generated files and mutations of the real ones.

In the run with CI set, more than 10,000 files in all: 200 x (15 generated + 40 mutated) and the spreadsheets.
"""

from __future__ import annotations

import io
import re
import time
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.capture.reader import read_tables
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pullbook.capture.reader import FileContents

SEEDS = st.integers(min_value=0, max_value=2**32 - 1)
GENERATED_EACH = 15
MUTATED_EACH = 40
SECONDS_A_FILE = 5.0  # generous: the machine may be busy, a hang is longer
NAMES = ("Time (s)", "Speed [rpm]", "Torque Nm", "Power (kW)", "Lambda", "Oil temp (C)", "MAP (kPa)", "Throttle %")


def read(data: bytes) -> FileContents | None:
    """Contents, or None where the file is refused; anything else that is raised fails the test."""
    start = time.perf_counter()
    try:
        contents = read_tables(data, "a1.csv")
    except FileRefusedError as refusal:
        assert str(refusal).endswith(".")  # noqa: PT017  # the sentence is what is tested
        contents = None
    assert time.perf_counter() - start < SECONDS_A_FILE
    return contents


def check_shape(contents: FileContents) -> None:
    assert contents.tables
    for table in contents.tables:
        assert len(table.names) == len(table.units) == len(table.columns) >= 1
        assert all(len(column) == len(table.rows) for column in table.columns)
        assert np.all(np.diff(table.rows) > 0)


# Generated files: the numbers that come back are the generator's.


def number_text(value: float, decimal: str, thousands: str) -> str:
    text = repr(value)
    whole, point, rest = text.partition(".")
    if thousands and "e" not in text:
        whole = f"{int(whole):,}".replace(",", thousands) if whole != "-0" else whole
    return f"{whole}{decimal if point else ''}{rest}"


def generated(rng: np.random.Generator) -> tuple[bytes, np.ndarray]:
    rows, width = int(rng.integers(2, 40)), int(rng.integers(2, 9))
    delimiter, decimal, thousands = [
        (",", ".", ""), (";", ",", ""), (";", ".", ""), ("\t", ",", ""), ("\t", ".", ""), ("|", ".", ""),
        (" ", ".", ""),
        (" ", ",", ""), (";", ",", "."), ("\t", ".", ","), (";", ".", "'"), ("\t", ",", " "),
    ][int(rng.integers(0, 12))]  # fmt: skip
    numbers = (rng.normal(0.0, 1.0, (rows, width)) * 10.0 ** rng.integers(0, 5, width)).round(2)
    quote = '"' if delimiter != " " and rng.random() < 0.2 else ""
    end = ["\n", "\r\n"][int(rng.integers(0, 2))]
    last = delimiter if delimiter != " " and rng.random() < 0.2 else ""
    names = [name.replace(" ", "_") if delimiter == " " else name for name in NAMES[:width]]
    lines = ["Cell 2, cloudy", ""] if rng.random() < 0.3 else []
    lines += [delimiter.join(names) + last]
    for row in numbers.tolist():
        cells = [f"{quote}{number_text(value, decimal, thousands)}{quote}" for value in row]
        lines.append(delimiter.join(cells) + last)
    encoding = ["utf-8", "utf-8-sig", "utf-16", "cp1252"][int(rng.integers(0, 4))]
    return (end.join(lines) + end).encode(encoding), numbers


@given(seed=SEEDS)
def test_numbers_of_generated_files_come_back_exactly(seed: int) -> None:
    for step in range(GENERATED_EACH):
        data, numbers = generated(np.random.default_rng([seed, step]))
        contents = read(data)
        assert contents is not None, data
        (table,) = contents.tables
        assert np.array_equal(np.column_stack(table.columns), numbers), data


# Mutations of real files: refused, or numbers that the named row of the text holds.

_TOKEN = re.compile(r"[0-9.,:'\u2019 \u00a0eE+\u2212-]*[0-9][0-9.,:'\u2019 \u00a0eE+\u2212-]*|[0-9]")


def readings(line: str) -> set[float]:
    """Every number that anybody could read in a line, whatever the marks mean."""
    found: set[float] = set()
    for chunk in _TOKEN.findall(line.replace("\u2212", "-")):
        parts = {
            chunk,
            *re.split(r"[,; \u00a0]", chunk),
            *re.split(r"[,;]", chunk),
            *re.findall(r"[-+]?[0-9.,]+(?:[eE][-+]?[0-9]+)?", chunk),
        }
        found.update(value for part in parts for text in spellings(part) if (value := number(text)) is not None)
    return found


def spellings(part: str) -> tuple[str, ...]:
    """A number with either mark for the decimal mark, and the other one or blanks to group thousands."""
    with_points, with_commas = re.sub(r"[^0-9.eE+-]", "", part), re.sub(r"[^0-9,eE+-]", "", part)
    return part, part.replace(",", "."), with_points, with_commas.replace(",", ".")


def number(text: str) -> float | None:
    try:
        return float(text.strip())
    except ValueError:
        return None


def check_values(contents: FileContents, data: bytes, rng: np.random.Generator) -> None:
    """A few rows of each table against their lines; rows with clock times have no plain number to find."""
    lines = data.splitlines()
    for table in contents.tables:
        assert table.rows[-1] <= len(lines)
        for index in rng.integers(0, len(table.rows), 4).tolist():
            line = lines[table.rows[index] - 1].decode("utf-8", errors="replace")
            if '"' in line or ":" in line or "\ufeff" in line:
                continue
            possible = readings(line)
            for name, column in zip(table.names, table.columns, strict=True):
                value = float(column[index])
                assert np.isnan(value) or value in possible, (name, value, line)


def flip(data: bytearray, rng: np.random.Generator) -> bytearray:
    for place in rng.integers(0, len(data), rng.integers(1, 12)):
        data[place] = rng.integers(0, 256)
    return data


def flip_to_marks(data: bytearray, rng: np.random.Generator) -> bytearray:
    marks = b",.;\t \n\r\"-'eE0:/#|"
    for place in rng.integers(0, len(data), rng.integers(1, 30)):
        data[place] = marks[rng.integers(0, len(marks))]
    return data


def truncate(data: bytearray, rng: np.random.Generator) -> bytearray:
    return data[: rng.integers(0, len(data))]


def shuffle(data: bytearray, rng: np.random.Generator) -> bytearray:
    lines = bytes(data).splitlines(keepends=True)
    rng.shuffle(lines)
    return bytearray(b"".join(lines))


def swap_delimiters(data: bytearray, rng: np.random.Generator) -> bytearray:
    old, new = rng.permutation(list(b",.;\t |"))[:2].tolist()
    return bytearray(bytes(data).replace(bytes([old]), bytes([new])))


def drop_a_piece(data: bytearray, rng: np.random.Generator) -> bytearray:
    start = int(rng.integers(0, len(data)))
    return data[:start] + data[start + int(rng.integers(1, 400)) :]


def double_a_piece(data: bytearray, rng: np.random.Generator) -> bytearray:
    start = int(rng.integers(0, len(data)))
    return data[:start] + data[max(0, start - int(rng.integers(1, 800))) :]


def put_noise(data: bytearray, rng: np.random.Generator) -> bytearray:
    start = int(rng.integers(0, len(data)))
    return data[:start] + bytearray(rng.bytes(int(rng.integers(1, 300)))) + data[start:]


def only_noise(data: bytearray, rng: np.random.Generator) -> bytearray:
    return bytearray(rng.bytes(int(rng.integers(1, len(data)))))


MUTATIONS: tuple[Callable[[bytearray, np.random.Generator], bytearray], ...] = (
    flip, flip_to_marks, truncate, shuffle, swap_delimiters, drop_a_piece, double_a_piece, put_noise, only_noise,
)  # fmt: skip


class Heads(list[bytes]):
    """Pieces of files, without their bytes in the report of a failure."""

    def __repr__(self) -> str:
        return f"{len(self)} pieces"


@pytest.fixture(scope="module")
def heads(shared_data: Path) -> Heads:
    """Pieces of the real text files: heads of several lengths, and the ends that hold binary trailers."""
    pieces = Heads()
    for path in sorted(shared_data.glob("*/*")):
        if path.suffix in {".csv", ".txt"}:
            data = path.read_bytes()
            pieces += [data[:1500], data[:6000]]
    trailer = (shared_data / "engine-brake-logs" / "day-b-run-5.csv").read_bytes()
    pieces.append(trailer[:300] + trailer[155_000:158_000])
    return pieces


@given(seed=SEEDS)
def test_mutated_real_files_are_refused_or_read_as_their_rows_say(heads: Heads, seed: int) -> None:
    for step in range(MUTATED_EACH):
        rng = np.random.default_rng([seed, step])
        data = bytearray(heads[rng.integers(0, len(heads))])
        for _ in range(rng.integers(1, 3)):
            if data:
                data = MUTATIONS[rng.integers(0, len(MUTATIONS))](data, rng)
        contents = read(bytes(data))
        if contents is not None:
            check_shape(contents)
            if contents.source.layout.startswith("text, ASCII"):
                check_values(contents, bytes(data), rng)


@given(data=st.binary(max_size=300))
def test_any_bytes_are_refused_or_read(data: bytes) -> None:
    contents = read(data)
    if contents is not None:
        check_shape(contents)


@given(text=st.text(alphabet="0123456789.,;:-+eE \t\n\r\"'#|xNm%", max_size=200))
def test_any_text_of_numbers_and_marks_is_refused_or_read(text: str) -> None:
    contents = read(text.encode())
    if contents is not None:
        check_shape(contents)


def small_workbook() -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in [["rpm", "Nm"], *[[1500.0 + i, 98.2 + i] for i in range(30)]]:
        sheet.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


@given(seed=SEEDS)
def test_spoilt_spreadsheets_are_refused_or_read(shared_data: Path, seed: int) -> None:
    rng = np.random.default_rng(seed)
    xls = (shared_data / "single-cylinder-torque" / "run-table.xls").read_bytes()
    for data in (xls, _WORKBOOK):
        spoilt = flip(bytearray(data), rng)
        if rng.random() < 0.3:
            spoilt = truncate(spoilt, rng)
        contents = read(bytes(spoilt))
        if contents is not None:
            check_shape(contents)


_WORKBOOK = small_workbook()
