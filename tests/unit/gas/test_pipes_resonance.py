"""Pipes that sound: quarter and half waves, a bottle; and what becomes of a wave that breaks."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from duct_cases import CLOSED, GAMMA, GAS_CONSTANT, RING, cells_of, centres, filled, room, straight, went
from scipy.optimize import brentq
from small_network import C0, FAR, P0, SmallNetwork, closed
from small_network import straight as tube

from pullbook.gas.ends import end_correction, open_end
from pullbook.gas.join_mixing import JOIN_STATIC, turning_cosines

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

SOUND: Final = 343.2
STILL: Final = 1e5
TEMPERATURE: Final = SOUND**2 / (GAMMA * GAS_CONSTANT)
DENSITY: Final = STILL / (GAS_CONSTANT * TEMPERATURE)
SMALL: Final = 1e-5


def quarter_wave(length: float, cells: int) -> tuple[float, float]:
    """Amplitude left after ten periods between a closed and an open end, and the frequency. [1, Hz]"""
    x = centres(length, cells)
    shape = np.cos(0.5 * np.pi * x / length)
    pipes = filled(straight(length, cells), DENSITY * (1.0 + SMALL / GAMMA * shape), 0.0, STILL * (1.0 + SMALL * shape))
    ideal = SOUND / (4.0 * length)
    rows = went(pipes, (CLOSED, room(STILL, TEMPERATURE)), 10.0 / ideal)
    cosine = 2.0 * np.mean((rows[2] / STILL - 1.0) * shape) / SMALL
    sine = 2.0 * np.mean(rows[1] * np.sin(0.5 * np.pi * x / length)) * GAMMA / (SMALL * SOUND)
    return math.hypot(cosine, sine), ideal * (1.0 + math.atan2(sine, cosine) / (20.0 * np.pi))


# 0.8 m, radius 20 mm, 343.2 m/s: no end correction, that of an unflanged end (0.6133 radii, Levine and Schwinger, Phys.
# Rev. 73 (1948) 383) and that of a flanged one (0.8217 radii, from memory).
@pytest.mark.parametrize(("flanged", "hertz"), [(None, 107.250), (False, 105.630), (True, 105.091)])
def test_pipe_with_one_open_end_sounds_at_its_quarter_wave(flanged: bool | None, hertz: float) -> None:  # noqa: FBT001  # a case of a table
    longer = 0.0 if flanged is None else end_correction(0.020, flanged=flanged)
    amplitude, frequency = quarter_wave(0.8 + longer, 40)
    assert frequency == pytest.approx(hertz, abs=1e-3)
    # An ideal open end sends all of it back, but for the velocity head of what flows in, which is of second order.
    assert amplitude == pytest.approx(1.0, abs=2e-4)


def opened(state: tuple[float, ...], area: float) -> tuple[float, float, float, float, float]:
    """Open end without loss."""
    return open_end(state[:7], area, FAR, 0.0, 0.0)  # type: ignore[arg-type]  # seven of eight numbers


def test_bottle_of_a_litre_sounds_at_its_own_note() -> None:
    # Plane waves in body and neck: tan(k Ln) tan(k Lb) = An/Ab; without length of the body it would be Helmholtz's
    # a/(2 pi) sqrt(A/(L V)), 145.22 Hz at 343.2 m/s (neck 100 mm x 30 mm diameter).
    neck, long_neck, body = 0.25 * np.pi * 0.030**2, 0.100, 0.010
    long_body = 1e-3 / body
    helmholtz = math.sqrt(neck / (long_neck * 1e-3)) / (2.0 * np.pi)
    assert 343.2 * helmholtz == pytest.approx(145.22, abs=0.005)
    k = brentq(lambda k: math.tan(k * long_neck) * math.tan(k * long_body) * body / neck - 1.0, 1e-3, 5.0)
    frequency = k * C0 / (2.0 * np.pi)
    assert frequency == pytest.approx(C0 * helmholtz, rel=0.025)
    cell = 0.005
    network = SmallNetwork(
        shapes=[tube(long_body, body, cell), tube(long_neck, neck, cell)],
        ends={(0, 0): closed, (1, 1): opened},
        joins=[([(0, 1), (1, 0)], turning_cosines(np.array([180.0, 0.0])), JOIN_STATIC)],
    )
    x = (np.arange(20) + 0.5) * cell
    network.fill(0, P0 + 0.1 * np.cos(k * x))
    network.fill(1, P0 + 0.1 * np.cos(k * long_body) * np.sin(k * (long_neck - x)) / np.sin(k * long_neck))
    periods, pressure = [], []
    while network.time < 5.4 / frequency:
        network.step(network.safe_step())
        periods.append(network.time * frequency)
        pressure.append(float(network.pressure(0)[0]) - P0)
    seen = (np.array(periods) > 5.1) & (np.array(periods) < 5.4)
    assert np.interp(0.0, -np.array(pressure)[seen], np.array(periods)[seen]) == pytest.approx(5.25, abs=1e-5)
    assert max(pressure[len(pressure) // 2 :]) == pytest.approx(0.1, rel=3e-4)


HEIGHT: Final = 0.1 * SOUND
BREAKS: Final = 2.0 / ((GAMMA + 1.0) * np.pi * HEIGHT)  # 7.73 ms


def wave(cells: int, until: float) -> FloatArray:
    """One hump in a ring of one metre, running to the right; u = h (1 + cos 2 pi x)/2."""
    x = centres(1.0, cells)
    speed = 0.5 * HEIGHT * (1.0 + np.cos(2.0 * np.pi * x))
    ratio = 1.0 + 0.5 * (GAMMA - 1.0) * speed / SOUND
    pipes = filled(straight(1.0, cells), DENSITY * ratio**5, speed, STILL * ratio**7)
    went(pipes, (RING, RING), until)
    return pipes.primitive[:3, cells_of(pipes)].copy()


@pytest.mark.parametrize(("part", "within"), [(0.25, 1e-4), (0.5, 5e-4), (0.75, 8e-3)])
def test_front_of_a_wave_steepens_until_it_breaks(part: float, within: float) -> None:
    # Along characteristics -du/dx = s/(1 - t/tb), with tb = 2/((gamma + 1) s) and s the steepest at the start
    # (Riemann, 1860): here s = pi h.
    cells = 400
    speed = wave(cells, part * BREAKS)[1]
    steepest = -np.diff(np.append(speed, speed[0])).min() * cells
    assert steepest == pytest.approx(np.pi * HEIGHT / (1.0 - part), rel=within)


def test_entropy_stays_until_the_wave_breaks_and_rises_afterwards() -> None:
    def entropy(until: float) -> float:
        rho, _, p = wave(400, until)
        return float(np.mean(rho * np.log(p / STILL / (rho / DENSITY) ** GAMMA)) / DENSITY)

    before, after, long_after = entropy(0.8 * BREAKS), entropy(1.5 * BREAKS), entropy(3.0 * BREAKS)
    assert abs(before) < 8e-9
    assert after > 5e-5
    assert long_after > 2.0 * after


def test_uniform_stream_in_a_ring_stays_as_it_is() -> None:
    pipes = filled(straight(1.0, 40), 1.1, 77.0, np.full(40, 1.2e5))
    rows = went(pipes, (RING, RING), 0.05)
    np.testing.assert_allclose(rows, np.array([[1.1], [77.0], [1.2e5]]) * np.ones((1, 40)), rtol=1e-12)
