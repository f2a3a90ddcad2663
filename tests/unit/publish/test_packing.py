"""Figures in the form in which they travel; tests/shells/test_report_charts.py opens them again in a browser."""

from __future__ import annotations

import gzip
import json

import pytest
from builders import make_result

from pullbook.publish.charts import torque_chart
from pullbook.publish.interactive import plotly_figure
from pullbook.publish.packing import packed
from pullbook.publish.telling import Telling


def figure_of(x: list[float], y: list[float | None], texts: list[str] | None = None) -> dict[str, object]:
    trace: dict[str, object] = {"x": x, "y": y, "yaxis": "y", "meta": {"part": "line"}}
    if texts is not None:
        trace["customdata"] = texts
    return {"data": [trace], "layout": {"yaxis": {"range": [0.0, 100.0]}}}


def test_a_curve_is_told_by_the_changes_of_its_changes() -> None:
    made = packed(figure_of([2000.0, 2050.0, 2100.0], [1.0, 3.0, 6.0]))["data"][0]
    # In steps of 0.01: 100, 300, 600; changes 100, 200, 300; changes of these 100, 100, 100.
    assert made["x"] == {"first": 2000.0, "step": 50.0, "count": 3}
    assert made["y"] == {"step": 0.01, "turns": [100, 100, 100]}


def test_a_gap_stays_a_gap() -> None:
    made = packed(figure_of([2000.0, 2050.0, 2100.0, 2150.0], [1.0, None, 3.0, 6.0]))["data"][0]
    assert made["y"]["turns"] == [100, None, 100, 100]


def test_speeds_without_even_steps_stay_as_they_are() -> None:
    assert packed(figure_of([2000.0, 2050.0, 2101.0], [1.0, 3.0, 6.0]))["data"][0]["x"] == [2000.0, 2050.0, 2101.0]


def test_readings_are_counted_in_their_last_digit_and_keep_their_form() -> None:
    texts = ["+9.0 (+6.8 to +11.2) N m", "\u22120.4 (\u22122.1 to +1.3) N m", "not known N m"]
    made = packed(figure_of([2000.0, 2050.0, 2100.0], [1.0, 3.0, 6.0], texts))["data"][0]["customdata"]
    assert made == {
        "forms": ["# (# to #) N m", "not known N m"],
        "runs": [[0, 1, 1, 2], [1, 0, 0, 1]],
        "turns": [[90, -184], [68, -157], [112, -211]],
    }


@pytest.mark.parametrize("texts", [["+9.0 (6.8 to 11.20)", "1", "2"], ["1.50 to 1.5", "1", "2"]])
def test_readings_that_would_not_come_back_as_they_were_are_left_alone(texts: list[str]) -> None:
    assert packed(figure_of([2000.0, 2050.0, 2100.0], [1.0, 3.0, 6.0], texts))["data"][0]["customdata"] == texts


def test_packing_takes_a_figure_to_less_than_six_tenths_of_its_compressed_size() -> None:
    figure = plotly_figure(torque_chart(Telling(result=make_result())))
    whole, small = (len(gzip.compress(json.dumps(part).encode())) for part in (figure, packed(figure)))
    assert small < 0.6 * whole
