"""When a file says that it was recorded: taken only where it cannot be anything else."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.capture.stated_time import stated_time

MAY = "2026-05-04T09:12:00"


def _iso(*lines: str) -> str:
    found = stated_time(lines)
    return "" if found is None else found.isoformat()


@pytest.mark.parametrize(
    "lines",
    [
        ("2026-05-04 09:12",),
        ("Recorded: 2026-05-04T09:12:00",),
        ("Date;Time;Operator", "04.05.2026;09:12:00;K"),
        ("# date, 2026/05/04", "# time, 9:12"),
        ("Datum: 4. 5. 2026", "Uhrzeit: 09:12"),
        ("4 May 2026 09:12",),
        ("4. Mai 2026, 09:12 Uhr",),
        ("May 4, 2026 9:12 AM",),
        ("Start time: 09:12:00", "Date: 4-May-2026"),
        ("Start: 2026-05-04 09:12", "End: 2026-05-04 09:14"),
        ("Calibrated 2025-01-01 08:00", "2026-05-04 09:12"),
        ("Duration: 00:15", "Date 2026-05-04", "Time 09:12"),
        ("2026-05-04 09:12:00.250 run 3",),
        ("2026-05-04 09:12", "Date: 2026-05-04", "Time: 09:12:00"),
    ],
)
def test_a_date_and_a_time_in_any_usual_writing_are_taken(lines: tuple[str, ...]) -> None:
    assert _iso(*lines) == MAY


def test_a_day_and_month_that_can_be_one_thing_only_are_taken() -> None:
    assert _iso("13/05/2026 09:12") == "2026-05-13T09:12:00"
    assert _iso("05/13/2026 09:12") == "2026-05-13T09:12:00"
    assert _iso("05/05/2026 09:12") == "2026-05-05T09:12:00"
    assert _iso("2026-05-04 12:05 am") == "2026-05-04T00:05:00"
    assert _iso("2026-05-04 12:05 pm") == "2026-05-04T12:05:00"


@pytest.mark.parametrize(
    "lines",
    [
        (),
        ("04/05/2026 09:12",),
        ("2026-05-04",),
        ("Time: 09:12",),
        ("2026-05-04 09:12", "2026-05-04 10:30"),
        ("Date: 2026-05-04", "Time: 09:12", "Start: 09:15"),
        ("2026-13-40 09:12",),
        ("2026-05-04 25:70",),
        ("2026-05-04 14:00 pm",),
        ("4 Foo 2026 09:12",),
        ("Printed 2026-05-04 09:12",),
        ("last service 2026-05-04", "Time: 09:12"),
        ("12026-05-04 09:12",),
        ("firmware 2026.5.4.1 at 1:09:12:44",),
        ("2026-05-04 00:00:00",),
        ("Serial 0204-05-04 09:12",),
    ],
)
def test_what_could_be_another_day_or_another_time_is_left_alone(lines: tuple[str, ...]) -> None:
    assert _iso(*lines) == ""


@given(st.lists(st.text(alphabet="0123456789:./- ,TapmDateMay", max_size=40), max_size=4))
def test_any_lines_give_a_time_or_none(lines: list[str]) -> None:
    found = stated_time(lines)
    assert found is None or found.year >= 1980
