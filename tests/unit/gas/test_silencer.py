"""Silencers: simulated transmission loss against acoustics, exact books, and steady flow."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from small_network import C0, P0, RHO0, T0, R, SmallNetwork, centres, closed, pulse_at, silent, straight

from pullbook.gas.join_mixing import JOIN_MIXING, merge_cosines, turning_cosines
from pullbook.gas.pipes import predict
from pullbook.gas.silencer import CONTENT, GRAZING, JET, RESISTANCE, breathe, chamber_totals
from pullbook.gas.silencer_shape import SilencerShape, chambers_of, perforate_impedance

if TYPE_CHECKING:
    from pullbook.gas.grid import PipeShape
    from pullbook.quantities.arrays import FloatArray

CELL = 0.005
STEP = turning_cosines(np.array([180.0, 0.0]))
TUBE = np.pi / 4.0 * 0.05**2
BEFORE = AFTER = 1.2
HEIGHT = 2.0  # Pa: what is left of the squares is below 1e-4

Ends = list[tuple[tuple[int, int], tuple[int, int]]]


def _record(network: SmallNetwork, pipe: int, cell: int, duration: float, dt: float) -> FloatArray:
    """Pressure over time in a cell, from a short pulse in the first pipe."""
    x = centres(network.pressure(0).size * CELL, CELL)
    pressure, speed = pulse_at(x, BEFORE - 0.25, 0.2, HEIGHT)
    network.fill(0, pressure, speed)
    out = []
    while network.time < duration:
        network.step(dt)
        out.append(network.pressure(pipe)[cell] - P0)
    return np.array(out)


DT = 0.8 * CELL / (C0 + 0.1)
DURATION = 0.030


@cache
def _incident() -> tuple[FloatArray, FloatArray]:
    """Frequencies and spectrum of the pulse after as long a way, without anything in it."""
    network = SmallNetwork(
        shapes=[straight(BEFORE + AFTER, TUBE, CELL)], ends={(0, 0): silent, (0, 1): silent}, joins=[]
    )
    trace = _record(network, 0, round((BEFORE + 0.1) / CELL), DURATION, DT)
    frequency: FloatArray = np.arange(len(trace) // 2 + 1, dtype=np.float64) / (len(trace) * DT)
    spectrum: FloatArray = np.abs(np.fft.rfft(trace))
    return frequency, spectrum


def _loss(network: SmallNetwork, pipe: int) -> tuple[FloatArray, FloatArray]:
    """Transmission loss over frequency, from 60 to 1100 Hz; the outlet pipe is read 0.1 m behind its start."""
    frequency, incident = _incident()
    passed = np.abs(np.fft.rfft(_record(network, pipe, round(0.1 / CELL), DURATION, DT)))
    use = (frequency > 60.0) & (frequency < 1100.0)
    return frequency[use], 20.0 * np.log10(incident[use] / passed[use])


def _chain(*areas_and_lengths: tuple[float, float]) -> SmallNetwork:
    """Pipes one after the other between silent ends."""
    shapes: list[PipeShape] = [straight(length, area, CELL) for area, length in areas_and_lengths]
    n = len(shapes)
    joins = [([(k, 1), (k + 1, 0)], STEP, JOIN_MIXING) for k in range(n - 1)]
    return SmallNetwork(shapes=shapes, ends={(0, 0): silent, (n - 1, 1): silent}, joins=joins)


@pytest.mark.parametrize(("ratio", "largest"), [(4.0, 6.547), (9.0, 13.171), (16.0, 18.096)])
def test_expansion_chamber_has_the_transmission_loss_of_the_formula(ratio: float, largest: float) -> None:
    # TL = 10 log10(1 + (m - 1/m)^2/4 sin^2 k L); largest values from standards 5.4 (Munjal 1987, from memory).
    length = 0.30
    frequency, loss = _loss(_chain((TUBE, BEFORE), (ratio * TUBE, length), (TUBE, AFTER)), 2)
    wave = 2.0 * np.pi * frequency / C0
    formula = 10.0 * np.log10(1.0 + (ratio - 1.0 / ratio) ** 2 / 4.0 * np.sin(wave * length) ** 2)
    assert formula.max() == pytest.approx(largest, abs=0.02)
    low = frequency < 600.0
    assert np.abs(loss - formula)[low].max() < 0.15
    assert np.abs(loss - formula).max() < 0.3
    assert loss[low].max() == pytest.approx(largest, abs=0.1)


def test_reversed_flow_chamber_has_the_transmission_loss_of_a_side_branch() -> None:
    # Inlet and outlet in the same plate, the shell closed at the other end: a branch of admittance i m tan(k L), so
    # TL = 10 log10(1 + (m tan k L)^2/4) (Munjal 1987, from memory).
    length, ratio = 0.30, 6.0
    shapes = [straight(BEFORE, TUBE, CELL), straight(AFTER, TUBE, CELL), straight(length, ratio * TUBE, CELL)]
    # Inlet and outlet side by side at the left, the shell to the right.
    cosine = turning_cosines(np.array([180.0, 180.0, 0.0]))
    network = SmallNetwork(
        shapes=shapes,
        ends={(0, 0): silent, (1, 1): silent, (2, 1): closed},
        joins=[([(0, 1), (1, 0), (2, 0)], cosine, JOIN_MIXING)],
    )
    frequency, loss = _loss(network, 1)
    formula = 10.0 * np.log10(1.0 + (ratio * np.tan(2.0 * np.pi * frequency / C0 * length)) ** 2 / 4.0)
    calm = formula < 25.0  # the poles of the tangent are as high as the pulse's spectrum can show
    assert np.abs(loss - formula)[calm & (frequency < 600.0)].max() < 0.4
    assert loss.max() > 25.0


def _perforated(shape: SilencerShape, length: float) -> SmallNetwork:
    """Straight tube with a shell around its middle part."""
    network = SmallNetwork(
        shapes=[straight(BEFORE, TUBE, CELL), straight(length, TUBE, CELL), straight(AFTER, TUBE, CELL)],
        ends={(0, 0): silent, (2, 1): silent},
        joins=[([(0, 1), (1, 0)], STEP, JOIN_MIXING), ([(1, 1), (2, 0)], STEP, JOIN_MIXING)],
    )
    network.chambers = chambers_of([shape], network.pipes, P0)
    return network


def _two_duct_loss(frequency: FloatArray, shape: SilencerShape, length: float) -> FloatArray:
    """Transmission loss of a tube and a shell coupled through the wall between them, from linear acoustics.

    Four equations of first order in the two pressures and volume flows, solved by their modes; both ends of the
    shell are rigid (Sullivan and Crocker 1978; Munjal 1987, section 3.8; from memory, written anew).
    """
    inner = 0.05
    shell = np.pi / 4.0 * (shape.shell_diameter**2 - (inner + 2.0 * shape.wall) ** 2)
    around = np.pi * inner
    resistance, _, mass = perforate_impedance(shape)
    stiff = P0 if shape.flow_resistivity > 0.0 else 1.4 * P0
    a2 = ((inner + 2.0 * shape.wall) / shape.shell_diameter) ** 2
    radial = (-2.0 * np.log(a2) - 3.0 + 4.0 * a2 - a2**2) / (4.0 * (1.0 - a2) ** 2) * inner / 2.0
    out = []
    for f in frequency:
        s = 2j * np.pi * f
        z = RHO0 * C0 * resistance + s * RHO0 * mass + shape.flow_resistivity * radial
        # Volume flows are counted in rho c/S of the tube, so that all four are pressures.
        z0 = RHO0 * C0 / TUBE
        rows = np.array(
            [
                [0.0, -s / C0, 0.0, 0.0],
                [-s / C0 - z0 * around / z, 0.0, z0 * around / z, 0.0],
                [0.0, 0.0, 0.0, -(s * RHO0 + shape.flow_resistivity) / shell / z0],
                [z0 * around / z, 0.0, -z0 * (s * shell / stiff + around / z), 0.0],
            ]
        )
        rates, modes = np.linalg.eig(rows)
        # Each mode is counted from the end from which it falls, or they could not be told apart at the other.
        start = modes * np.where(rates.real > 0.0, np.exp(-rates * length), 1.0)
        end = modes * np.where(rates.real > 0.0, 1.0, np.exp(rates * length))
        # A wave of 1 comes in, none comes back from behind the outlet, nothing flows along the shell at its ends.
        conditions = np.array([start[0] + start[1], start[3], end[3], end[0] - end[1]])
        size = np.linalg.solve(conditions, np.array([2.0, 0.0, 0.0, 0.0]))
        out.append(1.0 / abs(end[0] @ size))
    loss: FloatArray = 20.0 * np.log10(np.array(out, dtype=np.float64))
    return loss


@pytest.mark.parametrize("resistivity", [4e3, 1e4, 3e4])
def test_packed_straight_through_silencer_has_the_loss_of_two_coupled_ducts(resistivity: float) -> None:
    shape = SilencerShape(
        pipe=1, first=0, after=80, shell_diameter=0.11, flow_resistivity=resistivity, packing_temperature=T0
    )
    frequency, loss = _loss(_perforated(shape, 0.4), 2)
    wanted = _two_duct_loss(frequency, shape, 0.4)
    assert wanted.max() > 10.0
    assert np.abs(loss - wanted).max() < 0.1


def test_shell_without_packing_has_the_loss_of_two_coupled_ducts() -> None:
    shape = SilencerShape(
        pipe=1, first=0, after=50, shell_diameter=0.10, flow_resistivity=0.0, porosity=0.06, packing_temperature=T0
    )
    frequency, loss = _loss(_perforated(shape, 0.25), 2)
    wanted = _two_duct_loss(frequency, shape, 0.25)
    calm = (wanted < 20.0) & (frequency < 700.0)
    assert wanted[calm].max() > 6.0
    assert np.abs(loss - wanted)[calm].max() < 0.05


def test_silencer_keeps_its_books_with_large_waves_and_hot_packing() -> None:
    shape = SilencerShape(pipe=0, first=20, after=60, shell_diameter=0.12, packing_temperature=700.0)
    bare = SilencerShape(pipe=0, first=80, after=110, shell_diameter=0.10, flow_resistivity=0.0)
    network = SmallNetwork(shapes=[straight(0.6, TUBE, CELL)], ends={(0, 0): closed, (0, 1): closed}, joins=[])
    network.chambers = chambers_of([shape, bare], network.pipes, P0)
    x = centres(0.6, CELL)
    network.fill(0, P0 * (1.0 + 0.5 * np.exp(-(((x - 0.2) / 0.05) ** 2))))
    mass, energy = network.totals()
    inside = chamber_totals(network.chambers)
    for _ in range(600):
        network.step(network.safe_step())
    after_mass, after_energy = network.totals()
    after = chamber_totals(network.chambers)
    assert after_mass + after[0] == pytest.approx(mass + inside[0], rel=1e-13)
    given = after[2] - inside[2]
    scale = abs(energy) + abs(inside[1]) + abs(given)
    assert abs(after_energy + after[1] - given - energy - inside[1]) < 1e-13 * scale + 1e-12 * P0 * 1e-3
    assert abs(given) > 1e-3


def test_packing_takes_its_share_of_the_shell() -> None:
    # Annulus between 52.4 mm (tube of 50 mm, walls of 1.2 mm) and 110 mm over 0.1 m, 95 % of it gas.
    shape = SilencerShape(pipe=0, first=0, after=20, shell_diameter=0.11, free=0.95)
    network = SmallNetwork(shapes=[straight(0.1, TUBE, CELL)], ends={(0, 0): closed, (0, 1): closed}, joins=[])
    content = chambers_of([shape], network.pipes, P0).settings[CONTENT].sum()
    assert content == pytest.approx(0.95 * np.pi / 4.0 * (0.11**2 - 0.0524**2) * 0.1, rel=1e-12)


@pytest.mark.parametrize("shell_pressure", [0.9 * P0, 1.1 * P0])
def test_gas_takes_its_momentum_out_of_the_tube_and_brings_none_back(shell_pressure: float) -> None:
    shape = SilencerShape(pipe=0, first=0, after=20, shell_diameter=0.11, packing_temperature=T0)
    network = SmallNetwork(shapes=[straight(0.1, TUBE, CELL)], ends={(0, 0): closed, (0, 1): closed}, joins=[])
    network.fill(0, np.full(20, P0), 100.0)
    chambers = chambers_of([shape], network.pipes, shell_pressure)
    state, slot = network.pipes.state, int(chambers.slot[10])
    predict(network.pipes, 1e-5)
    mass, momentum = float(state[0, slot]), float(state[1, slot])
    breathe(network.pipes, chambers, 1e-5)
    gain = float(state[0, slot]) - mass
    assert abs(gain) > 1e-4 * mass
    assert (gain > 0.0) == (shell_pressure > P0)
    assert float(state[1, slot]) - momentum == pytest.approx(100.0 * min(gain, 0.0), abs=1e-12)


def test_silencer_at_rest_stays_at_rest() -> None:
    shape = SilencerShape(pipe=0, first=5, after=15, shell_diameter=0.12, packing_temperature=T0)
    network = SmallNetwork(shapes=[straight(0.1, TUBE, CELL)], ends={(0, 0): closed, (0, 1): closed}, joins=[])
    network.chambers = chambers_of([shape], network.pipes, P0)
    for _ in range(50):
        network.step(network.safe_step())
    assert np.abs(network.pressure(0) - P0).max() < 1e-6
    assert np.abs(network.chambers.speed).max() < 1e-8


def test_resistance_of_the_wall_grows_with_grazing_flow_as_published() -> None:
    # Rao and Munjal 1986 (from memory): at Mach 0.1 the resistance is 1 + 7.223 times that without flow.
    shape = SilencerShape(pipe=0, first=0, after=4, shell_diameter=0.1, porosity=0.1)
    network = SmallNetwork(shapes=[straight(0.1, TUBE, CELL)], ends={(0, 0): closed, (0, 1): closed}, joins=[])
    settings = chambers_of([shape], network.pipes, P0).settings
    assert settings[RESISTANCE] == pytest.approx(0.07337)
    assert (settings[RESISTANCE] + 0.1 * settings[GRAZING]) / settings[RESISTANCE] == pytest.approx(8.223)


def test_steady_pressure_difference_drives_the_jet_flow_through_the_wall() -> None:
    # A large volume behind few holes, quasi-steady: p = rho c r w + 1/2 rho (w/(0.7 porosity))^2.
    shape = SilencerShape(
        pipe=0, first=0, after=2, shell_diameter=3.0, porosity=0.01, flow_resistivity=0.0, packing_temperature=T0
    )
    network = SmallNetwork(shapes=[straight(0.01, 1.0, CELL)], ends={(0, 0): closed, (0, 1): closed}, joins=[])
    network.chambers = chambers_of([shape], network.pipes, P0 - 500.0)
    for _ in range(600):
        predict(network.pipes, 2e-6)
        breathe(network.pipes, network.chambers, 2e-6)
        network.fill(0, np.full(2, P0))
    w = float(network.chambers.speed[0, 0])
    behind = float(network.chambers.now[1, 0])
    settings = network.chambers.settings[:, 0]
    assert settings[JET] == pytest.approx(1.0 / 0.007**2)
    rho = P0 / (R * T0)
    drop = rho * C0 * settings[RESISTANCE] * w + 0.5 * rho * settings[JET] * w**2
    assert drop == pytest.approx(P0 - behind, rel=4e-3)


def test_collector_and_primaries_of_a_merge_pass_a_simulated_pulse_as_linear_acoustics_has_it() -> None:
    # 4 into 1, collector of the total area, 0.01 bar: -0.75 back, +0.25 into idle primaries and collector.
    area = [TUBE] * 4 + [4.0 * TUBE]
    network = SmallNetwork(
        shapes=[straight(1.0, a, 0.01) for a in area],
        ends={(0, 0): silent, (1, 1): silent, (2, 1): silent, (3, 1): silent, (4, 1): silent},
        joins=[([(0, 1), *[(k, 0) for k in range(1, 5)]], merge_cosines(5, 10.0), JOIN_MIXING)],
    )
    pressure, speed = pulse_at(centres(1.0, 0.01), 0.6, 0.5, 1e3)
    network.fill(0, pressure, speed)
    dt = network.safe_step()
    while network.time < 0.9 / C0:
        network.step(dt)
    size = (pressure - P0).sum()
    parts = [float((network.pressure(k) - P0).sum() / size) for k in range(5)]
    assert parts == pytest.approx([-0.75, 0.25, 0.25, 0.25, 0.25], rel=0.02)
