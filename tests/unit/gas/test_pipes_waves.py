"""Waves in a straight pipe: order, standing waves, waves of finite amplitude."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from duct_cases import CLOSED, FREE, GAMMA, GAS_CONSTANT, RING, cells_of, centres, filled, straight, went

from pullbook.gas.grid import PipeShape
from pullbook.gas.pipes import prepare

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

SOUND = 343.2
TEMPERATURE = SOUND**2 / (GAMMA * GAS_CONSTANT)
STILL = 1e5
STILL_DENSITY = STILL / (GAS_CONSTANT * TEMPERATURE)


def simple_wave(x: FloatArray, time: float, height: float) -> FloatArray:
    """Conserved density, momentum and energy of one smooth hump running right in a ring of one metre.

    Along ``dx/dt = u + c`` nothing changes, and ``u - 2 c/(gamma - 1)`` is the same everywhere (Riemann, 1860).
    """
    speed = np.zeros_like(x)
    for _ in range(200):
        sound = SOUND + 0.5 * (GAMMA - 1.0) * speed
        speed = 0.5 * height * (1.0 + np.cos(2.0 * np.pi * (x - (speed + sound) * time)))
    sound = SOUND + 0.5 * (GAMMA - 1.0) * speed
    rho = STILL_DENSITY * (sound / SOUND) ** 5
    p = STILL * (sound / SOUND) ** 7
    return np.array([rho, rho * speed, p / (GAMMA - 1.0) + 0.5 * rho * speed**2])


def cell_means(cells: int, time: float, height: float) -> FloatArray:
    """Means over the cells by Gauss's rule of five points."""
    nodes, weights = np.polynomial.legendre.leggauss(5)
    x = centres(1.0, cells)[:, None] + 0.5 / cells * nodes
    return simple_wave(x, time, height) @ (0.5 * weights)


def orders() -> FloatArray:
    """Orders of convergence of the density of a smooth wave, from 64 to 128 and from 128 to 256 cells."""
    # It would break after 2/((gamma + 1) max(-du/dx)) = 7.7 ms.
    height, until = 0.1 * SOUND, 3.8e-3
    errors = []
    for cells in (64, 128, 256):
        pipes = filled(straight(1.0, cells), STILL_DENSITY, 0.0, np.full(cells, STILL))
        pipes.state[:3, cells_of(pipes)] = cell_means(cells, 0.0, height)
        prepare(pipes)
        went(pipes, (RING, RING), until)
        gap = pipes.state[0, cells_of(pipes)] - cell_means(cells, until, height)[0]
        errors.append(np.abs(gap).mean())
    found: FloatArray = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    return found


def test_smooth_wave_converges_with_second_order() -> None:
    found = orders()
    assert np.all(found >= 1.9), found


def standing_wave(cells: int, periods: int) -> tuple[float, float]:
    """Amplitude left of a standing wave between closed ends, and its phase error in degrees a period.

    The period is 2 L/c (Rayleigh, Theory of Sound, section 255).
    """
    x = centres(1.0, cells)
    shape = np.cos(np.pi * x)
    small = 1e-5
    density = STILL_DENSITY * (1.0 + small / GAMMA * shape)
    pipes = filled(straight(1.0, cells), density, 0.0, STILL * (1.0 + small * shape))
    rows = went(pipes, (CLOSED, CLOSED), periods * 2.0 / SOUND)
    cosine = 2.0 * np.mean((rows[2] / STILL - 1.0) * shape) / small
    sine = 2.0 * np.mean(rows[1] * np.sin(np.pi * x)) * GAMMA / (small * SOUND)
    return float(np.hypot(cosine, sine)), float(np.degrees(np.arctan2(sine, cosine))) / periods


def test_standing_wave_keeps_amplitude_and_phase() -> None:
    amplitude, phase = standing_wave(50, 10)
    assert amplitude == pytest.approx(1.0, abs=3e-4)
    assert abs(phase) < 2e-3


def test_sound_is_of_third_order() -> None:
    # The slopes lean to the Courant number of each wave: with the plain mean of the jumps it would be second order.
    coarse, fine = standing_wave(25, 10), standing_wave(50, 10)
    assert (1.0 - coarse[0]) / (1.0 - fine[0]) > 7.0
    assert coarse[1] / fine[1] > 7.0


def plateau(x: FloatArray, ends: tuple[float, float], rise: float) -> FloatArray:
    """One between two ends, zero outside, with smooth shoulders."""
    return 0.25 * (1.0 + np.tanh((x - ends[0]) / rise)) * (1.0 + np.tanh((ends[1] - x) / rise))


# Ratio of pressure, speed of the gas, speed of the wave, way to go before its steep shoulder has eaten it. From
# X = (p/p0)^((gamma - 1)/(2 gamma)), u = 2 c0/(gamma - 1) (X - 1), c = c0 X (Bannister and Mucklow, Proc. IMechE 159
# (1948) 269; from memory), by hand.
WAVES = [
    (1.2, 45.282, 397.538, 0.8),
    (1.5, 102.332, 465.998, 0.8),
    (0.8, -53.839, 278.593, 0.8),
    (0.5, -161.778, 149.066, 0.2),
]


