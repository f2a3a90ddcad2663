"""The three renderers draw the same data with the same labels and ranges, because they draw one specification."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import plotly.graph_objects as go
import pytest
from builders import make_bandless_findings, make_relative_findings, make_result
from builders_crowd import HOSTILE, make_crowd

from pullbook.publish.charts import effects_chart, power_chart, torque_chart
from pullbook.publish.interactive import CONFIG, plotly_figure
from pullbook.publish.palette import DARK, Fill, Ink
from pullbook.publish.parts import charts_of
from pullbook.publish.rows import scatter_chart
from pullbook.publish.sheets import SHEETS, WIDE, Sheet, end_label
from pullbook.publish.stills import APPEARANCES, draw_still
from pullbook.publish.svg import picture
from pullbook.publish.telling import Telling
from pullbook.publish.typeset import typeset

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from pullbook.publish.chart import Chart, Panel
    from pullbook.records.result import SessionResult

RESULTS = {
    "four builds": make_result(),
    "eight builds": make_crowd(),
    "without bands": make_result(names="AB", findings=make_bandless_findings()),
    "relative": make_result(names="AB", findings=make_relative_findings()),
}
SVG = "{http://www.w3.org/2000/svg}"


def stacks(result: SessionResult) -> list[Chart]:
    telling = Telling(result=result)
    made = (torque_chart(telling), power_chart(telling), effects_chart(telling), scatter_chart(telling))
    return [chart for chart in made if chart is not None]


def axes_of(chart: Chart) -> dict[str, Axes]:
    return {str(axes.get_label()): axes for axes in draw_still(chart, APPEARANCES[0]).axes}


def traces(figure: dict[str, Any], panel: Panel, part: str) -> list[dict[str, Any]]:
    return [t for t in figure["data"] if t["meta"]["panel"] == panel.key and t["meta"]["part"] == part]


@pytest.mark.parametrize("name", list(RESULTS))
def test_plotly_and_matplotlib_draw_the_same_curves(name: str) -> None:
    for chart in stacks(RESULTS[name]):
        figure, stills = plotly_figure(chart), axes_of(chart)
        for panel in chart.panels:
            drawn = [line for line in stills[panel.key].get_lines() if str(line.get_gid()).startswith("line:")]
            shown = traces(figure, panel, "line")
            assert len(drawn) == len(shown) == len(panel.lines) > 0
            for still, trace, line in zip(drawn, shown, panel.lines, strict=True):
                y = np.array([np.nan if value is None else value for value in trace["y"]])
                np.testing.assert_allclose(y, np.asarray(still.get_ydata(), dtype=float), rtol=1e-6)
                np.testing.assert_allclose(trace["x"], np.asarray(still.get_xdata(), dtype=float), rtol=1e-6)
                np.testing.assert_array_equal(still.get_ydata(), line.y)


@pytest.mark.parametrize("name", list(RESULTS))
def test_plotly_and_matplotlib_have_the_same_ranges_ticks_and_titles(name: str) -> None:
    for chart in stacks(RESULTS[name]):
        figure, stills = plotly_figure(chart), axes_of(chart)
        layout = figure["layout"]
        titles = {
            json.loads(note["name"])[1]: note["text"] for note in layout["annotations"] if "title" in note["name"]
        }
        for number, panel in enumerate(chart.panels, start=1):
            axis = layout["yaxis" if number == 1 else f"yaxis{number}"]
            still = stills[panel.key]
            assert axis["range"] == pytest.approx(still.get_ylim())
            assert layout["xaxis"]["range"] == pytest.approx(still.get_xlim())
            assert axis["tickvals"] == pytest.approx(list(still.get_yticks()))
            assert [typeset(text) for text in axis["ticktext"]] == [t.get_text() for t in still.get_yticklabels()]
            words = [text.get_text() for text in still.texts]
            assert panel.title in words
            assert panel.title in titles[panel.key].replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")


def test_plotly_and_matplotlib_label_the_same_curves() -> None:
    for chart in stacks(RESULTS["four builds"]):
        figure, stills = plotly_figure(chart), axes_of(chart)
        for panel in chart.panels:
            notes = [n for n in figure["layout"]["annotations"] if json.loads(n["name"])[:2] == ["label", panel.key]]
            labels = [t.get_text() for t in stills[panel.key].texts if str(t.get_gid()).startswith("label:")]
            assert [note["text"].removeprefix("<b>").removesuffix("</b>") for note in notes] == labels


def test_all_three_draw_as_many_bands_markers_and_curves() -> None:
    for chart in stacks(RESULTS["eight builds"]):
        figure, stills = plotly_figure(chart), axes_of(chart)
        root = ET.fromstring(picture(chart, WIDE, "u"))  # noqa: S314 - our own text
        groups = {group.get("data-panel"): group for group in root.iter("g") if group.get("data-panel")}
        for panel in chart.panels:
            group = groups[panel.key]
            classes = [str(use.get("class")) for use in group.iter("use")]
            fills = [c for c in stills[panel.key].collections if str(c.get_gid()).startswith("band:")]
            assert len(traces(figure, panel, "band")) == 2 * len(panel.bands)
            assert len(fills) == len(panel.bands)
            assert len(traces(figure, panel, "marker")) == len(panel.markers)
            assert len(list(group.iter("circle"))) == len(panel.markers)
            assert sum(css.startswith("l ") for css in classes) == len(panel.lines)
            assert sum(not css.startswith("l ") for css in classes) == len(panel.bands)


def test_zones_are_told_apart_without_colour_by_every_renderer() -> None:
    chart = torque_chart(Telling(result=RESULTS["four builds"]))
    panel = chart.panels[1]
    striped = [band for band in panel.bands if band.fill is Fill.STRIPED]
    assert striped
    filled = [t for t in traces(plotly_figure(chart), panel, "band") if "fill" in t]
    assert [("fillpattern" in t) for t in filled] == [band.fill is Fill.STRIPED for band in panel.bands]
    areas = [c for c in axes_of(chart)[panel.key].collections if str(c.get_gid()).startswith("band:")]
    assert [bool(area.get_hatch()) for area in areas] == [band.fill is Fill.STRIPED for band in panel.bands]
    assert 'fill="url(#u-stripes-1)"' in picture(chart, WIDE, "u")


@pytest.mark.parametrize("name", list(RESULTS))
def test_plotly_knows_every_property(name: str) -> None:
    for chart in stacks(RESULTS[name]):
        figure = json.loads(json.dumps(plotly_figure(chart), allow_nan=False).replace("ink:", "").replace("/0.", "0."))
        plain = json.loads(json.dumps(figure), object_hook=_without_inks)
        # The constructor raises ValueError on a property that it does not know.
        known = go.Figure({"data": plain["data"], "layout": plain["layout"]})
        assert len(known.data) == len(plain["data"])


def _without_inks(part: dict[str, Any]) -> dict[str, Any]:
    """Colours written for our script are no colours for plotly.py."""
    colours = {"color", "bgcolor", "fgcolor", "fillcolor", "gridcolor", "linecolor", "spikecolor", "bordercolor"}
    return {key: "black" if key in colours or key.endswith("_bgcolor") else value for key, value in part.items()}


def test_nothing_is_offered_for_sharing() -> None:
    assert CONFIG["showSendToCloud"] is False
    assert CONFIG["plotlyServerURL"] == ""
    assert CONFIG["displaylogo"] is False
    assert CONFIG["displayModeBar"] is False


def test_every_ink_of_a_figure_is_one_of_the_theme() -> None:
    text = json.dumps([plotly_figure(chart) for chart in stacks(RESULTS["eight builds"])])
    inks = {part.split('"')[0].split("/")[0] for part in text.split('"ink:')[1:]}
    assert inks
    assert inks <= {str(ink) for ink in Ink}
    assert set(DARK.colours) == set(Ink)


def test_hover_reads_the_band_with_the_digits_that_it_allows() -> None:
    chart = torque_chart(Telling(result=make_result(names="AB")))
    line = traces(plotly_figure(chart), chart.panels[1], "line")[0]
    # builders_findings at 5600 rpm, by hand: gain 9 - 6 exp(-6.53) = 8.991 N m; the baseline is 172 + 38 exp(-0.189)
    # = 203.46 N m and the half-width 1.1 % of it, 2.238 N m: 6.753 to 11.229.
    assert line["customdata"][line["x"].index(5600.0)] == "+9.0 (+6.8 to +11.2) N m"


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
@pytest.mark.parametrize("name", list(RESULTS))
def test_pictures_are_well_formed_named_and_described(name: str, sheet: Sheet) -> None:
    for key, chart in charts_of(Telling(result=RESULTS[name])).items():
        text = picture(chart, sheet, key)
        root = ET.fromstring(text.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" '))  # noqa: S314 - our own text
        assert root.get("role") == "img"
        title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None
        assert description is not None
        assert title.text == chart.title
        assert description.text == chart.says
        assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
        assert "nan" not in text.lower().replace("alternan", "")


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_direct_labels_of_eight_builds_do_not_touch(sheet: Sheet) -> None:
    chart = torque_chart(Telling(result=RESULTS["eight builds"]))
    root = ET.fromstring(picture(chart, sheet, "u"))  # noqa: S314 - our own text
    panel = next(group for group in root.iter("g") if group.get("data-panel") == "torque")
    names = sorted(float(str(text.get("y"))) for text in panel.iter("text") if text.get("class") == "name")
    assert len(names) == 8
    assert min(np.diff(names)) >= sheet.text * 1.1


def test_a_label_that_has_no_room_gives_way_to_the_name() -> None:
    assert end_label(WIDE, "B short runners", "B") == "B short runners"
    assert end_label(WIDE, "B " + "very " * 20 + "long", "B") == "B"


def test_names_of_the_user_are_text_in_every_picture() -> None:
    for chart in charts_of(Telling(result=RESULTS["eight builds"])).values():
        text = picture(chart, WIDE, "u")
        assert "<script" not in text
    assert HOSTILE in "".join(ET.fromstring(picture(chart, WIDE, "u")).itertext())  # noqa: S314 - our own text
