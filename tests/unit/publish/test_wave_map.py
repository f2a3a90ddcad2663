"""The wave map: pipes from the valves to the open air, fronts as lines, labels that keep clear of each other."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from engines import engine, network_of, run
from matplotlib.text import Text

from pullbook.engine.reflection_records import port_reflections
from pullbook.engine.waves import Track
from pullbook.publish.stills import APPEARANCES
from pullbook.publish.wave_map import draw_wave_map, wave_map
from pullbook.publish.wave_map_chain import Link, chain_of, wrapped

if TYPE_CHECKING:
    from matplotlib.figure import Figure

CASES = (
    ("single", 3000.0, 0),
    ("inline-four", 3000.0, 0),
    ("v8-cross-plane", 3000.0, 0),
    ("v8-cross-plane", 6000.0, 2),
)


def figure_of(name: str, speed_rpm: float, cylinder: int) -> Figure:
    _, settled = run(name, speed_rpm, 0.02, waves=True)
    return draw_wave_map(settled, engine(name).block.name, APPEARANCES[0], cylinder=cylinder)


def texts(figure: Figure) -> list[Any]:
    """All labels beside and on the maps."""
    return [text for axes in figure.axes for text in axes.texts if text.get_text()]


@pytest.mark.parametrize(("name", "speed_rpm", "cylinder"), CASES)
def test_no_label_lies_upon_another_or_leaves_the_picture(name: str, speed_rpm: float, cylinder: int) -> None:
    figure = figure_of(name, speed_rpm, cylinder)
    figure.canvas.draw()  # puts annotations where they belong
    whole = figure.bbox
    # An annotation's own extent has its arrow in it; what counts is the text.
    boxes = [(text.get_text(), Text.get_window_extent(text)) for text in [*figure.texts, *texts(figure)]]
    assert len(boxes) > 12
    for text, box in boxes:
        assert whole.containsx(box.x0), text
        assert whole.containsx(box.x1), text
        assert whole.containsy(box.y0), text
        assert whole.containsy(box.y1), text
    upon = [(first, second) for (first, a), (second, b) in combinations(boxes, 2) if a.overlaps(b)]
    assert upon == []


def test_each_strong_reflection_of_the_cylinder_is_labelled_with_its_share_and_angle() -> None:
    _, settled = run("inline-four", 3000.0, 0.02, waves=True)
    labels = {text.get_text().replace("\u2212", "-") for text in texts(figure_of("inline-four", 3000.0, 0))}
    exhaust = next(one for one in port_reflections(settled) if (one.cylinder, one.side) == (1, "exhaust"))
    merge = exhaust.arrivals[0]
    assert f"-0.75, back at {merge.own_angle_deg:.0f}°" in labels
    assert {f"+0.25 from {number}" for number in (2, 3, 4)} <= labels
    assert any(label.startswith("up to -0.14, back near") for label in labels)
    assert {"merge into collector", "inlet of silencer 1, collector", "open end of the tailpipe", "plenum"} <= labels


def test_fronts_turn_where_the_map_has_the_place_that_sends_them_back() -> None:
    exhaust = figure_of("v8-cross-plane", 3000.0, 0).axes[2]
    lines = [np.asarray(line.get_xydata()) for line in exhaust.lines if len(np.asarray(line.get_xydata())) > 2]
    farthest = sorted({round(float(np.nanmax(line[:, 1]))) for line in lines})
    # The merge is 940 mm from the valves; the extension ends at 1511 mm and its end correction.
    assert 940 in farthest
    assert farthest[-1] == pytest.approx(1511.0 + 0.6133 * 73.7 / 2.0, abs=1.5)
    assert all(np.nanmin(line[:, 0]) >= 0.0 and np.nanmax(line[:, 0]) <= 720.0 for line in lines)


def test_the_chain_of_a_cylinder_leads_through_the_merge_to_the_open_end() -> None:
    network = network_of("inline-four")
    chain = chain_of(network, network.index("primary 3"), starts=True)
    assert [network.pipes[link.pipe].name for link in chain.links] == ["primary 3", "collector"]
    assert chain.links[1].offset == pytest.approx(0.72)
    assert ("merge into collector", 0.72) in [(name, round(where, 6)) for name, where in chain.places]
    intake = chain_of(network, network.index("runner 1"), starts=False)
    assert not intake.links[0].forward
    name, distance = intake.places[-1]
    assert name == "plenum"
    assert distance == pytest.approx(0.39)


def test_a_line_is_broken_where_it_leaves_the_cycle() -> None:
    link = Link(pipe=0, offset=0.5, length=1.0, forward=False)
    track = Track(angle_deg=np.array([700.0, 740.0]), distance=np.array([1.0, 0.0]), stopped=False)
    angle, distance = wrapped(track, link)
    assert angle == pytest.approx([700.0, 720.0, np.nan, 0.0, 20.0, np.nan], nan_ok=True)
    assert distance == pytest.approx([0.5, 1.0, np.nan, 1.0, 1.5, np.nan], nan_ok=True)


@pytest.mark.parametrize(("kind", "begins"), [("png", b"\x89PNG"), ("pdf", b"%PDF"), ("svg", b"<?xml")])
def test_it_is_written_as_png_pdf_and_svg_and_twice_the_same(kind: str, begins: bytes) -> None:
    _, settled = run("single", 3000.0, 0.02, waves=True)
    first, second = (wave_map(settled, "Single", APPEARANCES[1], kind=kind) for _ in range(2))
    assert first.startswith(begins)
    assert first == second
