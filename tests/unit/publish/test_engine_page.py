"""Computed curves on the page: what is drawn, what is said, and that nothing is claimed that was not computed."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from pullbook.publish.engine_curves import EngineRun, Trace, computed_gain, engine_chart
from pullbook.publish.engine_page import EngineSource, render_engine_curves
from pullbook.publish.engine_story import engine_sentences, small_share, trust_sentences
from pullbook.publish.engine_tables import curves_table, points_table
from pullbook.publish.figures import Measure
from pullbook.publish.palette import build_style
from pullbook.publish.typeset import typeset
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Sequence

METRIC = Measure.torque(UnitSystem.METRIC)
SPEEDS = (2000.0, 3000.0, 4000.0)
BUILDS = [
    {"name": "A", "label": "long", "baseline": True},
    {"name": "B", "label": "short <b>", "baseline": False},
]


def trace(torque: Sequence[float], half: float = 1.0, speeds: Sequence[float] = SPEEDS) -> Trace:
    values = np.array(torque)
    return Trace(speed_rpm=np.array(speeds), torque=values, low=values - half, high=values + half)


def run(name: str, computed: Trace, **more: Any) -> EngineRun:
    return EngineRun(name=name, label="", style=build_style(-1 if name == "A" else 0), computed=computed, **more)


def point(speed: float, torque: float, **quality: Any) -> dict[str, Any]:
    """A point as simulation.json has it."""
    cylinder = {"residual": 0.05, "spark_deg": -22.0, "half_burned_deg": 8.0, "knock_integral": 0.4}
    cylinder |= quality.pop("cylinder", {})
    quality = {"cell_size": 0.02, "cycles": 9, "converged": True, "reason": "", "mass_error": 2e-4,
               "energy_error": -3e-4, **quality}  # fmt: skip
    return {
        "speed_rpm": speed, "torque": torque, "power": 1.0, "volumetric_efficiency": 0.9, "imep_gross": 11e5,
        "pmep": -0.2e5, "fmep": 1.5e5, "specific_consumption": 7e-8, "cylinders": [cylinder], "quality": quality,
    }  # fmt: skip


def engine(name: str, points: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    usual = {"grid_error": [0.5 for _ in points], "failures": [], "assumed": [], "remarks": []}
    return {"name": name, "points": points, **usual, **more}


def findings(kind: str = "measured") -> dict[str, Any]:
    """What findings.json has of two builds, B 10 N m above A."""
    grid = [2000.0, 3000.0, 4000.0, 5000.0]

    def band(level: float) -> dict[str, list[float | None]]:
        return {
            "mean": [level, level, level, None],
            "low": [level - 2.0] * 3 + [None],
            "high": [level + 2.0] * 3 + [None],
        }

    return {
        "torque_kind": kind, "standard": "SAE J1349", "grid_rpm": grid,
        "builds": [{"name": "A", "torque": band(100.0)}, {"name": "B", "torque": band(110.0)}],
        "differences": [{"of": "B", "from": "A", "torque": band(10.0)}],
    }  # fmt: skip


def two() -> list[EngineSource]:
    a = engine("one", [point(speed, 102.0) for speed in SPEEDS])
    b = engine("two", [point(speed, 108.0) for speed in SPEEDS])
    return [
        EngineSource(file="engines/a.toml", build="A", engine=a),
        EngineSource(file="engines/b.toml", build="B", engine=b),
    ]


def test_a_computed_curve_has_a_ring_at_each_computed_speed_and_a_measured_one_has_none() -> None:
    chart = engine_chart([run("A", trace([100.0, 120.0, 90.0]), measured=trace([99.0, 121.0, 92.0]))], METRIC)
    panel = chart.panels[0]
    assert [(one.x, one.y) for one in panel.markers] == [(2000.0, 100.0), (3000.0, 120.0), (4000.0, 90.0)]
    assert {one.key for one in panel.markers} == {"A computed"}
    assert [line.label for line in panel.lines] == ["A measured", "A computed"]


def test_the_text_alternative_names_the_peaks_of_both_curves() -> None:
    says = engine_chart([run("A", trace([100.0, 120.0, 90.0]), measured=trace([99.0, 101.0, 122.0]))], METRIC).says
    assert (
        "A: the computed torque is at most 120 N m at 3,000 rpm, the measured mean at most 122 N m at 4,000 rpm" in says
    )


def test_the_error_of_a_computed_difference_is_the_difference_of_the_errors() -> None:
    gain = computed_gain(
        run("B", trace([110.0, 120.0, 130.0], half=1.5)), run("A", trace([100.0, 125.0, 130.0], half=1.0))
    )
    assert gain is not None
    assert gain.torque.tolist() == [10.0, -5.0, 0.0]
    np.testing.assert_allclose(gain.high - gain.torque, 0.5)


def test_curves_without_a_common_speed_have_no_difference_and_the_page_says_so() -> None:
    first, other = run("A", trace([1.0, 2.0, 3.0])), run("B", trace([1.0, 2.0], speeds=(2500.0, 3500.0)))
    assert computed_gain(other, first) is None
    assert len(engine_chart([first, other], METRIC).panels) == 1
    assert engine_sentences([first, other], METRIC) == ("B and A have no computed speed in common.",)


def test_a_sentence_says_how_far_the_computed_curve_is_from_the_measured_mean() -> None:
    told = engine_sentences([run("A", trace([102.0, 110.0, 95.0]), measured=trace([100.0, 100.0, 100.0]))], METRIC)
    assert told[0].replace("\u2212", "-") == (
        "A: the computed torque is 2.3 % above the measured mean on average over 2,000 to 4,000 rpm, from -5.0 % at "
        "4,000 rpm to +10.0 % at 3,000 rpm."
    )


def test_a_computed_curve_is_held_to_the_measured_one_only_where_there_is_one() -> None:
    measured = trace([100.0, 100.0], speeds=(2000.0, 3000.0))
    told = engine_sentences([run("A", trace([102.0, 104.0, 300.0]), measured=measured)], METRIC)
    assert "3.0 % above the measured mean on average over 2,000 to 3,000 rpm" in told[0]


@pytest.mark.parametrize(
    ("measured", "says"),
    [
        ([9.0, 9.0, -9.0], "the pulls decide the sign at three speeds, and the computed sign is the same at 2 of them"),
        ([9.0, 0.5, 0.5], "the pulls decide the sign at one speed, and the computed sign is the same at all of them"),
        ([0.5, 0.5, 0.5], "what was measured decides no sign at these speeds"),
    ],
)
def test_agreement_of_signs_counts_only_what_the_pulls_decide(measured: list[float], says: str) -> None:
    first = run("A", trace([100.0, 100.0, 100.0]))
    other = run("B", trace([110.0, 110.0, 110.0]), gain=trace(measured))
    assert says in engine_sentences([first, other], METRIC)[-1]


def test_the_page_says_knock_unsettled_points_failures_and_what_the_balances_leave() -> None:
    points = [point(2000.0, 100.0, converged=False, reason="torque moves by 2 %"),
              point(3000.0, 110.0, cylinder={"knock_integral": 1.2})]  # fmt: skip
    told = " ".join(trust_sentences([engine("one", points, failures=["4,000 rpm: the gas ran away"])], METRIC))
    assert "knock is expected at 3,000 rpm" in told
    assert "2,000 rpm: not settled, torque moves by 2 %" in told
    assert "the gas ran away" in told
    assert "mass 0.02 %, energy 0.03 %" in told
    assert "Cells of 20 mm add up to 0.5 N m" in told


def test_an_error_that_was_not_estimated_is_not_said_to_be_nothing() -> None:
    told = trust_sentences([engine("one", [point(2000.0, 1.0)], grid_error=[None])], METRIC)
    assert told[0] == "The error from the size of the cells was not estimated."


def test_small_shares_are_not_counted() -> None:
    assert [small_share(share) for share in (0.0, 9e-6, 0.012)] == ["less than 0.001 %", "less than 0.001 %", "1 %"]


def test_the_table_has_no_measured_value_where_nothing_was_measured() -> None:
    table = curves_table(
        [run("A", trace([100.0, 120.0, 90.0]), measured=trace([99.0, 98.0], speeds=(2000.0, 3000.0)))], METRIC
    )
    assert table.head == ("engine speed", "A computed, N m", "cells \u00b1, N m", "A measured, N m")
    assert table.rows[-1] == ("4,000 rpm", "90.0", "1.0", "\u2013")


def test_the_table_of_points_marks_those_that_have_not_settled() -> None:
    rows = points_table(engine("one", [point(2000.0, 1.0), point(3000.0, 1.0, converged=False)])).rows
    assert [row[9] for row in rows] == ["9", "9, not settled"]
    assert rows[0][1] == "90.0 %"


def test_the_part_says_that_it_is_computed_and_escapes_what_a_file_says() -> None:
    sources = two()
    sources[1] = EngineSource(file="engines/b.toml", build="B", engine={**sources[1].engine, "name": "<script>x"})
    html, figure = render_engine_curves(sources, findings(), BUILDS)
    assert "computed, not measured" in html
    assert "<script>" not in html
    assert "&lt;script&gt;" in html
    assert "short <b>" not in html
    assert json.loads(figure)["layout"]["xaxis"]["range"] == [2000.0, 4000.0]


def test_measured_curves_and_gains_stand_beside_those_of_their_build() -> None:
    html, figure = render_engine_curves(two(), findings(), BUILDS)
    names = [one["name"] for one in json.loads(figure)["data"] if one["meta"]["part"] == "line"]
    assert names == ["A measured", "A computed", "B measured", "B computed", "B\u2212A measured", "B\u2212A computed"]
    assert typeset("A (long): the computed torque is 2.0 % above the measured mean") in html


@pytest.mark.parametrize("given", [None, findings("relative")], ids=["no findings", "relative session"])
def test_without_measured_torque_the_part_says_so(given: dict[str, Any] | None) -> None:
    html, _ = render_engine_curves(two(), given, BUILDS)
    assert typeset("There is no measured curve in N m") in html
    assert "A measured" not in html


def test_an_engine_that_is_about_no_build_goes_by_its_file() -> None:
    source = EngineSource(file="engines/x.toml", build="", engine=engine("x", [point(2000.0, 5.0), point(3000.0, 6.0)]))
    _, figure = render_engine_curves([source], findings(), BUILDS)
    assert [one["name"] for one in json.loads(figure)["data"] if one["meta"]["part"] == "line"] == [
        "engines/x.toml computed"
    ]


def test_where_every_speed_went_wrong_the_reasons_are_told_and_nothing_is_drawn() -> None:
    source = EngineSource(file="a.toml", build="A", engine=engine("x", [], failures=["2,000 rpm: it ran away"]))
    html, figure = render_engine_curves([source], None, BUILDS)
    assert figure == ""
    assert typeset("it ran away") in html
