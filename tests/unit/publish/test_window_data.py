"""What a page carries of the windows: whole, small, and only where there is something to carry."""

from __future__ import annotations

import gzip
import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from builders import make_result
from builders_findings import make_bandless_findings, make_findings, make_relative_findings, torque_of

from pullbook.publish.page import render_page
from pullbook.publish.window_data import SCHEMA, window_data
from pullbook.records.window_table import WindowStretch, WindowTable

if TYPE_CHECKING:
    from pullbook.records.finding import Findings
    from pullbook.records.result import SessionResult

SPEED = np.arange(2000.0, 6501.0, 50.0)
ENDS = SPEED[::2]
PLACES = np.triu_indices(ENDS.size, 1)


def _stretch(of: str, *, relative: bool = False, known: bool = True) -> WindowStretch:
    """Windows with half-widths between 2 and 4 N m."""
    low, high = PLACES
    halves = (2.0 + 2.0 * np.exp(-(high - low) / 5.0)) if known else np.full(low.size, np.nan)
    none = np.zeros(0)
    return WindowStretch(
        speed_rpm=SPEED, gain=torque_of(of, SPEED) - torque_of("A", SPEED), base=torque_of("A", SPEED), ends_rpm=ENDS,
        torque=halves, power=none if relative else 480.0 * halves, percent=none if relative else 0.5 * halves,
        check=none if relative else np.zeros(low.size), check_half=none if relative else 0.7 * halves,
    )  # fmt: skip


def _result(findings: Findings, **changes: Any) -> SessionResult:
    tables = tuple(
        WindowTable(of=one.of, from_=one.from_, stretches=(_stretch(one.of, **changes),))
        for one in findings.differences
    )
    return replace(make_result(findings=findings, findings_with_all=None), windows_any=tables)


def _read(result: SessionResult) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(window_data(result))
    return found


def test_a_result_without_tables_gives_nothing() -> None:
    assert window_data(make_result()) == b""


def test_every_pair_and_every_quantity_is_there_with_the_units_of_both_readers() -> None:
    data = _read(_result(make_findings()))
    assert (data["schema"], data["relative"], data["start"]) == (SCHEMA, False, [2000.0, 3500.0])
    assert data["measures"]["power"]["us"] == ["hp", pytest.approx(745.6998715822702)]
    assert data["measures"]["torque"]["metric"] == ["N m", 1.0]
    assert [pair["about"] for pair in data["pairs"]] == ["B-A", "C-A", "D-A"]
    assert data["stretches"] == [{"grid": [2000.0, 50.0, 91], "ends": ENDS.tolist()}]
    for pair in data["pairs"]:
        (stretch,) = pair["stretches"]
        assert set(stretch["halves"]) == {"torque", "power", "percent", "check"}


def test_eight_builds_weigh_little() -> None:
    pairs = len(_result(make_findings()).windows_any)
    weight = len(gzip.compress(window_data(_result(make_findings())), 9))
    assert weight / pairs < 3000, "bytes for a pair, packed"


def test_a_relative_session_speaks_in_percent_alone() -> None:
    data = _read(_result(make_relative_findings(), relative=True))
    assert data["relative"] is True
    assert data["measures"]["torque"] == {"metric": ["%", 1.0], "us": ["%", 1.0]}
    assert set(data["pairs"][0]["stretches"][0]["halves"]) == {"torque"}


def test_without_a_doubt_there_are_values_and_no_half_widths() -> None:
    data = _read(_result(make_bandless_findings(), known=False))
    (stretch,) = data["pairs"][0]["stretches"]
    assert stretch["halves"] == {"torque": None, "power": None, "percent": None, "check": None}
    assert all(half is None for rows in stretch["odd"].values() for *_, half in rows)


def test_names_of_builds_cannot_leave_their_place_in_the_page() -> None:
    table = WindowTable(of="</script><b>", from_="A", stretches=(_stretch("B"),))
    page = render_page(replace(_result(make_findings()), windows_any=(table,)), interactive=True)
    inside = page.split('id="window-data">')[1].split("</script>")[0]
    assert json.loads(inside)["pairs"][0]["of"] == "</script><b>"
    assert "<" not in inside


def test_a_page_of_pictures_alone_carries_no_tables() -> None:
    assert "window-data" not in render_page(_result(make_findings()), interactive=False)
