"""Closed, silent and open ends: exact waves, and inflow and outflow in the steady limit."""

from __future__ import annotations

import math

import pytest
from pipe_states import R, face, pipe, plain_change, room, simple_wave

from pullbook.gas.end_waves import behind_wave, runs_out, sonic_end, wall_pressure
from pullbook.gas.ends import anechoic_end, closed_end, end_correction, open_end

AREA = 2e-3
STILL = room(1e5, 300.0)


def _in_steps(ratio: float, steps: int) -> float:
    """Pressure ratio at a closed end, a wave arriving in small steps: the state follows the face, no shock is met."""
    wall = 1e5
    for k in range(1, steps + 1):
        _, t, u = simple_wave(1.0 + (ratio - 1.0) * k / steps)
        # Behind the reflected wave so far the gas is at rest; the next part of the incident wave arrives through it:
        # along the characteristic that arrives, u + 2 c/(g - 1) is that of the incident wave, the entropy everywhere
        # that of the gas at rest.
        c_wall = math.sqrt(1.4 * R * 300.0) * (wall / 1e5) ** (0.4 / 2.8)
        arriving = u + 5.0 * math.sqrt(1.4 * R * t)
        speed = arriving - 5.0 * c_wall
        wall = wall_pressure(pipe(wall, c_wall**2 / (1.4 * R), speed))
    return wall / 1e5


# Standards 6.7 (Bannister and Wallace; from memory): two waves of X superpose to 2 X - 1; X^7 for gamma 1.4.
@pytest.mark.parametrize(("ratio", "reflected"), [(1.2, 1.433350), (1.5, 2.200588)])
def test_wave_of_finite_amplitude_is_reflected_by_a_closed_end(ratio: float, reflected: float) -> None:
    assert _in_steps(ratio, 400) == pytest.approx(reflected, abs=2e-6)


def test_wave_that_arrives_as_a_jump_is_reflected_by_a_shock() -> None:
    # A shock of pressure ratio 1.2 reflected by a wall: p2/p1 = ((3 g - 1) x - (g - 1)) / ((g - 1) x + g + 1) with
    # x = p1/p0 (reflected shock; Courant and Friedrichs 1948, section 70, from memory). At 3: 3 * (3.2*3-.4)/(1.2+2.4).
    for x in (1.2, 3.0):
        rho0 = 1e5 / (R * 300.0)
        mu = 0.4 / 2.4
        rho = rho0 * (x + mu) / (mu * x + 1.0)
        u = plain_change(x * 1e5, rho0, 1e5, 1.4)
        wall = wall_pressure((rho, u, x * 1e5, 1.4, 0.0, 0.0, 0.0))
        assert wall / (x * 1e5) == pytest.approx((3.2 * x - 0.4) / (0.4 * x + 2.4), rel=1e-12)


def test_wall_pressure_of_gas_that_runs_away_is_that_of_a_simple_wave() -> None:
    p, t, u = simple_wave(0.8)  # X = 0.968625: at the wall X becomes 2 X - 1
    assert wall_pressure(pipe(p, t, u)) / 1e5 == pytest.approx((2.0 * 0.8 ** (1.0 / 7.0) - 1.0) ** 7, rel=1e-12)


def test_gas_that_tears_away_leaves_a_trace_of_pressure() -> None:
    assert 0.0 < closed_end(pipe(1e5, 300.0, -3000.0), AREA)[1] <= 1e-6 * 1e5 * AREA


def test_half_of_a_shock_tube() -> None:
    # Air, 200 kPa and 300 K against 100 kPa and 300 K: p* 140178.98 Pa, u* 85.9432 m/s, densities 1.801786 and
    # 1.476414 (standards 6.1, exact solver).
    low = behind_wave(140178.98, 1e5 / (R * 300.0), 1e5, 1.4)
    high = behind_wave(140178.98, 2e5 / (R * 300.0), 2e5, 1.4)
    assert low[:2] == pytest.approx((85.9432, 1.476414), rel=1e-6)
    assert high[:2] == pytest.approx((-85.9432, 1.801786), rel=1e-6)


