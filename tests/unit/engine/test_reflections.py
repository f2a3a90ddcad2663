"""Fronts in gas whose answer is known by hand: times, places, and what linear acoustics says comes back."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from reflection_cases import EXHAUST_VALVE, SOUND, follow_from, network, pipe, still

from pullbook.engine.network_ends import AnechoicEnd, ClosedEnd, End, JoinEnd, OpenEnd, Side, ValveEnd, VolumeEnd
from pullbook.engine.network_pipes import Perforate, Volume, Wall
from pullbook.engine.reflection_fronts import front_of
from pullbook.engine.reflection_records import recorded
from pullbook.records.reflections import FAINTEST, PlaceKind, ValvesState, Wave, WaveArrival

if TYPE_CHECKING:
    from pullbook.engine.network import Network

DEG_PER_SECOND = 18000.0
OPEN = OpenEnd(loss_in=0.9, loss_out=0.0, correction=0.0)


def told(net: Network, velocity: float = 0.0, angle_deg: float = 100.0) -> list[WaveArrival]:
    """What arrives, strongest first."""
    arrivals, stops = follow_from(net, still(net, velocity), angle_deg)
    assert stops == ()
    return sorted((recorded(net, one) for one in arrivals), key=lambda one: -abs(one.coefficient))


def straight(end: End, length: float = 0.8) -> Network:
    """One pipe from the valves to an end."""
    return network([(pipe("primary 1", ("primary", length, 0.04, 0.04)), EXHAUST_VALVE, end)])


def stepped(ratio: float, end: End = OPEN) -> Network:
    """Pipe of 0.5 m whose area becomes so many times as large, and 0.3 m more."""
    wide = 0.04 * math.sqrt(ratio)
    return network(
        [
            (pipe("primary 1", ("primary", 0.5, 0.04, 0.04)), EXHAUST_VALVE, JoinEnd(join=0, angle_deg=0.0)),
            (pipe("tail", ("tailpipe", 0.3, wide, wide)), JoinEnd(join=0, angle_deg=180.0), end),
        ],
        ["tail"],  # two pipes that meet are told by their names
    )


# Standards 6.6: closed +1, open -1; area change R = (A1 - A2)/(A1 + A2) for A2/A1.
@pytest.mark.parametrize(("end", "sent", "kind"), [
    (OPEN, -1.0, PlaceKind.OPEN), (ClosedEnd(), 1.0, PlaceKind.CLOSED),
])  # fmt: skip
def test_an_end_sends_all_back_after_twice_the_length_over_the_speed_of_sound(
    end: End, sent: float, kind: PlaceKind
) -> None:
    (one,) = told(straight(end))
    assert one.travel_deg == pytest.approx(2.0 * 0.8 / SOUND * DEG_PER_SECOND, rel=1e-12)
    assert (one.coefficient, one.reflection, one.kind) == (sent, sent, kind)
    assert (one.distance, one.way) == pytest.approx((0.8, 1.6))
    assert one.wave is (Wave.SUCTION if sent < 0.0 else Wave.PRESSURE)


def test_flow_hastens_the_way_out_and_delays_the_way_back() -> None:
    (one,) = told(straight(OPEN), velocity=100.0)
    assert one.travel_deg == pytest.approx((0.8 / 600.0 + 0.8 / 400.0) * DEG_PER_SECOND, rel=1e-12)


def test_the_end_correction_delays_an_open_end_and_is_no_part_of_the_distance() -> None:
    (one,) = told(straight(OpenEnd(loss_in=0.9, loss_out=0.0, correction=0.02)))
    assert one.travel_deg == pytest.approx(2.0 * 0.82 / SOUND * DEG_PER_SECOND, rel=1e-12)
    assert one.distance == pytest.approx(0.8)


def test_an_anechoic_end_sends_nothing_back() -> None:
    assert told(straight(AnechoicEnd())) == []


@pytest.mark.parametrize(("ratio", "sent"), [(0.25, 0.6), (0.5, 1.0 / 3.0), (2.0, -1.0 / 3.0), (4.0, -0.6)])
def test_a_step_sends_back_and_passes_on_as_linear_acoustics_says(ratio: float, sent: float) -> None:
    end, step = sorted(told(stepped(ratio)), key=lambda one: -one.distance)
    assert step.coefficient == pytest.approx(sent, rel=1e-12)
    assert step.travel_deg == pytest.approx(2.0 * 0.5 / SOUND * DEG_PER_SECOND, rel=1e-12)
    assert (step.place, step.kind) == ("primary 1 to tail", PlaceKind.STEP)
    # Passed on out and back: 4 m / (1 + m)^2, standards 6.6: 0.64 and 0.88889.
    passed = {0.25: 0.64, 0.5: 0.88889, 2.0: 0.88889, 4.0: 0.64}[ratio]
    assert end.coefficient == pytest.approx(-passed, rel=1e-5)
    assert end.travel_deg == pytest.approx(2.0 * 0.8 / SOUND * DEG_PER_SECOND, rel=1e-12)
    assert end.path == ("primary 1", "primary 1 to tail", "tail", "open end of the tailpipe", "tail",
                        "primary 1 to tail", "primary 1")  # fmt: skip


def test_a_taper_counts_from_its_middle_and_with_the_areas_of_its_ends() -> None:
    net = network([(
        pipe("primary 1", ("primary", 0.4, 0.04, 0.04), ("megaphone", 0.2, 0.04, 0.08), ("tailpipe", 0.1, 0.08, 0.08)),
        EXHAUST_VALVE, AnechoicEnd(),
    )])  # fmt: skip
    (one,) = told(net)
    assert one.coefficient == pytest.approx(-0.6, rel=1e-12)
    assert one.travel_deg == pytest.approx(2.0 * 0.5 / SOUND * DEG_PER_SECOND, rel=1e-12)
    assert (one.place, one.kind) == ("taper of the megaphone", PlaceKind.TAPER)


def four_into_one() -> Network:
    """Four pipes of 0.6 m into a collector of their whole area and 0.9 m."""
    members = [
        (pipe(f"primary {c + 1}", ("primary", 0.6, 0.04, 0.04)), ValveEnd(cylinder=c, valve_set=1),
         JoinEnd(join=0, angle_deg=10.0))
        for c in range(4)
    ]  # fmt: skip
    away = (pipe("collector", ("collector", 0.9, 0.08, 0.08)), JoinEnd(join=0, angle_deg=180.0), OPEN)
    return network([*members, away], ["merge into collector"])


def test_a_merge_sends_back_three_quarters_and_a_quarter_into_each_idle_pipe() -> None:
    # Standards 6.6 with areas: -0.75 back, +0.25 into idle branches and collector; -0.25 after the open end.
    found = told(four_into_one())
    assert [(one.place, one.turned, round(one.coefficient, 12)) for one in found] == [
        ("merge into collector", True, -0.75),
        *[("merge into collector", False, 0.25)] * 3,
        *[("open end of the collector", True, -0.25)] * 4,
    ]
    merge, through, end = found[0], found[1], found[-1]
    assert merge.travel_deg == through.travel_deg == pytest.approx(1.2 / SOUND * DEG_PER_SECOND, rel=1e-12)
    assert end.travel_deg == pytest.approx(3.0 / SOUND * DEG_PER_SECOND, rel=1e-12)
    assert through.path == ("primary 1", "merge into collector", "primary 2")
    assert (merge.wave, through.wave, end.wave) == (Wave.SUCTION, Wave.PRESSURE, Wave.SUCTION)


def test_a_pulse_that_comes_to_another_cylinder_is_told_in_the_angles_of_that_cylinder() -> None:
    # Sets out at 100, is there 43.2 later; cylinder 2 of four fires at 180, its exhaust opens at 114.
    net = four_into_one()
    arrivals, _ = follow_from(net, still(net))
    one = recorded(net, next(a for a in arrivals if a.cylinder == 1 and not a.turned))
    assert one.own_angle_deg == pytest.approx((143.2 - 180.0) % 720.0)
    assert one.after_opening_deg == pytest.approx(143.2 - 180.0 - 114.0 + 720.0)
    assert (one.from_cylinder, one.valves) == (1, ValvesState.CLOSED)


@pytest.mark.parametrize(("arrives", "state"), [
    (150.0, ValvesState.OPEN), (330.0, ValvesState.OVERLAP), (393.0, ValvesState.OVERLAP), (395.0, ValvesState.CLOSED),
    (113.0, ValvesState.CLOSED),
])  # fmt: skip
def test_it_is_told_whether_the_valves_are_open_and_overlap(arrives: float, state: ValvesState) -> None:
    # The exhaust is open from 114 to 394, the intake from 322.
    (one,) = told(straight(OPEN), angle_deg=arrives - 57.6)
    assert one.own_angle_deg == pytest.approx(arrives)
    assert one.valves is state


def test_a_front_runs_on_beyond_the_end_of_the_cycle() -> None:
    (one,) = told(straight(OPEN), angle_deg=700.0)
    assert one.travel_deg == pytest.approx(57.6, rel=1e-12)
    assert one.own_angle_deg == pytest.approx(37.6)


def test_where_the_valves_are_at_the_end_of_the_pipe_all_is_told_from_them() -> None:
    # As an intake is laid: from the mouth to the valves, 80 mm, then 40 mm; the gas runs to the valves.
    net = network([
        (pipe("runner 1", ("bell", 0.3, 0.08, 0.08), ("cone", 0.02, 0.08, 0.04), ("runner", 0.5, 0.04, 0.04)), OPEN,
         EXHAUST_VALVE),
    ])  # fmt: skip
    arrivals, _ = follow_from(net, still(net, 100.0), starts=False)
    step, end = sorted((recorded(net, one) for one in arrivals), key=lambda one: one.distance)
    assert step.place == "step into the cone"
    assert step.distance == pytest.approx(0.51)
    assert step.coefficient == pytest.approx(-0.6)
    assert step.travel_deg == pytest.approx((0.51 / 400.0 + 0.51 / 600.0) * DEG_PER_SECOND, rel=1e-9)
    assert end.distance == pytest.approx(0.82)
    assert end.travel_deg == pytest.approx((0.82 / 400.0 + 0.82 / 600.0) * DEG_PER_SECOND, rel=1e-9)


def test_a_front_that_meets_gas_as_fast_as_itself_is_stopped_and_it_is_said_where() -> None:
    net = stepped(2.0)
    arrivals, (stop,) = follow_from(net, still(net, (0.0, -500.0)))
    assert [one.turn.distance for one in arrivals] == [0.5]
    assert (stop.pipe, stop.way, stop.turn) == (1, 0.5, None)
    assert stop.coefficient == pytest.approx(2.0 / 3.0)
    assert "speed of sound" in stop.reason


def test_a_front_that_is_older_than_two_cycles_is_given_up() -> None:
    _, (stop,) = follow_from(straight(OPEN, length=50.0), still(straight(OPEN, length=50.0)))
    assert "two cycles" in stop.reason


def test_the_mouth_of_a_volume_sends_back_as_an_open_end_and_passes_nothing_on() -> None:
    volume = Volume(name="plenum", side=Side.EXHAUST, volume=0.003, wall=Wall(temperature=300.0))
    mouth = VolumeEnd(volume=0, area_in=1e-3, area_out=1e-3)
    net = network(
        [
            (pipe("runner 1", ("runner", 0.4, 0.04, 0.04)), EXHAUST_VALVE, mouth),
            (pipe("runner 2", ("runner", 0.4, 0.04, 0.04)), mouth, ValveEnd(cylinder=1, valve_set=1)),
        ],
        volumes=[volume],
    )
    (one,) = told(net)
    assert (one.place, one.kind, one.coefficient) == ("plenum", PlaceKind.VOLUME, -1.0)


@pytest.mark.parametrize(("resistance", "k"), [(0.0, 2.0), (150.0, 4.0)])
def test_a_perforated_stretch_is_a_pipe_of_more_area_and_with_packing_a_slow_one(resistance: float, k: float) -> None:
    # Empty shell of the tube's own area: twice the area. Packed, three times the gas in it: sqrt(4) times, c / 2.
    isothermal = resistance > 0.0
    content = math.pi / 4.0 * 0.04**2 * 0.1
    slices = [
        Perforate(name=f"silencer 1, slice {n + 1}", pipe=0, start=0.4 + 0.1 * n, end=0.5 + 0.1 * n, volume=n,
                  open_area=1e-3, resistance=resistance)
        for n in range(2)
    ]  # fmt: skip
    shell = (k - 1.0) * content / (1.33 if isothermal else 1.0)
    volumes = [
        Volume(name=f"v{n}", side=Side.EXHAUST, volume=shell, wall=Wall(temperature=300.0), isothermal=isothermal)
        for n in range(2)
    ]
    tube = pipe("primary 1", ("primary", 0.4, 0.04, 0.04), ("silencer", 0.2, 0.04, 0.04), ("tailpipe", 0.1, 0.04, 0.04))
    inlet, outlet, end = sorted(
        told(network([(tube, EXHAUST_VALVE, OPEN)], volumes=volumes, perforates=slices)), key=lambda one: one.distance
    )
    assert (inlet.place, outlet.place) == ("inlet of silencer 1", "outlet of silencer 1")
    assert inlet.coefficient == pytest.approx(-1.0 / 3.0)
    assert outlet.coefficient == pytest.approx(8.0 / 9.0 / 3.0)
    assert end.coefficient == pytest.approx(-((8.0 / 9.0) ** 2))
    assert inlet.travel_deg == pytest.approx(0.8 / SOUND * DEG_PER_SECOND)
    assert [one.damped for one in (inlet, outlet, end)] == [False, isothermal, isothermal]
    inside = 0.4 / (0.5 * SOUND if isothermal else SOUND)
    assert end.travel_deg == pytest.approx((1.0 / SOUND + inside) * DEG_PER_SECOND)


def test_where_pipes_run_in_a_ring_the_first_arrivals_are_found_and_the_search_ends() -> None:
    # An h-pipe: two systems, a cross pipe, open ends; nothing stronger than the faintest is left out.
    net = network(
        [
            (pipe("primary 1", ("primary", 0.5, 0.04, 0.04)), EXHAUST_VALVE, JoinEnd(join=0, angle_deg=0.0)),
            (pipe("primary 2", ("primary", 0.5, 0.04, 0.04)), ValveEnd(cylinder=1, valve_set=1),
             JoinEnd(join=1, angle_deg=0.0)),
            (pipe("cross pipe", ("cross pipe", 0.2, 0.04, 0.04)), JoinEnd(join=0, angle_deg=90.0),
             JoinEnd(join=1, angle_deg=90.0)),
            (pipe("a", ("a", 0.3, 0.04, 0.04)), JoinEnd(join=0, angle_deg=180.0), JoinEnd(join=2, angle_deg=10.0)),
            (pipe("b", ("b", 0.3, 0.04, 0.04)), JoinEnd(join=1, angle_deg=180.0), JoinEnd(join=2, angle_deg=10.0)),
            (pipe("exhaust", ("tailpipe", 0.6, 0.04, 0.04)), JoinEnd(join=2, angle_deg=180.0), OPEN),
        ],
        ["h 1", "h 2", "y"],
    )  # fmt: skip
    arrivals, stops = follow_from(net, still(net))
    assert stops == ()
    assert all(abs(one.coefficient) >= FAINTEST for one in arrivals)
    across = next(one for one in arrivals if one.cylinder == 1 and not one.turned)
    # Twice through a three-way join of equal pipes: (2/3)^2.
    assert across.coefficient == pytest.approx(4.0 / 9.0)
    assert across.angle_deg == pytest.approx(100.0 + 1.2 / SOUND * DEG_PER_SECOND)
    assert recorded(net, across).path == ("primary 1", "h-pipe 1", "cross pipe", "h-pipe 2", "primary 2")
    keys = [(one.cylinder, one.turned, one.turn.pipe, one.turn.place) for one in arrivals]
    assert len(keys) == len(set(keys))


def test_a_front_passes_when_three_tenths_of_the_change_are_made() -> None:
    # The pressure that runs out rises in a straight line by 20 kPa from 120 to 160 degrees: 3/10 at 132.
    waves = still(straight(OPEN))(0)
    angles = waves.angle_deg
    half = np.interp(angles, [0.0, 120.0, 160.0, 200.0, 720.0], [0.0, 0.0, 2e4, 0.0, 0.0])
    waves.pressure[0] += half
    waves.velocity[0] += half / (0.5 * SOUND)
    assert front_of(waves, (110.0, 390.0), Wave.PRESSURE, starts=True) == pytest.approx(132.0, abs=1e-9)
    assert front_of(waves, (210.0, 390.0), Wave.PRESSURE, starts=True) is None
    waves.pressure[0] -= 2.0 * half
    waves.velocity[0] -= 2.0 * half / (0.5 * SOUND)
    assert front_of(waves, (110.0, 390.0), Wave.SUCTION, starts=True) == pytest.approx(132.0, abs=1e-9)


def test_a_pipe_that_is_declared_freely_goes_by_its_own_name() -> None:
    net = network([(pipe("tail", ("pipe", 0.4, 0.04, 0.04), ("pipe", 0.3, 0.04, 0.06)), EXHAUST_VALVE, OPEN)])
    assert {one.place for one in told(net)} == {"taper of tail", "open end of tail"}
