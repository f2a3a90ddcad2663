"""Shorthand spelt out: which pipes there are, how long they are, and what they are fixed to."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.network_ends import END, START, JoinEnd, OpenEnd, ValveEnd, VolumeEnd
from pullbook.errors import EngineFileError

if TYPE_CHECKING:
    from pullbook.engine.network import Network

FOUR = '[engine]\nbore = "86 mm"\nstroke = "94.6 mm"\n[exhaust_port]\nlength = "80 mm"\ndiameter = "39 mm"\n'
EIGHT = "[engine]\ncylinders = 8\n"
PIPES = 'primary = { length = "760 mm", diameter = "41 mm" }\n'
HEADER = f"[[header]]\n{PIPES}"


def network_of(text: str) -> Network:
    return build_network(parse_engine(text))


def names(network: Network, start: str) -> list[str]:
    return [pipe.name for pipe in network.pipes if pipe.name.startswith(start)]


def joined(network: Network, join: int) -> set[str]:
    return {network.pipes[one.pipe].name for one in network.members(join)}


def test_four_into_one_joins_four_primaries_and_one_collector() -> None:
    network = network_of(FOUR + HEADER + 'layout = "4-1"\n')
    assert [joined(network, number) for number in range(len(network.joins))] == [
        {"primary 1", "primary 2", "primary 3", "primary 4", "collector"}
    ]


def test_a_primary_has_the_declared_length_behind_the_port() -> None:
    network = network_of(FOUR + HEADER)
    primary = network.pipes[network.index("primary 1")]
    assert primary.length == pytest.approx(0.080 + 0.760)
    assert primary.stations[-1] == pytest.approx((0.840, 0.041))


def test_a_merge_begins_with_the_area_of_all_pipes_that_join() -> None:
    network = network_of(FOUR + HEADER + 'merge = { length = "110 mm", outlet = "57 mm" }\ncollector = '
                         '{ length = "350 mm", diameter = "57 mm" }\n')  # fmt: skip
    stations = network.pipes[network.index("collector")].stations
    assert stations[0] == pytest.approx((0.0, 2 * 0.041))  # four areas of 41 mm are one of 82 mm
    assert stations[1] == pytest.approx((0.110, 0.057))
    assert stations[2] == pytest.approx((0.460, 0.057))


def test_four_two_one_joins_the_cylinders_that_fire_farthest_apart_first() -> None:
    network = network_of(FOUR + HEADER + 'layout = "4-2-1"\n')  # 1-3-4-2: 1 and 4 are 360 degrees apart
    joins = [joined(network, number) for number in range(len(network.joins))]
    assert joins == [
        {"primary 1", "primary 4", "secondary a"},
        {"primary 3", "primary 2", "secondary b"},
        {"secondary a", "secondary b", "collector"},
    ]


def test_declared_groups_of_four_two_one_are_kept() -> None:
    network = network_of(FOUR + HEADER + 'layout = "4-2-1"\ngroups = [[1, 2], [3, 4]]\n')
    assert joined(network, 0) == {"primary 1", "primary 2", "secondary a"}


def test_individual_pipes_end_in_the_open_without_a_join() -> None:
    network = network_of(
        FOUR + HEADER + 'layout = "individual"\nmegaphone = { length = "300 mm", end_diameter = "70 mm" }'
    )
    assert network.joins == ()
    for number in range(1, 5):
        pipe = network.index(f"primary {number}")
        assert isinstance(network.end_of(pipe, END), OpenEnd)
        assert network.pipes[pipe].length == pytest.approx(0.080 + 0.760 + 0.300)
        assert network.pipes[pipe].stations[-1][1] == pytest.approx(0.070)


def test_a_log_is_a_row_of_joins_that_primaries_enter_from_the_side() -> None:
    network = network_of(FOUR + HEADER + 'layout = "log"\nspacing = "95 mm"\n')
    assert [joined(network, number) for number in range(4)] == [
        {"primary 1", "log 1"},
        {"primary 2", "log 1", "log 2"},
        {"primary 3", "log 2", "log 3"},
        {"primary 4", "log 3", "collector"},
    ]
    assert [network.pipes[network.index(f"log {n}")].length for n in (1, 2, 3)] == [pytest.approx(0.095)] * 3
    primary = network.end_of(network.index("primary 2"), END)
    assert isinstance(primary, JoinEnd)
    assert primary.angle_deg == 90.0


def test_eight_cylinders_get_a_header_for_each_bank() -> None:
    network = network_of(EIGHT)
    assert joined(network, 0) == {"primary 1", "primary 3", "primary 5", "primary 7", "collector 1"}
    assert joined(network, 1) == {"primary 2", "primary 4", "primary 6", "primary 8", "collector 2"}


AFTER = 'middle = { length = "500 mm" }\n'


def test_an_x_pipe_joins_both_systems_at_one_place() -> None:
    network = network_of(EIGHT + f'[exhaust]\njoined = "x"\n{AFTER}')
    assert joined(network, 2) == {"collector 1", "collector 2", "exhaust 1", "exhaust 2"}
    assert len(names(network, "exhaust")) == 2


def test_an_h_pipe_joins_both_systems_by_a_cross_pipe() -> None:
    network = network_of(EIGHT + f'[exhaust]\njoined = "h"\n{AFTER}crossover = {{ length = "250 mm" }}\n')
    assert joined(network, 2) == {"collector 1", "exhaust 1", "cross pipe"}
    assert joined(network, 3) == {"collector 2", "exhaust 2", "cross pipe"}
    assert network.pipes[network.index("cross pipe")].length == pytest.approx(0.250)


def test_a_y_pipe_leaves_one_open_end() -> None:
    network = network_of(EIGHT + f'[exhaust]\njoined = "y"\n{AFTER}')
    opened = [
        one for one in network.attachments if isinstance(one.to, OpenEnd) and network.pipes[one.pipe].side == "exhaust"
    ]
    assert [network.pipes[one.pipe].name for one in opened] == ["exhaust"]


@pytest.mark.parametrize("joined_by", ["x", "y", "h"])
def test_a_crossing_with_nothing_behind_it_is_refused(joined_by: str) -> None:
    with pytest.raises(EngineFileError, match="nothing follows") as raised:
        network_of(EIGHT + f'[exhaust]\njoined = "{joined_by}"\n')
    assert "exhaust.joined" in str(raised.value)


def test_a_small_step_becomes_a_cone_and_a_large_one_a_join() -> None:
    small = network_of(FOUR + HEADER + 'extension = { length = "300 mm", diameter = "60 mm" }\n'
                       'collector = { length = "300 mm", diameter = "57 mm" }\n')  # fmt: skip
    large = network_of(FOUR + HEADER + 'extension = { length = "300 mm", diameter = "76 mm" }\n'
                       'collector = { length = "300 mm", diameter = "57 mm" }\n')  # fmt: skip
    assert len(large.joins) == len(small.joins) + 1
    assert sum(pipe.length for pipe in large.pipes) == pytest.approx(sum(pipe.length for pipe in small.pipes))


def test_runners_lead_from_the_plenum_to_the_intake_valves() -> None:
    network = network_of(FOUR + '[runners]\nlengths = "300 310 320 330 mm"\n[intake_port]\nlength = "90 mm"\n')
    for number in range(1, 5):
        pipe = network.index(f"runner {number}")
        start, end = network.end_of(pipe, START), network.end_of(pipe, END)
        assert isinstance(start, VolumeEnd)
        assert network.volumes[start.volume].name == "plenum"
        assert end == ValveEnd(cylinder=number - 1, valve_set=0)
        assert network.pipes[pipe].length == pytest.approx(0.090 + 0.290 + 0.010 * number)


def test_a_half_open_throttle_lets_half_as_much_through() -> None:
    areas = []
    for opening in (100, 50):
        network = network_of(FOUR + f'[throttle]\ndiameter = "60 mm"\nopening = "{opening} %"\ndischarge = 0.9\n')
        end = network.end_of(network.index("throttle"), END)
        assert isinstance(end, VolumeEnd)
        areas.append(end.area_in)
    assert areas[0] == pytest.approx(0.9 * math.pi / 4 * 0.060**2)
    assert areas[1] == pytest.approx(areas[0] / 2)


def test_individual_throttles_that_are_not_wide_open_are_orifices() -> None:
    wide, half = (
        network_of(FOUR + f'[intake]\nlayout = "individual"\n[throttle]\ndiameter = "45 mm"\nopening = "{opening} %"\n')
        for opening in (100, 50)
    )
    assert wide.volumes == ()
    assert len(names(wide, "throttle")) == 0
    assert [volume.name for volume in half.volumes] == [f"behind throttle {number}" for number in range(1, 5)]
    end = half.end_of(half.index("throttle 1"), END)
    assert isinstance(end, VolumeEnd)
    assert end.area_in == pytest.approx(0.5 * 0.9 * math.pi / 4 * 0.045**2)


def test_an_air_box_stands_before_the_throttle() -> None:
    network = network_of(FOUR + '[air_box]\nvolume = "6 L"\n')
    start, inlet = network.end_of(network.index("throttle"), START), network.end_of(network.index("air inlet"), END)
    assert isinstance(start, VolumeEnd)
    assert isinstance(inlet, VolumeEnd)
    assert start.volume == inlet.volume
    assert network.volumes[start.volume].volume == pytest.approx(6e-3)


def test_an_open_end_is_longer_by_the_end_correction() -> None:
    # Levine and Schwinger 1948: 0.6133 radii; 12.27 mm at a radius of 20 mm.
    tail = '[exhaust]\ntailpipe = { length = "500 mm", diameter = "40 mm" }\n'
    network = network_of(FOUR + HEADER + tail)
    last = next(one.pipe for one in network.attachments
                if isinstance(one.to, OpenEnd) and network.pipes[one.pipe].side == "exhaust")  # fmt: skip
    longer = network.sounding_stations(last)[-1][0] - network.pipes[last].length
    assert longer == pytest.approx(12.27e-3, abs=0.005e-3)
