"""The pipes of an engine on paper: to scale, nothing on top of another, the same bytes each time."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from matplotlib.patches import Polygon

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.templates import TEMPLATES, template_text
from pullbook.publish.engine_drawing import draw_engine, engine_drawing
from pullbook.publish.engine_labels import labels_of, rows_of
from pullbook.publish.engine_places import place_network
from pullbook.publish.stills import APPEARANCES
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.publish.engine_places import Leg
    from pullbook.publish.stills import Appearance

LAYOUTS = {
    "4-2-1": '[[header]]\nlayout = "4-2-1"\n',
    "log": '[[header]]\nlayout = "log"\n',
    "individual": '[[header]]\nlayout = "individual"\n[intake]\nlayout = "individual"\n[air_box]\nvolume = "6 L"\n',
    "h": '[engine]\ncylinders = 8\n[exhaust]\njoined = "h"\nmiddle = { length = "600 mm" }\n',
    "x": '[engine]\ncylinders = 8\n[exhaust]\njoined = "x"\nmiddle = { length = "600 mm" }\n',
    "chambers": '[[exhaust.silencer]]\nkind = "chamber"\nafter = "200 mm"\n[[exhaust.silencer]]\nkind = "reversed"\n',
    "free": '[engine]\ncylinders = 1\n[[network.pipe]]\nname = "a"\nfrom = "port 1"\nto = "open"\nlength = "500 mm"\n'
            'diameter = "40 mm"\n[[network.pipe]]\nname = "alone"\nfrom = "open"\nto = "closed"\nlength = "300 mm"\n'
            'diameter = "40 mm"\n',
}  # fmt: skip
ALL = {**{name: template_text(name) for name in TEMPLATES}, **LAYOUTS}


def network_of(name: str) -> Network:
    return build_network(parse_engine(ALL[name]))


def _length(leg: Leg) -> float:
    return math.dist(leg.start, leg.end)


@pytest.mark.parametrize("name", ALL)
def test_every_pipe_is_drawn_once_and_as_long_as_it_is(name: str) -> None:
    network = network_of(name)
    drawing = place_network(network)
    assert sorted(leg.pipe for leg in drawing.legs) == list(range(len(network.pipes)))
    for leg in drawing.legs:
        if not leg.link:
            assert _length(leg) == pytest.approx(network.pipes[leg.pipe].length)


@pytest.mark.parametrize("name", ALL)
def test_no_pipe_lies_on_another(name: str) -> None:
    network = network_of(name)
    legs = [leg for leg in place_network(network).legs if not leg.link]
    for one, other in itertools.combinations(legs, 2):
        over = min(max(one.start[0], one.end[0]), max(other.start[0], other.end[0])) - max(
            min(one.start[0], one.end[0]), min(other.start[0], other.end[0])
        )
        if over > 1e-9:
            room = abs(one.start[1] - other.start[1])
            first, second = (max(d for _, d in network.pipes[leg.pipe].stations) for leg in (one, other))
            assert room > 0.5 * (first + second) - 1e-9, (network.pipes[one.pipe].name, network.pipes[other.pipe].name)


def test_only_what_joins_two_places_of_one_distance_is_drawn_as_a_link() -> None:
    links = {}
    for name in ALL:
        network = network_of(name)
        links[name] = {network.pipes[leg.pipe].name for leg in place_network(network).legs if leg.link}
    assert links == {name: set() for name in ALL} | {"log": {"log 1", "log 2", "log 3"}, "h": {"cross pipe"}}


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("system", list(UnitSystem))
def test_no_label_lies_on_another_and_no_pole_goes_through_a_text(name: str, system: UnitSystem) -> None:
    network = network_of(name)
    labels = list(labels_of(network, place_network(network), system))
    rows = rows_of(labels, lambda x: 900.0 + 350.0 * x)
    assert sum(map(len, rows)) == len(labels) > 3
    placed = [(len(rows) - row, pole, label.width) for row, some in enumerate(rows) for label, pole in some]
    for (row, pole, width), (other_row, other_pole, _) in itertools.permutations(placed, 2):
        if pole < other_pole <= pole + width:  # the other pole stands under this flag, so it has to end below it
            assert other_row < row


def test_labels_tell_the_declared_lengths() -> None:
    network = network_of("inline-four")
    told = {label.name: label.size for label in labels_of(network, place_network(network), UnitSystem.METRIC)}
    assert told["primary"] == "640 \u00d7 \u2300 40 mm"
    assert told["runner"] == "300 \u00d7 \u2300 48 to 44 mm"
    assert told["silencer"] == "450 \u00d7 \u2300 60 in 150 mm"
    assert told["plenum"] == "5 L"
    us = {label.name: label.size for label in labels_of(network, place_network(network), UnitSystem.US)}
    assert us["primary"] == "25.20 \u00d7 \u2300 1.57 in"  # 640 / 25.4, 40 / 25.4


@pytest.mark.parametrize("name", ["inline-four", "h"])
@pytest.mark.parametrize("appearance", APPEARANCES, ids=lambda one: one.name)
def test_text_stays_on_the_paper(name: str, appearance: Appearance) -> None:
    figure = draw_engine(network_of(name), "A name of usual length: pipes to scale", appearance)
    wide, tall = figure.get_size_inches() * figure.dpi
    for text in figure.axes[0].texts:
        box = text.get_window_extent()
        assert box.x0 >= 0.0, text.get_text()
        assert box.x1 <= wide, text.get_text()
        assert box.y0 >= 0.0, text.get_text()
        assert box.y1 <= tall, text.get_text()


def test_a_tube_on_the_paper_has_the_measure_of_the_rule() -> None:
    axes = draw_engine(network_of("inline-four"), "x", APPEARANCES[0]).axes[0]
    text = next(text for text in axes.texts if text.get_text() == "500 mm")
    lines = [np.asarray(line.get_xydata()) for line in axes.lines]
    low = text.get_position()[1] + 20.0
    level = [points for points in lines if np.ptp(points[:, 1]) == 0.0 and points[0, 1] < low]
    rule = max(level, key=lambda points: float(np.ptp(points[:, 0])))
    metre = float(np.ptp(rule[:, 0])) / 0.5
    tubes = [np.asarray(patch.get_path().vertices) for patch in axes.patches if isinstance(patch, Polygon)]
    sizes = {tuple(np.round(np.ptp(tube, axis=0) / metre, 4)) for tube in tubes}
    # Runner of 340 mm and 46 mm at its mouth, collector of 350 by 57, tailpipe of 700 by 60; width by height.
    assert {(0.3, 0.048), (0.35, 0.057), (0.7, 0.06)} <= sizes


def test_the_same_engine_gives_the_same_bytes() -> None:
    first, second = (engine_drawing(network_of("single"), "x", APPEARANCES[0], kind="svg") for _ in range(2))
    assert first == second
    assert first.startswith(b"<?xml")
    assert engine_drawing(network_of("single"), "x", APPEARANCES[1], kind="png").startswith(b"\x89PNG")
