"""Silencers spelt out: slices around a perforated tube, a wide pipe, a way back."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layout_silencers import wool_resistance
from pullbook.engine.layouts import build_network
from pullbook.engine.network_ends import END, START, JoinEnd

if TYPE_CHECKING:
    from pullbook.engine.network import Network

FOUR = '[engine]\nbore = "86 mm"\n[exhaust_port]\ndiameter = "39 mm"\n'
HEADER = '[[header]]\nprimary = { length = "760 mm", diameter = "41 mm" }\n'


def network_of(text: str) -> Network:
    return build_network(parse_engine(text))


def test_a_straight_through_silencer_is_cut_into_slices_of_its_annulus() -> None:
    silencer = '[[exhaust.silencer]]\nlength = "400 mm"\ndiameter = "60 mm"\nshell = "150 mm"\nporosity = "27 %"\n'
    network = network_of(FOUR + HEADER + silencer)
    assert len(network.perforates) == 8  # slices of 50 mm
    content = sum(network.volumes[one.volume].volume for one in network.perforates)
    annulus = math.pi / 4 * (0.150**2 - 0.060**2) * 0.400
    assert 0.9 * annulus < content < annulus  # wool takes some of it
    holes = sum(one.open_area for one in network.perforates)
    assert holes == pytest.approx(0.27 * math.pi * 0.060 * 0.400)
    stretch = [one.start for one in network.perforates] + [network.perforates[-1].end]
    assert stretch == pytest.approx([stretch[0] + 0.05 * number for number in range(9)])
    assert all(network.volumes[one.volume].isothermal for one in network.perforates)


def test_resistance_of_wool_is_that_of_radial_flow_to_its_middle() -> None:
    # 10 kPa s/m2 from 25 mm to the radius that halves the wool's volume, 45.96 mm: sigma r ln(rm / r), by hand.
    middle = math.sqrt((0.025**2 + 0.060**2) / 2)
    assert wool_resistance(10e3, 0.050, 0.120) == pytest.approx(10e3 * 0.025 * math.log(middle / 0.025))
    thin = wool_resistance(10e3, 0.100, 0.102)  # a thin layer is flat: half of its depth of 1 mm
    assert thin == pytest.approx(10e3 * 0.5e-3, rel=0.02)


def test_an_expansion_chamber_is_a_wide_pipe_between_two_steps() -> None:
    silencer = '[[exhaust.silencer]]\nkind = "chamber"\nlength = "500 mm"\ndiameter = "50 mm"\nshell = "150 mm"\n'
    network = network_of(FOUR + HEADER + silencer)
    chamber = network.index("chamber of silencer 1, collector")
    stations = network.pipes[chamber].stations
    assert [x for x, _ in stations] == pytest.approx([0.0, 0.500])
    assert [d for _, d in stations] == pytest.approx([0.150, 0.150])
    for end in (START, END):
        fixed = network.end_of(chamber, end)
        assert isinstance(fixed, JoinEnd)
        assert len(network.members(fixed.join)) == 2
    assert network.perforates == ()


def test_reversed_flow_goes_three_times_through_the_shell() -> None:
    silencer = '[[exhaust.silencer]]\nkind = "reversed"\nlength = "400 mm"\ndiameter = "50 mm"\nshell = "150 mm"\n'
    before, after = network_of(FOUR + HEADER), network_of(FOUR + HEADER + silencer)
    assert sum(pipe.length for pipe in after.pipes) - sum(pipe.length for pipe in before.pipes) == pytest.approx(1.2)
    room = after.pipes[after.index("way back in silencer 1, collector")]
    # What two tubes leave of the shell's area: 150^2 - 2 x 50^2 = 17500 = 132.29^2
    assert room.stations[0][1] == pytest.approx(0.13229, rel=1e-4)


def test_between_two_silencers_there_is_always_some_pipe() -> None:
    # Two perforated stretches that touched would be taken for one silencer.
    two = '[[exhaust.silencer]]\nlength = "300 mm"\n[[exhaust.silencer]]\nlength = "200 mm"\n'
    spec = parse_engine(FOUR + HEADER + two)
    assert {one.key: one.value for one in spec.assumed}["exhaust.silencer[1].after"] == "100 mm"
    holes = build_network(spec).perforates
    gap = [after.start - before.end for before, after in pairwise(holes)]
    assert max(gap) == pytest.approx(0.1)
    assert holes[-1].end - holes[0].start == pytest.approx(0.6)
