"""curves.csv: one tidy table of all curves."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import numpy as np
import pytest
from builders import (
    GRID_RPM,
    make_bandless_findings,
    make_findings,
    make_relative_findings,
    make_result,
    torque_of,
)
from hypothesis import given
from hypothesis import strategies as st

from pullbook.records.codec_csv import curves_to_csv, safe_cell


def table(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_there_is_one_row_for_each_speed_of_each_build_and_each_difference() -> None:
    rows = table(curves_to_csv(make_result()))
    assert len(rows) == GRID_RPM.size * (4 + 3)
    assert {(row["curve"], row["of"], row["from"]) for row in rows} == {
        ("build", "A", ""), ("build", "B", ""), ("build", "C", ""), ("build", "D", ""),
        ("difference", "B", "A"), ("difference", "C", "A"), ("difference", "D", "A"),
    }  # fmt: skip


def test_units_stand_in_the_header_and_values_have_a_decimal_point() -> None:
    rows = table(curves_to_csv(make_result()))
    assert list(rows[0]) == [
        "curve", "of", "from", "rpm [rpm]",
        "torque mean [N m]", "torque low [N m]", "torque high [N m]",
        "power mean [kW]", "power low [kW]", "power high [kW]", "gain mean [%]", "gain low [%]", "gain high [%]",
    ]  # fmt: skip
    truth = torque_of("A", GRID_RPM)
    np.testing.assert_allclose([float(row["torque mean [N m]"]) for row in rows[: GRID_RPM.size]], truth, rtol=1e-9)
    power = float(rows[10]["power mean [kW]"])
    # P[kW] = T[N m] n[rpm] / 9549.29658551, which is 60 000 / (2 pi), exact.
    assert power == pytest.approx(truth[10] * 2500 / 9549.29658551, rel=1e-9)


def test_relative_session_has_no_power_column() -> None:
    rows = table(curves_to_csv(make_result(names="AB", findings=make_relative_findings())))
    assert not [name for name in rows[0] if "power" in name]
    assert "torque mean [%]" in rows[0]
    assert float(rows[0]["torque mean [%]"]) == pytest.approx(100.0)


def test_cells_without_a_number_are_empty() -> None:
    rows = table(curves_to_csv(make_result(names="AB", findings=make_bandless_findings())))
    assert {row["torque low [N m]"] for row in rows} == {""}
    assert {row["gain mean [%]"] for row in rows if row["curve"] == "build"} == {""}
    assert "nan" not in curves_to_csv(make_result(names="AB", findings=make_bandless_findings()))


@pytest.mark.parametrize(
    "text",
    [
        "=1+1", "+A", "-B", "@sum", "\tA", "\rA", "\nA", " =1+1", '=HYPERLINK("http://example.org")', "\u00a0=1",
        "\ufeff=1", "\u200b@sum", "\u202e=1", "\uff1d1+1", "\uff0bA", "\uff0dB", "\uff20sum", "\x00=1",
    ],
)  # fmt: skip
def test_name_that_a_spreadsheet_would_take_for_a_formula_is_made_harmless(text: str) -> None:
    assert safe_cell(text) == f"'{text}"
    findings = make_findings(names="AB")
    named = replace(findings, builds=(replace(findings.builds[0], name=text), *findings.builds[1:]))
    rows = table(curves_to_csv(make_result(names="AB", findings=named)))
    assert rows[0]["of"] == f"'{text}"


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("A;=1+1", "A;'=1+1"),
        ("A\t@sum", "A\t'@sum"),
        ('A"\r\n=1', "A\"\r\n'=1"),
        ("A; ; -1", "A; ;' -1"),
        ("\t=1", "'\t'=1"),
        (";=1", ";'=1"),
        ("=A;=B", "'=A;'=B"),
        ("long; 260 mm", "long; 260 mm"),
        ("4-1 = short", "4-1 = short"),
        ("a, -b", "a, -b"),
    ],
)
def test_a_formula_behind_what_another_country_takes_for_the_end_of_a_cell_is_made_harmless(
    text: str, safe: str
) -> None:
    assert safe_cell(text) == safe


@given(st.text(alphabet=st.sampled_from("=+-@;\t\r\n \u00a0\ufeff,\"'a1"), max_size=12))
def test_no_piece_of_a_cell_begins_with_a_sign_wherever_it_is_cut(text: str) -> None:
    for piece in re.split(r"[;\t\r\n]", safe_cell(text)):
        assert piece.lstrip(" \u00a0\ufeff")[:1] not in {"=", "+", "-", "@"}


def test_negative_numbers_stay_numbers() -> None:
    rows = table(curves_to_csv(make_result()))
    losses = [row["torque mean [N m]"] for row in rows if row["of"] == "B" and row["curve"] == "difference"]
    assert min(float(loss) for loss in losses) < -4.0


def test_name_with_comma_quote_and_line_break_comes_back_whole() -> None:
    findings = make_findings(names="AB")
    name = 'long, "tuned"\nrunners'
    named = replace(findings, builds=(replace(findings.builds[0], name=name), *findings.builds[1:]))
    assert table(curves_to_csv(make_result(names="AB", findings=named)))[0]["of"] == name
