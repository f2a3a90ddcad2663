"""Waves in the pipes: arrivals in the map against characteristics, and small waves in gas at rest."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from engines import network_of, run

from pullbook.engine.waves import PipeWaves, follow, pipe_waves, wave_arrays
from pullbook.gas.mixture import cv_of, gas_constant

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

SPEED = 3000.0
DEG_PER_SECOND = 6.0 * SPEED


def outgoing(waves: PipeWaves) -> FloatArray:
    """Part of the pressure that runs away from the valve: half of p plus rho a u. [Pa]"""
    found: FloatArray = 0.5 * (waves.pressure + waves.density * waves.sound_speed * waves.velocity)
    return found


def arrival(waves: PipeWaves, cell: int, opens_deg: float) -> float:
    """Angle at which the blow-down pulse has risen by three tenths in a cell. [deg]"""
    # Begin one degree before anything can be there; 650 m/s is above every u + a ahead of the pulse.
    start = opens_deg + DEG_PER_SECOND * waves.distance[cell] / 650.0 - 1.0
    seen = (waves.angle_deg > start) & (waves.angle_deg < start + 60.0)
    angle, level = waves.angle_deg[seen], outgoing(waves)[cell][seen]
    wanted = level[:2].mean() + 0.3 * (level.max() - level[:2].mean())
    after = int(np.argmax(level > wanted))
    return float(np.interp(wanted, level[after - 1 : after + 1], angle[after - 1 : after + 1]))


@pytest.mark.parametrize(("name", "farthest"), [("single", 0.6), ("inline-four", 0.83), ("v8-cross-plane", 0.8)])
def test_the_blow_down_pulse_arrives_with_the_characteristic_within_a_degree(name: str, farthest: float) -> None:
    _, settled = run(name, SPEED, 0.01, waves=True)
    network = network_of(name)
    waves = pipe_waves(settled, network.index("primary 1"))
    opens = network.cylinders[0].valve_sets[1].opens_deg + network.cylinders[0].firing_angle_deg
    first = int(np.searchsorted(waves.distance, 0.12))
    start = arrival(waves, first, opens)
    for distance in np.linspace(0.3, farthest, 5):
        cell = min(int(np.searchsorted(waves.distance, distance)), waves.distance.size - 1)
        way = float(waves.distance[first]), float(waves.distance[cell])
        assert follow(waves, start, SPEED, way).angle_deg[-1] == pytest.approx(arrival(waves, cell, opens), abs=1.0)


def steady(length: float, sound: float, velocity: float, cells: int = 50) -> PipeWaves:
    """Pipe of gas in steady motion."""
    angles = np.linspace(0.0, 719.0, 720)
    field = np.ones((cells, angles.size))
    return PipeWaves(
        name="pipe", angle_deg=angles, distance=(np.arange(cells) + 0.5) * length / cells, pressure=1e5 * field,
        velocity=velocity * field, temperature=300.0 * field, burned=0.0 * field, density=field,
        sound_speed=sound * field,
    )  # fmt: skip


def test_a_small_wave_takes_the_length_over_its_speed_there_and_back_and_beyond_the_end_of_the_cycle() -> None:
    # Plane waves: L / (c + u) downstream, L / (c - u) upstream.
    waves = steady(1.0, 500.0, 50.0)
    down, up = follow(waves, 100.0, SPEED, (0.0, 1.0)), follow(waves, 700.0, SPEED, (0.9, 0.2))
    assert (down.angle_deg[-1], down.distance[-1]) == pytest.approx((100.0 + 18000.0 / 550.0, 1.0), rel=1e-12)
    assert (up.angle_deg[-1], up.distance[-1]) == pytest.approx((700.0 + 18000.0 * 0.7 / 450.0, 0.2), rel=1e-12)
    assert up.angle_deg[-1] > 720.0


def test_in_gas_whose_sound_speed_grows_along_the_pipe_the_time_is_the_integral_of_its_inverse() -> None:
    # c = 400 + 200 x: the time is ln(c2 / c1) / 200, here of Heun's method with steps of 10 mm.
    waves = steady(1.0, 1.0, 0.0, cells=100)
    waves = replace(waves, sound_speed=(400.0 + 200.0 * waves.distance)[:, None] * np.ones(720))
    found = follow(waves, 0.0, SPEED, (0.005, 0.995)).angle_deg[-1] / DEG_PER_SECOND
    assert found == pytest.approx(np.log(599.0 / 401.0) / 200.0, rel=1e-5)


def test_in_gas_that_warms_with_time_the_way_is_the_integral_of_the_sound_speed() -> None:
    # c = 400 (1 + theta / 720): 0.9 m are covered after theta with 400 (theta + theta^2 / 1440) / 18000 = 0.9.
    waves = steady(1.0, 1.0, 0.0, cells=100)
    waves = replace(waves, sound_speed=np.ones((100, 1)) * (400.0 * (1.0 + waves.angle_deg / 720.0)))
    found = follow(waves, 0.0, SPEED, (0.1, 1.0)).angle_deg[-1]
    assert found + found**2 / 1440.0 == pytest.approx(0.9 * 18000.0 / 400.0, rel=1e-5)


def test_beyond_the_end_of_the_cycle_the_gas_is_that_of_its_beginning() -> None:
    # 400 m/s up to 719.5 degrees, then 600 m/s: 19.5 degrees from 700 on cover 0.4333 m, the rest goes faster.
    waves = steady(1.0, 1.0, 0.0, cells=400)
    waves = replace(waves, sound_speed=np.ones((400, 1)) * np.where(waves.angle_deg < 360.0, 600.0, 400.0))
    slow = 400.0 * 19.5 / DEG_PER_SECOND
    found = follow(waves, 700.0, SPEED, (0.0, 1.0)).angle_deg[-1]
    assert found == pytest.approx(719.5 + (1.0 - slow) / 600.0 * DEG_PER_SECOND, abs=0.05)


@pytest.mark.parametrize("velocity", [499.0, 500.0, 700.0])
def test_against_gas_at_the_speed_of_sound_a_wave_stops_where_it_is(velocity: float) -> None:
    track = follow(steady(1.0, 500.0, velocity), 100.0, SPEED, (0.8, 0.2))
    assert track.stopped
    assert track.angle_deg.tolist() == [100.0]
    assert track.distance.tolist() == [0.8]
    assert not follow(steady(1.0, 500.0, velocity), 100.0, SPEED, (0.2, 0.8)).stopped


@pytest.mark.parametrize("velocity", [-60.0, 0.0, 60.0])
def test_a_wave_along_side_volumes_has_the_speed_that_storing_gas_in_them_leaves(velocity: float) -> None:
    # k p_t + u p_x + rho c^2 u_x = 0 and u_t + u u_x + p_x / rho = 0: (u - k s)(u - s) = c^2.
    track = follow(steady(1.0, 500.0, velocity), 0.0, SPEED, (0.0, 1.0), 4.0)
    speed = 18000.0 / track.angle_deg[-1]
    assert (velocity - 4.0 * speed) * (velocity - speed) == pytest.approx(500.0**2, rel=1e-9)
    assert speed == pytest.approx(250.0, abs=40.0)


def test_speed_of_sound_in_the_map_is_that_of_the_gas_in_each_cell() -> None:
    _, settled = run("single", SPEED, 0.01, waves=True)
    waves, table = pipe_waves(settled, network_of("single").index("primary 1")), settled.assembled.arrays.pipes.gas
    for cell, sample in ((0, 10), (20, 300), (60, 600)):
        burned, temperature = float(waves.burned[cell, sample]), float(waves.temperature[cell, sample])
        constant = gas_constant(table, burned, 0.0)
        gamma = 1.0 + constant / cv_of(table, temperature, burned, 0.0)
        assert waves.sound_speed[cell, sample] == pytest.approx(np.sqrt(gamma * constant * temperature), rel=1e-6)
        assert waves.density[cell, sample] == pytest.approx(
            waves.pressure[cell, sample] / (constant * temperature), rel=1e-12
        )


def test_all_arrays_of_a_run_have_the_angles_of_its_samples() -> None:
    _, settled = run("single", SPEED, 0.01, waves=True)
    arrays = wave_arrays(settled)
    count = arrays["angle_deg"].size
    assert count > 500
    assert np.all(np.diff(arrays["angle_deg"]) > 0.0)
    for name, values in arrays.items():
        assert np.isfinite(values).all(), name
        assert name.endswith("/distance") or values.shape[-1] == count, name
    # The volume of a cylinder comes from its crank alone: smallest and largest stand in the compression ratio.
    volume = arrays["cylinder 1/volume"]
    assert volume.max() / volume.min() == pytest.approx(network_of("single").cylinders[0].compression_ratio, rel=2e-3)
