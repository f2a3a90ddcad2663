"""Pipes that are declared freely: what their ends are fixed to, and which shorthand they replace."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.network_ends import END, START, ClosedEnd, JoinEnd, OpenEnd, ValveEnd, VolumeEnd

if TYPE_CHECKING:
    from pullbook.engine.network import Network


def network_of(text: str) -> Network:
    return build_network(parse_engine(text))


def names(network: Network, start: str) -> list[str]:
    return [pipe.name for pipe in network.pipes if pipe.name.startswith(start)]


def joined(network: Network, join: int) -> set[str]:
    return {network.pipes[one.pipe].name for one in network.members(join)}


FREE = """
[engine]
cylinders = 2
[[network.pipe]]
name = "left"
from = "port 1"
to = "pot"
to_angle = "30 deg"
length = "600 mm"
diameter = "38 mm"
[[network.pipe]]
name = "right"
from = "cylinder 2"
to = "pot"
length = "600 mm"
diameter = "38 mm"
[[network.pipe]]
name = "tail"
to = "open"
at = "0 200 500 mm"
diameters = "50 50 80 mm"
[[network.pipe]]
name = "branch"
to = "closed"
from = "volume side"
length = "300 mm"
diameter = "30 mm"
[[network.join]]
name = "pot"
pipes = ["tail start"]
[[network.volume]]
name = "side"
volume = "0.5 L"
"""


def test_a_free_network_replaces_the_shorthand_of_its_side_only() -> None:
    network = network_of(FREE)
    assert [pipe.name for pipe in network.pipes if pipe.side == "exhaust"] == ["left", "right", "tail", "branch"]
    assert len(names(network, "runner")) == 2
    assert joined(network, 0) == {"left", "right", "tail"}


def test_a_free_pipe_from_a_port_has_the_port_before_it() -> None:
    network = network_of(FREE + '[exhaust_port]\nlength = "75 mm"\n')
    left, right = network.pipes[network.index("left")], network.pipes[network.index("right")]
    assert left.length == pytest.approx(0.675)
    assert right.length == pytest.approx(0.600)
    assert network.end_of(network.index("left"), START) == ValveEnd(cylinder=0, valve_set=1)


def test_free_ends_are_fixed_to_what_their_words_say() -> None:
    network = network_of(FREE)
    branch, tail = network.index("branch"), network.index("tail")
    side = network.end_of(branch, START)
    assert isinstance(side, VolumeEnd)
    assert network.volumes[side.volume].name == "side"
    assert isinstance(network.end_of(branch, END), ClosedEnd)
    assert isinstance(network.end_of(tail, END), OpenEnd)
    assert network.end_of(network.index("left"), END) == JoinEnd(join=0, angle_deg=30.0)
    stations = network.pipes[tail].stations
    assert [x for x, _ in stations] == pytest.approx([0.0, 0.2, 0.5])
    assert [d for _, d in stations] == pytest.approx([0.05, 0.05, 0.08])


def test_a_free_intake_may_lead_into_a_port() -> None:
    text = """
    [engine]
    cylinders = 1
    [[network.pipe]]
    name = "trumpet"
    side = "intake"
    from = "open"
    to = "port 1"
    length = "250 mm"
    diameter = "44 mm"
    """
    network = network_of(text)
    trumpet = network.index("trumpet")
    assert network.end_of(trumpet, END) == ValveEnd(cylinder=0, valve_set=0)
    assert network.pipes[trumpet].length == pytest.approx(0.340)  # port of 90 mm behind it
    assert len(names(network, "primary")) == 1
