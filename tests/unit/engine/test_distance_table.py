"""The table of checks in the docs: every line is one that is measured, and every test that it names is there."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest
from distance_rows import ROWS, shown
from distance_study import Noting, file_of, noted, noting_allclose

PAGE: Final = Path(__file__).parents[3] / "docs" / "methods" / "virtual-engine.md"


def test_page_has_the_lines_of_the_study_in_their_order() -> None:
    text = PAGE.read_text(encoding="utf-8")
    lines = text[text.index("## How far it is from every check") :].splitlines()
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines if line.startswith("| ")]
    table = cells[2 : 2 + len(ROWS)]
    assert [one[:3] for one in table] == [[row.check, row.source, row.wanted] for row in ROWS]
    assert all(len(one) == 4 and one[3] for one in table)


def test_tests_that_the_table_names_are_there() -> None:
    for row in ROWS:
        assert row.measure is not None or row.tests
        for test in row.tests:
            assert Path(file_of(test)).is_file()


def test_a_comparison_notes_its_largest_departure_and_still_decides() -> None:
    assert Noting([1.0, 2.0], rel=0.02) == [1.01, 2.0]
    assert Noting(5.0, rel=1e-3) != 5.1
    noting_allclose(0.0, 0.0)
    mine = sorted(noted.pop("test_a_comparison_notes_its_largest_departure_and_still_decides").values())
    assert mine == [(0.0, 0.0), (pytest.approx(0.01), pytest.approx(0.01)), (pytest.approx(0.02), pytest.approx(0.1))]


def test_departures_are_shown_as_one_reads_them() -> None:
    assert [shown(part) for part in (0.0, 3.4e-9, 2.5e-5, 0.0123)] == ["round-off", "3e-9", "0.0025 %", "1.2 %"]
