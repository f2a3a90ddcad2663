"""Waves in the pipes: arrivals in the map against characteristics, and small waves in gas at rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from engines import network_of, run

from pullbook.engine.waves import PipeWaves, pipe_waves, trace_characteristic, wave_arrays

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

SPEED = 3000.0
DEG_PER_SECOND = 6.0 * SPEED


def outgoing(waves: PipeWaves) -> FloatArray:
    """Part of the pressure that runs away from the valve: half of p plus rho a u. [Pa]"""
    impedance = 1.31 * waves.pressure / waves.sound_speed  # rho a, gamma of hot burned gas
    found: FloatArray = 0.5 * (waves.pressure + impedance * waves.velocity)
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


def characteristic(waves: PipeWaves, cell: int, angle: float, last: int) -> float:
    """Angle at which dx/dt = u + a, through the computed flow, brings it from one cell to another. [deg]"""
    step = float(waves.distance[1] - waves.distance[0])
    for here in range(cell, last):
        rate = waves.velocity + waves.sound_speed
        first = np.interp(angle, waves.angle_deg, rate[here])
        second = np.interp(angle + DEG_PER_SECOND * step / first, waves.angle_deg, rate[here + 1])
        angle += DEG_PER_SECOND * step / (0.5 * (first + second))
    return angle


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
        assert characteristic(waves, first, start, cell) == pytest.approx(arrival(waves, cell, opens), abs=1.0)


def still(length: float, sound: float, velocity: float) -> PipeWaves:
    """Pipe of gas in steady motion."""
    cells, angles = 50, np.linspace(0.0, 719.0, 720)
    field = np.ones((cells, angles.size))
    return PipeWaves(
        name="pipe", angle_deg=angles, distance=(np.arange(cells) + 0.5) * length / cells, pressure=1e5 * field,
        velocity=velocity * field, temperature=300.0 * field, burned=0.0 * field, sound_speed=sound * field,
    )  # fmt: skip


def test_a_small_wave_takes_the_length_over_its_speed_there_and_back() -> None:
    # Plane waves: L / (a + u) downstream, L / (a - u) upstream; the last half cell is not counted.
    waves = still(1.0, 500.0, 50.0)
    assert trace_characteristic(waves, 100.0, SPEED, forward=True)[-1] == pytest.approx(100.0 + 18000.0 * 0.99 / 550.0)
    assert trace_characteristic(waves, 700.0, SPEED, forward=False)[-1] == pytest.approx(700.0 + 18000.0 * 0.99 / 450.0)


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
