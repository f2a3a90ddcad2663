"""Shapes of curves that the pictures of all sizes share."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from builders import make_result

from pullbook.publish.chart import Axis, Band, Chart, Line, Panel
from pullbook.publish.charts import torque_chart
from pullbook.publish.palette import Ink
from pullbook.publish.sheets import SHEETS, WIDE, Sheet
from pullbook.publish.svg import picture
from pullbook.publish.svg_shapes import shapes
from pullbook.publish.telling import Telling

if TYPE_CHECKING:
    from collections.abc import Sequence

STEP = re.compile(r"-?\d+")


def chart_of(y: Sequence[float], low: float = 0.0, high: float = 350.0) -> Chart:
    x = np.linspace(2000.0, 2000.0 + 50.0 * (len(y) - 1), len(y))
    panel = Panel(
        key="torque", x=Axis(title="engine speed, rpm", low=2000.0, high=7000.0), y=Axis(title="", low=low, high=high),
        lines=(Line(key="A", x=x, y=np.array(y), ink=Ink.INK),),
    )  # fmt: skip
    return Chart(key="torque", title="t", says="s", panels=(panel,))


def paths(chart: Chart) -> dict[str, str]:
    root = ET.fromstring(f"<defs>{shapes(chart, 'u')}</defs>")  # noqa: S314 - our own text
    return {path.attrib["id"]: path.attrib["d"] for path in root}


def points(path: str) -> np.ndarray:
    """Corners of a path of one stretch: its start and the running sum of its steps."""
    numbers = np.array([int(number) for number in STEP.findall(path)], dtype=float).reshape(-1, 2)
    return np.cumsum(numbers, axis=0)


def test_a_shape_is_in_rpm_across_and_tenths_of_a_pixel_of_the_wide_picture_down() -> None:
    # Panel of 350 px for 350 N m: 3,500 tenths, from the top; 100 N m is 2,500 down.
    assert paths(chart_of([100.0, 200.0, 50.0])) == {"u-0l0": "M0 2500l50-1000 50 1500"}


@pytest.mark.parametrize(("low", "high", "steps"), [(0.6, 1.65, 1050), (0.0, 12.0, 1200), (2000.0, 7000.0, 5000)])
def test_a_short_axis_is_told_finely_enough(low: float, high: float, steps: int) -> None:
    line = Line(key="A", x=np.array([low, high]), y=np.array([0.0, 350.0]), ink=Ink.INK)
    panel = Panel(key="p", x=Axis(title="x", low=low, high=high), y=Axis(title="", low=0.0, high=350.0), lines=(line,))
    drawn = paths(Chart(key="c", title="t", says="s", panels=(panel,)))
    assert drawn == {"u-0l0": f"M0 3500l{steps}-3500"}


def test_points_on_a_straight_line_are_left_out() -> None:
    assert paths(chart_of([100.0, 150.0, 200.0, 250.0]))["u-0l0"] == "M0 2500l150-1500"


def test_a_gap_lifts_the_pen_and_a_lone_point_stands_alone() -> None:
    assert paths(chart_of([100.0, 200.0, np.nan, 100.0]))["u-0l0"] == "M0 2500l50-1000M150 2500"


def test_a_band_goes_out_along_its_upper_edge_and_back_along_its_lower() -> None:
    chart = chart_of([100.0, 100.0])
    x = np.array([2000.0, 2050.0])
    band = Band(key="A", x=x, low=np.array([90.0, 80.0]), high=np.array([110.0, 120.0]), ink=Ink.INK)
    chart = replace(chart, panels=(replace(chart.panels[0], bands=(band,)),))
    assert paths(chart)["u-0b0"] == "M0 2400l50-100L50 2700l-50-100Z"


def test_no_point_of_a_curve_is_further_than_a_quarter_of_a_pixel_from_its_shape() -> None:
    chart = torque_chart(Telling(result=make_result()))
    drawn = paths(chart)
    for place, panel in enumerate(chart.panels):
        tall = WIDE.panel * panel.weight
        for number, line in enumerate(panel.lines):
            corner = points(drawn[f"u-{place}l{number}"])
            down = (panel.y.high - line.y) / (panel.y.high - panel.y.low) * tall
            shape = np.interp(line.x - panel.x.low, corner[:, 0], corner[:, 1]) / 10.0
            assert np.max(np.abs(shape - down)) < 0.25  # px: 0.15 by leaving points out, 0.05 by each rounding
            assert len(corner) < line.x.size


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_a_picture_of_its_own_has_every_shape_that_it_uses_and_a_shared_one_has_none(sheet: Sheet) -> None:
    chart = torque_chart(Telling(result=make_result()))
    alone, shared = picture(chart, sheet, "u"), picture(chart, sheet, "u", "s")
    used = re.findall(r'<use href="#([^"]+)"', alone)
    assert used
    assert set(used) == set(re.findall(r'<path id="([^"]+)"', alone))
    assert set(re.findall(r'<use href="#([^"]+)"', shared)) == set(paths_named(chart, "s"))
    assert "<path id=" not in shared


def paths_named(chart: Chart, uid: str) -> list[str]:
    return re.findall(r'<path id="([^"]+)"', shapes(chart, uid))


def test_strokes_keep_their_width_whatever_the_size_of_the_picture() -> None:
    told = shapes(chart_of([100.0, 200.0, 50.0]), "u")
    assert told.count("<path ") == told.count('vector-effect="non-scaling-stroke"') == 1