@pytest.mark.parametrize("ratio", [0.3, 0.9, 1.1, 4.0])
def test_slope_of_a_wave_is_that_of_its_difference(ratio: float) -> None:
    step = 1e-5
    above, below = (behind_wave(1e5 * ratio * (1.0 + s), 1.2, 1e5, 1.33)[0] for s in (step, -step))
    assert behind_wave(1e5 * ratio, 1.2, 1e5, 1.33)[3] == pytest.approx(
        (above - below) / (2e5 * step * ratio), rel=1e-7
    )


@pytest.mark.parametrize("u", [-300.0, -20.0, 0.0, 20.0, 300.0])
def test_side_to_which_gas_runs_is_told_by_the_pressure_on_a_wall(u: float) -> None:
    inside = pipe(1.2e5, 500.0, u)
    wall = wall_pressure(inside)
    assert runs_out(inside, wall * (1.0 - 1e-9))
    assert not runs_out(inside, wall * (1.0 + 1e-9))


# Linear reflection (standards 6.6): open -1, silent 0, closed +1; the amplitude is small.
def test_small_pulse_is_reflected_as_the_kind_of_end_has_it() -> None:
    p, t, u = simple_wave(1.0 + 1e-5)
    inside = pipe(p, t, u)
    scale = (p - 1e5) * AREA
    closed = closed_end(inside, AREA)
    opened = open_end(inside, AREA, STILL, 0.9, 0.0)
    silent = anechoic_end(inside, AREA, STILL)
    assert (closed[1] - 1e5 * AREA) / scale == pytest.approx(2.0, abs=1e-4)
    assert face(opened, AREA, 1.4).p == pytest.approx(1e5, abs=1e-4)
    assert face(opened, AREA, 1.4).u == pytest.approx(2.0 * u, rel=1e-4)
    assert (face(silent, AREA, 1.4).p - 1e5) * AREA / scale == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize("ratio", [0.5, 0.8, 1.2, 1.5])
def test_silent_end_lets_a_wave_of_any_size_pass(ratio: float) -> None:
    p, t, u = simple_wave(ratio)
    now = face(anechoic_end(pipe(p, t, u), AREA, STILL), AREA, 1.4)
    assert (now.p, now.u) == pytest.approx((p, u), rel=1e-9)


def test_silent_end_lets_a_wave_of_hot_gas_pass() -> None:
    p, t, u = simple_wave(1.3, t0=900.0, gamma=1.33)
    now = face(anechoic_end(pipe(p, t, u, gamma=1.33), AREA, STILL), AREA, 1.33)
    assert (now.p, now.u) == pytest.approx((p, u), rel=1e-9)


def test_jet_leaves_at_the_pressure_of_the_room_and_no_slower_than_sound_lets_it() -> None:
    now = face(open_end(pipe(1.1e5, 400.0, 50.0), AREA, STILL, 0.9, 0.0), AREA, 1.4)
    assert now.p == pytest.approx(1e5, rel=1e-12)
    choked = face(open_end(pipe(5e5, 400.0, 50.0), AREA, STILL, 0.9, 0.0), AREA, 1.4)
    assert choked.u == pytest.approx(math.sqrt(1.4 * choked.p / choked.rho), rel=1e-6)
    assert choked.p == pytest.approx(sonic_end(pipe(5e5, 400.0, 50.0))[0], rel=1e-6)


def test_supersonic_jet_takes_its_state_with_it_unless_the_shock_is_strong_enough_to_enter() -> None:
    inside = pipe(1e5, 300.0, 700.0)  # Mach 2.02: the normal shock in front of it has a pressure ratio of 4.57
    fast = open_end(inside, AREA, room(4e5, 300.0), 0.9, 0.0)
    assert fast[0] == pytest.approx(inside[0] * 700.0 * AREA, rel=1e-14)
    slow = open_end(inside, AREA, room(5e5, 300.0), 0.9, 0.0)
    assert slow[0] < 0.98 * fast[0]