@pytest.mark.parametrize(("ratio", "gas", "wave", "way"), WAVES)
def test_wave_of_finite_amplitude_runs_one_way_at_its_own_speed(
    ratio: float, gas: float, wave: float, way: float
) -> None:
    cells, length = 400, 4.0
    x = centres(length, cells)
    height = ratio ** (1.0 / 7.0) - 1.0
    excess = height * plateau(x, (0.8, 1.6), 0.06)
    density = STILL_DENSITY * (1.0 + excess) ** 5
    pipes = filled(straight(length, cells), density, gas / height * excess, STILL * (1.0 + excess) ** 7)
    until = way / wave
    rows = went(pipes, (FREE, FREE), until)
    # The middle of the plateau has moved with the speed of the wave and is still as high.
    assert np.interp(1.2 + way, x, rows[2]) == pytest.approx(ratio * STILL, rel=5e-4)
    assert np.interp(1.2 + way, x, rows[1]) == pytest.approx(gas, rel=1e-3)
    # Nothing was sent the other way: 0.02 % at most of what the steepest shoulder is made of.
    np.testing.assert_allclose(rows[2, x < 0.4], STILL, rtol=2e-4)
    # The shoulder that spreads, the rear one of a compression and the front one of an expansion, runs at its own speed.
    half = 1.0 + 0.5 * height
    own = SOUND * half + 5.0 * SOUND * (half - 1.0)
    start, part = (0.8, x < 1.2 + way) if ratio > 1.0 else (1.6, x > 1.2 + way)
    ratios = (rows[2, part] / STILL) ** (1.0 / 7.0)
    assert np.interp(half, ratios, x[part]) == pytest.approx(start + own * until, abs=0.01)


# Ratios of the two waves that meet; ratio of pressure and speed over c0 where they overlap. Xs = X1 + X2 - 1,
# us = 2 c0/(gamma - 1) (X1 - X2), same source.
MEETINGS = [
    (1.2, 1.2, 1.433350, 0.0),
    (1.5, 1.5, 2.200588, 0.0),
    (1.2, 0.8, 0.965610, 0.288815),
]


@pytest.mark.parametrize(("right", "left", "ratio", "speed"), MEETINGS)
def test_opposed_waves_superpose_as_their_invariants_say(right: float, left: float, ratio: float, speed: float) -> None:
    cells, length = 400, 4.0
    x = centres(length, cells)
    from_left = (right ** (1.0 / 7.0) - 1.0) * plateau(x, (0.7, 1.7), 0.05)
    from_right = (left ** (1.0 / 7.0) - 1.0) * plateau(x, (2.3, 3.3), 0.05)
    excess = from_left + from_right
    pipes = filled(
        straight(length, cells),
        STILL_DENSITY * (1.0 + excess) ** 5,
        5.0 * SOUND * (from_left - from_right),
        STILL * (1.0 + excess) ** 7,
    )
    rows = went(pipes, (FREE, FREE), 0.8 / SOUND)
    middle = (x > 1.95) & (x < 2.05)
    np.testing.assert_allclose(rows[2, middle], ratio * STILL, rtol=1e-3)
    np.testing.assert_allclose(rows[1, middle], speed * SOUND, atol=1e-4 * SOUND)


def test_closed_end_doubles_a_wave_as_its_mirror_would() -> None:
    # A wave of 1.2 at a closed end stands at 1.433350, see above.
    cells, length = 300, 3.0
    x = centres(length, cells)
    excess = (1.2 ** (1.0 / 7.0) - 1.0) * plateau(x, (1.2, 2.4), 0.05)
    pipes = filled(
        straight(length, cells),
        STILL_DENSITY * (1.0 + excess) ** 5,
        5.0 * SOUND * excess,
        STILL * (1.0 + excess) ** 7,
    )
    rows = went(pipes, (FREE, CLOSED), 1.1 / SOUND)
    np.testing.assert_allclose(rows[2, -5:], 1.433350 * STILL, rtol=1e-4)


# Ratio of areas behind and before, reflected and transmitted pressure over the incoming: (A1 - A2)/(A1 + A2) and
# 2 A1/(A1 + A2) (Rayleigh, Theory of Sound, section 264).
STEPS = [(0.25, 0.6, 1.6), (0.5, 1 / 3, 4 / 3), (2.0, -1 / 3, 2 / 3), (4.0, -0.6, 0.4)]


@pytest.mark.parametrize(("ratio", "back", "on"), STEPS)
def test_long_pulse_at_a_short_taper_is_reflected_as_at_a_step(ratio: float, back: float, on: float) -> None:
    cells, length = 400, 4.0
    x = centres(length, cells)
    shape = PipeShape(
        position=np.array([0.0, 2.0, 2.02, length]),
        diameter=0.04 * np.sqrt(np.array([1.0, 1.0, ratio, ratio])),
        cells=cells,
        friction=0.0,
        heat=0.0,
    )
    small = 1e-4
    pulse = small * np.exp(-(((x - 1.0) / 0.15) ** 2))
    density = STILL_DENSITY * (1.0 + pulse / GAMMA)
    pipes = filled(shape, density, SOUND * pulse / GAMMA, STILL * (1.0 + pulse))
    rows = went(pipes, (FREE, FREE), 1.6 / SOUND)
    change = (rows[2] / STILL - 1.0) / small
    assert change[x > 2.02].max() == pytest.approx(on, rel=0.01)
    reflected = change[(x > 0.8) & (x < 1.9)]
    assert reflected[np.argmax(np.abs(reflected))] == pytest.approx(back, rel=0.01)
