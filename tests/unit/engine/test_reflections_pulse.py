"""Small pulses in computed pipes: the pressure at the port shows them when the front that is followed arrives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest
from reflection_cases import EXHAUST_VALVE, SPEED, follow_from, network, pipe
from small_network import C0, FAR, P0, End, SmallNetwork, centres, closed, pulse_at, silent, straight

from pullbook.engine.network_ends import AnechoicEnd, ClosedEnd, JoinEnd, OpenEnd, ValveEnd
from pullbook.engine.waves import PipeWaves
from pullbook.gas.ends import open_end
from pullbook.gas.grid import PipeShape
from pullbook.gas.join_mixing import JOIN_STATIC, merge_cosines, turning_cosines

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.engine.reflection_ways import Arrival
    from pullbook.quantities.arrays import FloatArray

DEG_PER_SECOND = 6.0 * SPEED
CELL = 0.005
START = 0.15  # m, middle of the pulse at first
WIDTH, HEIGHT = 0.2, 200.0  # m, Pa
THIN, WIDE = 1.0e-3, 2.0e-3  # m2
DURATION = 0.009  # s: 162 degrees


def outdoors(state: tuple[float, ...], area: float) -> tuple[float, float, float, float, float]:
    """Open end without losses."""
    return open_end(state[:7], area, FAR, 0.0, 0.0)  # type: ignore[arg-type]  # seven of eight numbers


def diameter(area: float) -> float:
    """Diameter of a circle. [m]"""
    return float(np.sqrt(4.0 * area / np.pi))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """A network for the computer of waves and for the follower of fronts; valves are shut."""

    computed: SmallNetwork
    described: Network


def record(rig: Rig) -> list[PipeWaves]:
    """Let a pulse run from near the first valves; every step of every cell, at angles of the crank."""
    computed = rig.computed
    x = centres(computed.pressure(0).size * CELL, CELL)
    computed.fill(0, *pulse_at(x, START, WIDTH, HEIGHT))
    pipes = computed.pipes
    angles: list[float] = []
    rows: list[FloatArray] = []
    while computed.time < DURATION:
        angles.append(DEG_PER_SECOND * computed.time)
        rows.append(pipes.primitive[:3].copy())
        computed.step(0.8 * CELL / (C0 + 2.0))
    history = np.stack(rows, axis=-1)
    found: list[PipeWaves] = []
    for k, shape in enumerate(computed.shapes):
        density, velocity, pressure = history[:, pipes.start[k] + 1 : pipes.start[k + 1] - 1]
        found.append(
            PipeWaves(
                name=str(k), angle_deg=np.array(angles), distance=centres(shape.cells * CELL, CELL), pressure=pressure,
                velocity=velocity, temperature=0.0 * pressure, burned=0.0 * pressure, density=density,
                sound_speed=np.sqrt(1.4 * pressure / density),
            )
        )  # fmt: skip
    return found


def seen(waves: PipeWaves, around_deg: float) -> tuple[float, float]:
    """When a pulse has its top at a shut valve, and how much comes: by the trace of pressure there. [deg, 1]

    How much is the integral over time by that of the pulse that set out, half of it since the valve doubles it: the
    scheme wears off tops, but not integrals.
    """
    near = np.abs(waves.angle_deg - around_deg) < 9.0
    angle, level = waves.angle_deg[near], waves.pressure[0, near] - P0
    top = int(np.argmax(np.abs(level)))
    assert np.abs(level[[0, -1]]).max() < 0.03 * np.abs(level[top]), "the pulse is not all within nine degrees"
    sent_out = HEIGHT * 3.0 / 8.0 * WIDTH / C0  # the mean of cos^4 is 3/8
    came = float(np.trapezoid(level, angle)) / DEG_PER_SECOND
    return float(angle[top]), 0.5 * came / sent_out


def followed(rig: Rig, all_waves: list[PipeWaves]) -> tuple[Arrival, ...]:
    """The front that is where the pulse was at first."""
    arrivals, stops = follow_from(rig.described, lambda k: all_waves[k], -START / C0 * DEG_PER_SECOND)
    assert stops == ()
    return arrivals


def one_pipe(end: End, described: OpenEnd | ClosedEnd) -> Rig:
    computed = SmallNetwork(shapes=[straight(0.8, THIN, CELL)], ends={(0, 0): closed, (0, 1): end}, joins=[])
    tube = pipe("primary 1", ("primary", 0.8, diameter(THIN), diameter(THIN)))
    return Rig(computed=computed, described=network([(tube, EXHAUST_VALVE, described)]))


OPEN = OpenEnd(loss_in=0.0, loss_out=0.0, correction=0.0)


@pytest.mark.parametrize(("end", "described", "sent"), [(closed, ClosedEnd(), 1.0), (outdoors, OPEN, -1.0)])
def test_pressure_at_the_port_shows_the_echo_of_an_end_within_a_degree(
    end: End, described: OpenEnd | ClosedEnd, sent: float
) -> None:
    rig = one_pipe(end, described)
    all_waves = record(rig)
    (one,) = followed(rig, all_waves)
    angle, height = seen(all_waves[0], one.angle_deg)
    # By hand: 1.6 m at the speed of sound, less what the pulse had already run.
    assert angle == pytest.approx((1.6 - START) / C0 * DEG_PER_SECOND, abs=0.5)
    assert one.angle_deg == pytest.approx(angle, abs=0.5)
    assert (one.coefficient, height) == pytest.approx((sent, sent), abs=0.02)


@pytest.mark.parametrize(("first", "second"), [(THIN, WIDE), (WIDE, THIN)])
def test_pressure_at_the_port_shows_the_echo_of_a_step_and_of_the_end_behind_it(first: float, second: float) -> None:
    cosines = turning_cosines(np.array([180.0, 0.0]))
    computed = SmallNetwork(
        shapes=[straight(0.5, first, CELL), straight(0.3, second, CELL)],
        ends={(0, 0): closed, (1, 1): outdoors},
        joins=[([(0, 1), (1, 0)], cosines, JOIN_STATIC)],
    )
    described = network(
        [
            (pipe("primary 1", ("primary", 0.5, diameter(first), diameter(first))), EXHAUST_VALVE,
             JoinEnd(join=0, angle_deg=0.0)),
            (pipe("tail", ("tailpipe", 0.3, diameter(second), diameter(second))), JoinEnd(join=0, angle_deg=180.0),
             OPEN),
        ],
        ["step"],
    )  # fmt: skip
    rig = Rig(computed=computed, described=described)
    all_waves = record(rig)
    step, end = followed(rig, all_waves)
    for one in (step, end):
        angle, height = seen(all_waves[0], one.angle_deg)
        assert one.angle_deg == pytest.approx(angle, abs=0.5)
        assert one.coefficient == pytest.approx(height, abs=0.02)
    assert (step.turn.distance, end.turn.distance) == pytest.approx((0.5, 0.8))


def test_pressure_at_the_ports_shows_the_echo_of_a_merge_and_the_pulse_that_goes_through_it() -> None:
    lengths = (0.5, 0.5, 0.6, 0.7)
    computed = SmallNetwork(
        shapes=[*(straight(length, THIN, CELL) for length in lengths), straight(0.8, 4.0 * THIN, CELL)],
        ends={**{(k, 0): closed for k in range(4)}, (4, 1): silent},
        joins=[([*((k, 1) for k in range(4)), (4, 0)], merge_cosines(5, 10.0), JOIN_STATIC)],
    )
    members = [
        (pipe(f"primary {k + 1}", ("primary", length, diameter(THIN), diameter(THIN))),
         ValveEnd(cylinder=k, valve_set=1), JoinEnd(join=0, angle_deg=10.0))
        for k, length in enumerate(lengths)
    ]  # fmt: skip
    wide = diameter(4.0 * THIN)
    away = (pipe("collector", ("collector", 0.8, wide, wide)), JoinEnd(join=0, angle_deg=180.0), AnechoicEnd())
    rig = Rig(computed=computed, described=network([*members, away], ["merge"]))
    all_waves = record(rig)
    found = {one.cylinder: one for one in followed(rig, all_waves)}
    assert sorted(found) == [0, 1, 2, 3]
    for cylinder, one in found.items():
        angle, height = seen(all_waves[cylinder], one.angle_deg)
        assert one.angle_deg == pytest.approx(angle, abs=0.5)
        assert one.coefficient == pytest.approx(height, abs=0.02)
    # The longest idle pipe hears it last.
    assert found[1].angle_deg < found[2].angle_deg < found[3].angle_deg


def test_the_echo_of_a_taper_has_its_top_when_the_front_is_back_from_its_middle() -> None:
    # What a taper sends back lasts longer than from a step, and is as much: so is the limit of low frequency.
    stations = np.array([0.0, 0.5, 0.54, 0.9])
    widths = np.array([diameter(THIN), diameter(THIN), diameter(WIDE), diameter(WIDE)])
    shape = PipeShape(position=stations, diameter=widths, cells=180, friction=0.0, heat=0.0)
    computed = SmallNetwork(shapes=[shape], ends={(0, 0): closed, (0, 1): silent}, joins=[])
    tube = pipe("primary 1", ("primary", 0.5, widths[0], widths[0]), ("megaphone", 0.04, widths[0], widths[2]),
                ("tailpipe", 0.36, widths[2], widths[2]))  # fmt: skip
    rig = Rig(computed=computed, described=network([(tube, EXHAUST_VALVE, AnechoicEnd())]))
    all_waves = record(rig)
    (one,) = followed(rig, all_waves)
    angle, height = seen(all_waves[0], one.angle_deg)
    assert one.angle_deg == pytest.approx(angle, abs=0.5)
    assert one.coefficient == pytest.approx(height, abs=0.02)
