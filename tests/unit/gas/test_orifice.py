"""Orifice between a pipe and a volume: published flows, limits, and an answer found in another way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pipe_states import R, face, pipe, plain_change, room

from pullbook.gas.ends import closed_end
from pullbook.gas.orifice import RECOVERY_MOMENTUM, RECOVERY_NONE, orifice, orifice_flow

AREA = 1e-3
BOTH = (RECOVERY_NONE, RECOVERY_MOMENTUM)


# Heywood 1988, appendix C, eqs C.8 and C.9 (from memory), worked examples: CD 0.6, 40 mm valve, 10 mm lift.
@pytest.mark.parametrize(
    ("downstream", "mass"),
    [(99e3, 0.036141), (95e3, 0.079043), (90e3, 0.108575), (80e3, 0.144053), (60e3, 0.173923), (50e3, 0.175931)],
)
def test_intake_valve_passes_the_published_flow(downstream: float, mass: float) -> None:
    air = room(100e3, 300.0)
    assert orifice_flow(0.6 * math.pi * 40e-3 * 10e-3, air, downstream) == pytest.approx(mass, rel=1e-5)


# The same formula: CD 0.7, 35 mm valve, 8 mm lift, gamma 1.33, R 290, to 1 bar; choked and not.
@pytest.mark.parametrize(("p0", "t0", "mass"), [(3e5, 1200.0, 0.210626), (1.2e5, 1000.0, 0.071432)])
def test_exhaust_valve_passes_the_published_flow(p0: float, t0: float, mass: float) -> None:
    hot = (p0, t0, 290.0, 1.33, 0.0, 1.0, 0.0)
    assert orifice_flow(0.7 * math.pi * 35e-3 * 8e-3, hot, 1e5) == pytest.approx(mass, rel=5e-6)


# Choked flow function sqrt(g) (2/(g+1))^((g+1)/(2(g-1))), computed from the formula to six digits.
@pytest.mark.parametrize(("gamma", "number"), [(1.4, 0.684731), (1.35, 0.676145), (1.33, 0.672628), (1.3, 0.667262)])
def test_choked_flow_number(gamma: float, number: float) -> None:
    assert orifice_flow(1.0, room(1e5, 300.0, gamma=gamma), 0.0) * math.sqrt(R * 300.0) / 1e5 == pytest.approx(
        number, abs=6e-7
    )


def test_flow_bench_at_28_inches_of_water() -> None:
    # 28 inH2O = 6974.49 Pa at 20 degC and 101325 Pa: 124.730 kg/m2/s, computed from the formula.
    flux = orifice_flow(1.0, room(101325.0, 293.15), 101325.0 - 6974.49)
    assert flux == pytest.approx(124.730, rel=5e-5)
    # 103.586 m/s of the upstream air.
    assert flux / (101325.0 / (R * 293.15)) == pytest.approx(103.586, rel=5e-5)


# The pipe is so wide that its gas is at rest: the orifice stands between two reservoirs.
@pytest.mark.parametrize("recovery", BOTH)
@pytest.mark.parametrize(("p0", "downstream"), [(1e5, 0.99e5), (1e5, 0.9e5), (1e5, 0.6e5), (3e5, 1e5)])
def test_between_two_large_volumes_the_flow_is_the_published_one_both_ways(
    p0: float, downstream: float, recovery: int
) -> None:
    throat, wide = 1e-4, 1e3
    wanted = orifice_flow(throat, room(p0, 320.0), downstream)
    out = orifice(pipe(p0, 320.0, 0.0), wide, room(downstream, 300.0), throat, recovery)
    into = orifice(pipe(downstream, 300.0, 0.0), wide, room(p0, 320.0), throat, recovery)
    assert out[0] == pytest.approx(wanted, rel=2e-6)
    assert into[0] == pytest.approx(-wanted, rel=2e-6)


def test_no_area_is_a_closed_wall() -> None:
    inside = pipe(1.3e5, 700.0, 80.0)
    assert orifice(inside, AREA, room(1e5, 300.0), 0.0, 0) == closed_end(inside, AREA)


@pytest.mark.parametrize("outside", [0.5e5, 2e5])
def test_little_area_comes_near_a_closed_wall(outside: float) -> None:
    inside = pipe(1e5, 300.0, 20.0)
    wall = closed_end(inside, AREA)
    little = orifice(inside, AREA, room(outside, 300.0), 1e-8 * AREA, 0)
    assert abs(little[0]) < 1e-6 * AREA * 300.0
    assert little[1] == pytest.approx(wall[1], rel=1e-6)


@pytest.mark.parametrize("recovery", BOTH)
@pytest.mark.parametrize("ratio", [1e-3, 0.3, 0.9, 1.0])
def test_flow_passes_through_zero_without_a_jump(ratio: float, recovery: int) -> None:
    inside = pipe(1e5, 400.0, 0.0)
    fluxes = [orifice(inside, AREA, room(1e5 * (1.0 + d), 300.0), ratio * AREA, recovery) for d in (-1e-9, 0.0, 1e-9)]
    assert fluxes[1][0] == 0.0
    assert fluxes[0][0] > 0.0 > fluxes[2][0]
    assert max(abs(f[0]) for f in fluxes) < 1e-4 * AREA * 300.0
    assert [f[1] for f in fluxes] == pytest.approx([1e5 * AREA] * 3, rel=1e-7)


@pytest.mark.parametrize("recovery", BOTH)
@pytest.mark.parametrize("ratio", [0.05, 0.5, 0.9, 0.9999, 1.0])
def test_flux_is_a_continuous_falling_function_of_the_pressure_outside(ratio: float, recovery: int) -> None:
    inside = pipe(1.2e5, 600.0, 30.0, gamma=1.35)
    pressures = np.geomspace(0.1e5, 12e5, 4000)
    mass = np.array([orifice(inside, AREA, room(p, 900.0, gamma=1.3), ratio * AREA, recovery)[0] for p in pressures])
    # Steps of 0.12 % in pressure: with a full opening the slope near equal pressures is that of a sound wave.
    assert np.all(np.diff(mass) < 1e-9 * AREA * 400.0)
    assert np.abs(np.diff(mass)).max() < 0.02 * AREA * 400.0


def test_jet_into_a_pipe_keeps_the_stagnation_enthalpy_and_composition() -> None:
    outside = room(3e5, 1200.0, gamma=1.3, q=2e5, yb=0.7, yf=0.1)
    for recovery in BOTH:
        mass, _, energy, burned, fuel = orifice(pipe(1e5, 500.0, 0.0), AREA, outside, 0.3 * AREA, recovery)
        assert energy / mass == pytest.approx(outside[4], rel=1e-14)
        assert (burned / mass, fuel / mass) == pytest.approx((0.7, 0.1), rel=1e-14)


def test_gas_that_leaves_keeps_its_stagnation_enthalpy_up_to_the_work_of_the_wave() -> None:
    # A steady stream: the last state in the pipe is the state at the face, no wave is needed.
    throat = 0.4 * AREA
    inside = pipe(1.5e5, 800.0, 0.0, gamma=1.35, q=-3e4, fractions=(1.0, 0.0))
    for _ in range(60):  # the pipe's state is brought to the face's until the wave has vanished
        flux = orifice(inside, AREA, room(1.2e5, 300.0), throat, 0)
        now = face(flux, AREA, 1.35, -3e4)
        inside = (now.rho, now.u, now.p, 1.35, -3e4, 1.0, 0.0)
    mass, _, energy, burned, _ = flux
    enthalpy = 1.35 / 0.35 * inside[2] / inside[0] - 3e4 + 0.5 * inside[1] ** 2
    assert energy / mass == pytest.approx(enthalpy, rel=1e-12)
    assert burned == mass
    # Its stagnation state through the published formula gives the same flow.
    sound2 = 1.35 * inside[2] / inside[0]
    rise = 1.0 + 0.175 * inside[1] ** 2 / sound2
    stagnation = room(inside[2] * rise ** (1.35 / 0.35), inside[2] / inside[0] / R * rise, gamma=1.35)
    assert mass == pytest.approx(orifice_flow(throat, stagnation, 1.2e5), rel=1e-9)


def test_choked_outflow_has_the_mach_number_of_the_area_ratio() -> None:
    # NACA 1135 (from memory): A/A* = 2.03507 at Mach 0.3, whatever the pressure beyond the throat.
    for beyond in (0.1e5, 0.3e5):
        flux = orifice(pipe(1e5, 300.0, 0.0), AREA, room(beyond, 300.0), AREA / 2.03507, 0)
        now = face(flux, AREA, 1.4)
        assert now.u / math.sqrt(1.4 * now.p / now.rho) == pytest.approx(0.3, abs=2e-6)


def test_choked_valve_into_a_wide_pipe_at_low_pressure_is_clipped_to_sonic() -> None:
    # The gas of the pipe runs away at 600 m/s: the stream that follows may not pass the speed of sound at the face.
    flux = orifice(pipe(0.2e5, 900.0, -600.0, gamma=1.33), AREA, room(8e5, 2000.0, gamma=1.28), 0.2 * AREA, 0)
    now = face(flux, AREA, 1.28)
    assert -now.u / math.sqrt(1.28 * now.p / now.rho) == pytest.approx(1.0, abs=1e-6)
    assert flux[0] == pytest.approx(-orifice_flow(0.2 * AREA, room(8e5, 2000.0, gamma=1.28), 0.0), rel=1e-12)


@pytest.mark.parametrize("outside", [0.8e5, 1.3e5])
def test_opening_wider_than_the_pipe_is_as_wide_as_the_pipe(outside: float) -> None:
    inside = pipe(1e5, 400.0, 0.0)
    wide = orifice(inside, AREA, room(outside, 300.0), 3.0 * AREA, 0)
    assert wide == orifice(inside, AREA, room(outside, 300.0), AREA, 0)
    # Then nothing is lost: the pipe has the volume's pressure, or the volume's stagnation state.
    now = face(wide, AREA, 1.4)
    if wide[0] > 0.0:
        assert now.p == pytest.approx(outside, rel=1e-9)
    else:
        assert now.p * (1.0 + 0.2 * now.u**2 * now.rho / (1.4 * now.p)) ** 3.5 == pytest.approx(outside, rel=1e-9)


def test_momentum_recovery_is_that_of_a_sudden_enlargement() -> None:
    # Borda and Carnot, incompressible: the pressure rises by rho u^2 s (1 - s) behind the throat, s the area ratio.
    s = 0.4
    flux = orifice(pipe(1e5, 300.0, -3.0), AREA, room(1e5 + 60.0, 300.0), s * AREA, RECOVERY_MOMENTUM)
    now = face(flux, AREA, 1.4)
    rho = 1e5 / (R * 300.0)
    throat = -now.u / s
    assert now.p - (1e5 + 60.0 - 0.5 * rho * throat**2) == pytest.approx(rho * throat**2 * s * (1.0 - s), rel=2e-3)


def test_without_recovery_the_pipe_has_the_pressure_of_the_throat() -> None:
    flux = orifice(pipe(1e5, 300.0, -3.0), AREA, room(1e5 + 60.0, 300.0), 0.4 * AREA, RECOVERY_NONE)
    now = face(flux, AREA, 1.4)
    throat = -now.u / 0.4
    assert 1e5 + 60.0 - now.p == pytest.approx(0.5 * 1e5 / (R * 300.0) * throat**2, rel=2e-3)


def _outflow_by_bisection(inside: tuple[float, ...], beyond: float, ratio: float) -> float:
    """Mass flow per pipe area out of a pipe, subsonic at the face, found from the published orifice formula alone."""
    from scipy.optimize import brentq

    rho, u, p, g = inside[:4]

    def at(p_face: float) -> tuple[float, float]:
        speed = u - plain_change(p_face, rho, p, g)
        mu = (g - 1.0) / (g + 1.0)
        x = p_face / p
        dense = rho * ((x + mu) / (mu * x + 1.0) if x > 1.0 else x ** (1.0 / g))
        rise = 1.0 + 0.5 * (g - 1.0) * speed**2 * dense / (g * p_face)
        stagnation = room(p_face * rise ** (g / (g - 1.0)), p_face / (dense * R) * rise, gamma=g)
        return dense * speed, orifice_flow(ratio, stagnation, beyond)

    def excess(p_face: float) -> float:
        brought, taken = at(p_face)
        return brought - taken

    top = brentq(lambda x: u - plain_change(x, rho, p, g), 1e-3 * p, 100.0 * p, xtol=1e-9, rtol=1e-14)
    sound_limit = 0.35 * top  # below this the face would be supersonic for the states used here
    low = max(beyond, sound_limit)
    return at(brentq(excess, low, top, xtol=1e-9, rtol=1e-14))[0]


def test_outflow_agrees_with_a_bisection_of_the_published_formula() -> None:
    rng = np.random.default_rng(7)
    for _ in range(60):
        g = rng.uniform(1.28, 1.4)
        t = rng.uniform(300.0, 1300.0)
        inside = pipe(rng.uniform(0.9e5, 2e5), t, rng.uniform(-0.1, 0.3) * math.sqrt(g * R * t), gamma=g)
        ratio = rng.uniform(0.05, 0.8)
        beyond = 0.8e5 * rng.uniform(0.3, 1.0)
        mine = orifice(inside, 1.0, room(beyond, 300.0), ratio, 0)
        assert mine[0] == pytest.approx(_outflow_by_bisection(inside, beyond, ratio), rel=1e-8)


def test_nothing_is_raised_whatever_comes() -> None:
    for bad in (math.nan, math.inf):
        flux = orifice(pipe(bad, 300.0, 0.0), AREA, room(1e5, 300.0), 0.5 * AREA, 0)
        assert len(flux) == 5
