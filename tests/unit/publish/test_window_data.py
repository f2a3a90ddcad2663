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
from window_letters import read_halves

from pullbook.publish.figures import Measure
from pullbook.publish.page import render_page
from pullbook.publish.window_codes import Codes
from pullbook.publish.window_data import SCHEMA, window_data, window_data_with_all
from pullbook.publish.window_halves import Quantity, halves_of
from pullbook.quantities.showing import UnitSystem
from pullbook.records.curve import Interval
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
    (where,) = data["stretches"]
    assert (where["grid"], where["ends"]) == ([2000.0, 50.0, 91], ENDS.tolist())
    assert [type(part) for part in where["check"]] == [float, str]
    for pair in data["pairs"]:
        (stretch,) = pair["stretches"]
        assert set(stretch["halves"]) == {"torque", "power", "percent", "check"}


def test_the_scatter_of_the_checks_is_told_once_and_each_pair_has_its_factor() -> None:
    plain = _result(make_findings())
    first, second, *rest = plain.windows_any
    (stretch,) = second.stretches
    wider = replace(second, stretches=(replace(stretch, check_half=1.5 * stretch.check_half),))
    data = _read(replace(plain, windows_any=(first, wider, *rest)))
    factors = [pair["stretches"][0]["halves"]["check"] for pair in data["pairs"]]
    assert factors == pytest.approx([1.0, 1.5, 1.0])
    (where,) = data["stretches"]
    read = read_halves(Codes(*where["check"]), ENDS.size)
    measures = [Measure.torque(system) for system in UnitSystem]
    for table, pair, factor in zip((first, wider, *rest), data["pairs"], factors, strict=True):
        odd = {place for place, *_ in pair["stretches"][0]["odd"].get("check", [])}
        assert len(odd) < 0.02 * read.size
        for place in set(range(read.size)) - odd:
            exact = float(table.stretches[0].check_half[place])
            for measure in measures:
                assert _doubt(measure, factor * read[place]) == _doubt(measure, exact)


def _doubt(measure: Measure, half: float) -> str:
    return measure.stated(Interval(value=0.0, low=-half, high=half))


def test_what_cannot_be_told_by_letters_is_told_with_few_digits_that_print_the_same() -> None:
    halves = 4.0 * (1.0 + 0.3 * np.random.default_rng(5).random(PLACES[0].size))
    values = np.linspace(-9.0, 9.0, halves.size)
    one = Quantity(values, values + 0.4, halves, [1.0, 1.3558179483314003])
    _, odd = halves_of({"torque": one}, ENDS)
    assert len(odd["torque"]) > 100
    for place, value, half in odd["torque"]:
        assert half is not None
        for factor in one.factors:
            shown = [
                Measure(symbol="N m", factor=factor).stated(Interval(value=a, low=a - b, high=a + b), signed=True)
                for a, b in ((value, half), (values[place], halves[place]))
            ]
            assert shown[0] == shown[1]
    assert np.median([len(repr(value)) for _, value, _ in odd["torque"]]) < 8


def test_results_with_every_pull_kept_are_told_by_themselves_and_only_where_there_are_some() -> None:
    plain = _result(make_findings())
    assert window_data_with_all(plain) == b""
    assert 'id="window-data-with-all"' not in render_page(plain)
    alone = [replace(one, stretches=(_alone(one.stretches[0]),)) for one in plain.windows_any[:2]]
    kept = replace(plain, windows_with_all=tuple(alone))
    told = json.loads(window_data_with_all(kept))
    assert told["stretches"] == [{"ends": ENDS.tolist()}]
    assert [pair["about"] for pair in told["pairs"]] == ["B-A", "C-A"]
    assert all(set(pair["stretches"][0]["halves"]) == {"torque"} for pair in told["pairs"])
    assert window_data(kept) == window_data(plain)
    inside = render_page(kept).split('id="window-data-with-all">')[1].split("</script>")[0]
    assert json.loads(inside) == told


def _alone(stretch: WindowStretch) -> WindowStretch:
    none = np.zeros(0)
    return replace(stretch, power=none, percent=none, check=none, check_half=none)


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