@pytest.mark.parametrize("loss", [0.0, 0.5, 0.9])
def test_inflow_loses_its_share_of_the_velocity_head(loss: float) -> None:
    # Steady: the pipe's state is brought to the face's. Incompressible: p0 - p = (1 + K) rho u^2/2 (Idelchik 1994).
    p = 1e5 - 200.0
    inside = pipe(p, 300.0, 0.0)
    for _ in range(200):
        now = face(open_end(inside, AREA, STILL, loss, 0.0), AREA, 1.4)
        inside = (now.rho, now.u, p, 1.4, 0.0, 0.0, 0.0)
    head = 0.5 * now.rho * now.u**2
    assert (1e5 - now.p) / head == pytest.approx(1.0 + loss, rel=2e-3)
    assert now.p == pytest.approx(p, abs=0.05)


def test_inflow_without_loss_is_isentropic_at_any_speed() -> None:
    for u in (-50.0, -200.0, -280.0):
        now = face(open_end(pipe(0.7e5, 280.0, u), AREA, STILL, 0.0, 0.0), AREA, 1.4)
        assert now.entropy(1.4) == pytest.approx(math.log(1e5 / (1e5 / (R * 300.0)) ** 1.4) / 0.4, abs=1e-9)


def test_grille_holds_back_the_jet_by_its_share_of_the_head() -> None:
    now = face(open_end(pipe(1.05e5, 500.0, 60.0), AREA, STILL, 0.9, 1.5), AREA, 1.4)
    assert now.p - 1e5 == pytest.approx(1.5 * 0.5 * now.rho * now.u**2, rel=1e-6)


@pytest.mark.parametrize("end", ["open", "silent"])
def test_flow_turns_round_without_a_jump(end: str) -> None:
    def mass(p: float) -> float:
        inside = pipe(p, 300.0, 0.0)
        flux = open_end(inside, AREA, STILL, 0.9, 0.5) if end == "open" else anechoic_end(inside, AREA, STILL)
        return flux[0]

    assert mass(1e5) == 0.0
    assert 0.0 < mass(1e5 + 0.01) < 1e-6 > -mass(1e5 - 0.01) > 0.0


def test_entering_gas_brings_the_enthalpy_of_the_room() -> None:
    outside = room(1e5, 310.0, q=5e4, yf=0.05)
    mass, _, energy, burned, fuel = open_end(pipe(0.95e5, 900.0, -40.0, gamma=1.3), AREA, outside, 0.9, 0.0)
    assert mass < 0.0
    assert (energy / mass, burned, fuel / mass) == pytest.approx((outside[4], 0.0, 0.05), rel=1e-14)


# Levine and Schwinger 1948, abstract: 0.6133 radii. Flanged: 0.8217 radii (from memory). Radius 20 mm.
@pytest.mark.parametrize(("flanged", "millimetres"), [(False, 12.27), (True, 16.43)])
def test_end_correction_is_a_part_of_the_radius(flanged: bool, millimetres: float) -> None:  # noqa: FBT001  # a case of a table
    assert 1e3 * end_correction(0.020, flanged=flanged) == pytest.approx(millimetres, abs=0.005)


# Quarter-wave resonance of 0.8 m, radius 20 mm, sound speed 343.2 m/s (standards 5.4, computed).
@pytest.mark.parametrize(("flanged", "hertz"), [(False, 105.630), (True, 105.091)])
def test_corrected_pipe_sounds_lower(flanged: bool, hertz: float) -> None:  # noqa: FBT001  # a case of a table
    assert 343.2 / (4.0 * (0.8 + end_correction(0.020, flanged=flanged))) == pytest.approx(hertz, abs=6e-4)
