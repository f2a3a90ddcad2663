"""Reflections of the three shipped engines at 3000 rpm: small pulses in the computed engines arrive as predicted."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest
from engines import network_of, run
from small_pulse import Echoes, echoes_of

from pullbook.engine.reflection_records import port_reflections, recorded
from pullbook.records.reflections import FAINTEST, PlaceKind, PortReflections, Wave

ENGINES = ("single", "inline-four", "v8-cross-plane")
EXHAUST, INTAKE = 1, 0


@cache
def echoes(name: str, valve_set: int) -> Echoes:
    return echoes_of(name, 0, valve_set)


@cache
def ports(name: str) -> tuple[PortReflections, ...]:
    _, settled = run(name, 3000.0, 0.008, waves=True)
    return port_reflections(settled)


def port_of(name: str, cylinder: int, side: str) -> PortReflections:
    return next(one for one in ports(name) if (one.cylinder, one.side) == (cylinder, side))


# The part of the pressure that runs to the valves, in the engine with the pulse less the one without.
@pytest.mark.slow
@pytest.mark.parametrize(("name", "valve_set", "places"), [
    ("single", EXHAUST, {"step in the primary"}),
    ("single", INTAKE, {"air box"}),
    ("inline-four", EXHAUST, {"merge into collector"}),
    ("inline-four", INTAKE, {"plenum"}),
    ("v8-cross-plane", EXHAUST, {"merge into collector 1", "open end of the extension"}),
    ("v8-cross-plane", INTAKE, {"plenum"}),
])  # fmt: skip
def test_small_pulses_come_to_the_ports_within_a_degree_of_the_front_that_is_followed(
    name: str, valve_set: int, places: set[str]
) -> None:
    found, network = echoes(name, valve_set), network_of(name)
    checked: list[str] = []
    for arrival in found.arrivals:
        told = recorded(network, arrival)
        if told.place not in places:
            continue
        angle, height = found.top((arrival.cylinder, arrival.valve_set), arrival.angle_deg)
        assert angle == pytest.approx(arrival.angle_deg, abs=1.0), f"{told.from_cylinder}: {told.place}"
        assert height * arrival.coefficient > 0.0, f"{told.place} has the sign of {height:+.3f}"
        checked.append(told.place)
    assert set(checked) == places
    # At a merge the other cylinders of its group hear it too.
    if "merge into collector" in " ".join(places):
        assert len(checked) >= 4


@pytest.mark.parametrize("name", ENGINES)
def test_every_port_sends_out_a_front_while_its_valves_open_and_hears_the_strongest_first(name: str) -> None:
    assert [(one.cylinder, one.side) for one in ports(name)] == [
        (cylinder.number, side) for cylinder in network_of(name).cylinders for side in ("intake", "exhaust")
    ]
    for port in ports(name):
        assert port.opens_deg < port.front_deg < port.opens_deg + 90.0
        assert port.wave is (Wave.PRESSURE if port.side == "exhaust" else Wave.SUCTION)
        shares = [abs(one.coefficient) for one in port.arrivals]
        assert shares
        assert all(first >= second >= FAINTEST for first, second in pairwise(shares))
        assert port.stopped == ()


def test_the_coefficients_of_the_four_are_those_of_its_areas() -> None:
    # By hand: port 36.8 to 39 mm, then 41 mm; a merge of four 41 mm pipes into a cone of their whole area, 82 to 57 mm.
    def passed_both_ways(first: float, second: float) -> float:
        m = (second / first) ** 2
        return 4.0 * m / (1.0 + m) ** 2

    port = passed_both_ways(36.8, 39.0) * passed_both_ways(39.0, 40.0)
    cone = (80.0**2 - 57.0**2) / (80.0**2 + 57.0**2)
    found = {(one.place, one.turned): one for one in port_of("inline-four", 1, "exhaust").arrivals}
    merge, through = found["merge into collector", True], found["merge into collector", False]
    assert merge.coefficient == pytest.approx(-0.75 * port, rel=1e-3)
    assert through.coefficient == pytest.approx(0.25 * port, rel=1e-3)
    # Into the cone with 1/4, back out of it with 1.
    assert found["taper of the merge", True].coefficient == pytest.approx(0.25 * cone * port, rel=1e-3)
    assert merge.kind is PlaceKind.JOIN
    assert merge.distance == pytest.approx(0.72)
    # A round trip of 12 n L / a in gas of 400 to 900 degC, 500 to 680 m/s; back it runs against the flow.
    assert 12.0 * 3000.0 * 0.72 / 680.0 < merge.travel_deg < 12.0 * 3000.0 * 0.72 / 450.0


def test_in_an_evenly_firing_four_every_cylinder_hears_the_same() -> None:
    first = port_of("inline-four", 1, "exhaust").arrivals
    for cylinder in (2, 3, 4):
        other = port_of("inline-four", cylinder, "exhaust").arrivals
        assert len(other) == len(first)
        ours = sorted((one.place, round(one.own_angle_deg)) for one in first if one.from_cylinder == 1)
        theirs = sorted((one.place, round(one.own_angle_deg)) for one in other if one.from_cylinder == cylinder)
        for (place, angle), (same, near) in zip(ours, theirs, strict=True):
            assert place == same
            assert near == pytest.approx(angle, abs=2)


def test_in_the_cross_plane_eight_only_the_cylinders_of_a_bank_hear_each_other() -> None:
    for port in ports("v8-cross-plane"):
        odd = port.cylinder % 2
        assert {one.from_cylinder % 2 for one in port.arrivals} == {odd}
        assert {one.from_cylinder for one in port.arrivals} == (
            {port.cylinder} if port.side == "intake" else set(range(2 - odd, 9, 2))
        )


def test_only_what_runs_through_packing_is_called_damped() -> None:
    for one in port_of("single", 1, "exhaust").arrivals:
        assert one.damped is (one.place.startswith("outlet") or one.kind is PlaceKind.OPEN)
    assert not any(one.damped for port in ports("v8-cross-plane") for one in port.arrivals)
