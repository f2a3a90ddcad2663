"""Waves that meet the ends of simulated pipes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from small_network import AIR, C0, FAR, P0, T0, R, SmallNetwork, centres, closed, pulse_at, silent, straight

from pullbook.gas.ends import open_end
from pullbook.gas.join_mixing import JOIN_MIXING, JOIN_STATIC, merge_cosines, turning_cosines
from pullbook.gas.mixture import energy_of
from pullbook.gas.orifice import orifice

if TYPE_CHECKING:
    from small_network import End

    from pullbook.quantities.arrays import FloatArray

AREA = 1e-3
CELL = 0.01
Flux = tuple[float, float, float, float, float]


def opened(state: tuple[float, ...], area: float) -> Flux:
    """Plain open end with the loss of an unflanged entry."""
    return open_end(state[:7], area, FAR, 0.9, 0.0)  # type: ignore[arg-type]  # seven of eight numbers


def _reflected(end: End, height: float) -> float:
    """Reflected over incident pulse, as their integrals over the pipe."""
    network = SmallNetwork(shapes=[straight(1.0, AREA, CELL)], ends={(0, 0): silent, (0, 1): end}, joins=[])
    pressure, speed = pulse_at(centres(1.0, CELL), 0.6, 0.5, height)
    network.fill(0, pressure, speed)
    while network.time < 0.9 / C0:
        network.step(network.safe_step())
    return float((network.pressure(0) - P0).sum() / (pressure - P0).sum())


# Standards 6.6: closed +1, open -1, silent 0; the pulse is 10 Pa high.
@pytest.mark.parametrize(("end", "part"), [(closed, 1.0), (opened, -1.0), (silent, 0.0)])
def test_small_pulse_comes_back_as_the_kind_of_end_has_it(end: End, part: float) -> None:
    assert _reflected(end, 10.0) == pytest.approx(part, abs=4e-4)


@pytest.mark.parametrize("height", [0.2e5, 0.5e5])
def test_silent_end_swallows_large_pulses(height: float) -> None:
    assert abs(_reflected(silent, height)) < 3e-4


# Standards 6.7: 1.2 doubles to 1.433350 at a wall, 1.5 to 2.200588; the wave is a front with a plateau behind it.
@pytest.mark.parametrize(("ratio", "doubled"), [(1.2, 1.433350), (1.5, 2.200588)])
def test_wave_of_finite_amplitude_is_doubled_by_a_wall(ratio: float, doubled: float) -> None:
    network = SmallNetwork(shapes=[straight(3.0, AREA, 0.02)], ends={(0, 0): silent, (0, 1): closed}, joins=[])
    x = centres(3.0, 0.02)
    # A front that rises over 1.5 m, so that it is still smooth when it arrives, and a plateau behind it.
    rise = np.clip((2.4 - x) / 1.5, 0.0, 1.0)
    pressure: FloatArray = P0 * (1.0 + (ratio - 1.0) * np.sin(0.5 * np.pi * rise) ** 2)
    speed = 2.0 * C0 / 0.4 * ((pressure / P0) ** (1.0 / 7.0) - 1.0)
    network.fill(0, pressure, speed)
    network.ends[0, 0] = closed  # far away: what it sends does not arrive in time
    largest = 0.0
    while network.time < 1.9 / C0:
        network.step(network.safe_step())
        largest = max(largest, float(network.pressure(0)[-1]))
    assert largest / P0 == pytest.approx(doubled, rel=1e-4)


@pytest.mark.parametrize("model", [JOIN_STATIC, JOIN_MIXING])
@pytest.mark.parametrize(
    ("area", "angles", "part"),
    [
        ([1.0, 1.0, 1.0], [0.0, 120.0, 240.0], -1.0 / 3.0),
        ([1.0, 0.25], [180.0, 0.0], 0.6),
        ([1.0, 2.0], [180.0, 0.0], -1.0 / 3.0),
        ([1.0, 1.0, 1.0, 1.0, 1.0], None, -0.6),
        ([1.0, 1.0, 1.0, 1.0, 4.0], None, -0.75),
    ],
)
def test_pulse_of_a_hundredth_of_a_bar_passes_a_join(
    area: list[float], angles: list[float] | None, part: float, model: int
) -> None:
    n = len(area)
    cosine = merge_cosines(n, 10.0) if angles is None else turning_cosines(np.array(angles))
    ends: dict[tuple[int, int], End] = {(0, 0): silent}
    ends.update({(k, 1): silent for k in range(1, n)})
    network = SmallNetwork(
        shapes=[straight(1.0, a * AREA, CELL) for a in area],
        ends=ends,
        joins=[([(0, 1), *[(k, 0) for k in range(1, n)]], cosine, model)],
    )
    pressure, speed = pulse_at(centres(1.0, CELL), 0.6, 0.5, 1e3)
    network.fill(0, pressure, speed)
    dt = network.safe_step()
    while network.time < 0.9 / C0:
        network.step(dt)
    size = (pressure - P0).sum()
    parts = [float((network.pressure(k) - P0).sum() / size) for k in range(n)]
    assert parts == pytest.approx([part] + [1.0 + part] * (n - 1), rel=0.02)


def test_sealed_pipes_round_a_join_keep_mass_and_energy_to_round_off() -> None:
    network = SmallNetwork(
        shapes=[straight(0.3, AREA, CELL), straight(0.5, 2.0 * AREA, CELL), straight(0.4, AREA, CELL)],
        ends={(0, 0): closed, (1, 1): closed, (2, 1): closed},
        joins=[([(0, 1), (1, 0), (2, 0)], merge_cosines(3, 20.0), JOIN_MIXING)],
    )
    network.fill(0, np.full(30, 2.5 * P0))
    before = network.totals()
    for _ in range(500):
        network.step(network.safe_step())
    assert network.totals() == pytest.approx(before, rel=1e-13)


def test_volume_emptied_through_an_orifice_and_a_pipe_keeps_its_books() -> None:
    # Blow-down of half a litre at 4 bar through an orifice into a closed pipe: what one loses the other gains.
    volume, mass = 5e-4, 4.0 * P0 * 5e-4 / (R * 600.0)
    content = [mass, mass * energy_of(AIR, 600.0, 0.0, 0.0)]
    last: list[Flux] = []

    def at_volume(state: tuple[float, ...], area: float) -> Flux:
        offset = energy_of(AIR, T0, 0.0, 0.0) - R / 0.4 * T0
        temperature = (content[1] / content[0] - offset) * 0.4 / R
        pressure = content[0] * R * temperature / volume
        there = (pressure, temperature, R, 1.4, content[1] / content[0] + R * temperature, 0.0, 0.0)
        flux = orifice(state[:7], area, there, 0.3 * area, 0)  # type: ignore[arg-type]  # seven of eight numbers
        last.append(flux)
        return flux

    network = SmallNetwork(shapes=[straight(1.0, AREA, CELL)], ends={(0, 0): at_volume, (0, 1): closed}, joins=[])
    before = np.array(network.totals()) + content
    for _ in range(1500):
        dt = network.safe_step()
        network.step(dt)
        content[0] += dt * last[-1][0]
        content[1] += dt * last[-1][2]
    assert np.array(network.totals()) + content == pytest.approx(before, rel=1e-13)
    # It has come to one pressure: (p1 V1 + p2 V2)/(V1 + V2), since the energy is p V/(gamma - 1) (perfect gas).
    common = (4.0 * P0 * volume + P0 * AREA) / (volume + AREA)
    assert network.pressure(0).mean() == pytest.approx(common, rel=0.03)
