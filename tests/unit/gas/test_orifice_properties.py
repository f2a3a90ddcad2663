"""Whatever the states: fluxes are numbers, gas runs down the pressure, and no entropy is lost at an end."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from pipe_states import R, Seven, face, pipe, room

from pullbook.gas.end_waves import runs_out, wall_pressure
from pullbook.gas.ends import anechoic_end, open_end
from pullbook.gas.orifice import RECOVERY_MOMENTUM, RECOVERY_NONE, orifice

AREA = 1e-3


@st.composite
def pipes(draw: st.DrawFn, fastest: float = 0.6) -> Seven:
    """Last states of a pipe, up to a Mach number."""
    t, g = draw(st.floats(220.0, 2500.0)), draw(st.floats(1.22, 1.42))
    u = draw(st.floats(-fastest, fastest)) * math.sqrt(g * R * t)
    return pipe(draw(st.floats(0.05e5, 30e5)), t, u, gamma=g, q=draw(st.floats(-3e5, 3e5)), fractions=(0.3, 0.02))


@st.composite
def rooms(draw: st.DrawFn) -> Seven:
    """Gas at rest."""
    t, g = draw(st.floats(220.0, 3000.0)), draw(st.floats(1.2, 1.42))
    return room(draw(st.floats(0.05e5, 100e5)), t, gamma=g, q=draw(st.floats(-3e5, 3e5)), yb=0.9, yf=0.01)


openings = st.one_of(st.floats(0.0, 1.5), st.floats(-9.0, 0.0).map(lambda x: 10.0**x))
recoveries = st.sampled_from((RECOVERY_NONE, RECOVERY_MOMENTUM))


@given(pipes(fastest=3.0), rooms(), openings, recoveries)
def test_flux_is_a_number_and_runs_down_the_pressure(inside: Seven, outside: Seven, part: float, recovery: int) -> None:
    flux = orifice(inside, AREA, outside, part * AREA, recovery)
    assert all(map(math.isfinite, flux))
    assert flux[1] > 0.0
    wall = wall_pressure(inside)
    if abs(wall / outside[0] - 1.0) > 1e-9 and flux[0] != 0.0:
        assert (flux[0] > 0.0) == (wall > outside[0]) == runs_out(inside, outside[0])


@given(pipes(), rooms(), st.floats(1e-3, 1.0), recoveries)
def test_orifice_loses_no_entropy(inside: Seven, outside: Seven, part: float, recovery: int) -> None:
    flux = orifice(inside, AREA, outside, part * AREA, recovery)
    if abs(flux[0]) < 1e-9:
        return
    if flux[0] > 0.0:
        gamma, q = inside[3], inside[4]
        before = math.log(inside[2] / inside[0] ** gamma) / (gamma - 1.0)
    else:
        gamma, q = outside[3], outside[4] - outside[3] / (outside[3] - 1.0) * R * outside[1]
        before = math.log(outside[0] / (outside[0] / (R * outside[1])) ** gamma) / (gamma - 1.0)
    now = face(flux, AREA, gamma, q)
    assert now.entropy(gamma) >= before - 2e-6
    # The stream is never faster than sound.
    assert abs(now.u) <= math.sqrt(gamma * now.p / now.rho) * (1.0 + 1e-3)


@given(pipes(), rooms(), st.floats(1e-3, 1.0), recoveries)
def test_wave_in_the_pipe_links_speed_and_pressure_unless_the_stream_is_sonic(
    inside: Seven, outside: Seven, part: float, recovery: int
) -> None:
    from pipe_states import plain_change

    flux = orifice(inside, AREA, outside, part * AREA, recovery)
    if abs(flux[0]) < 1e-7:
        return
    gamma = inside[3] if flux[0] > 0.0 else outside[3]
    q = inside[4] if flux[0] > 0.0 else outside[4] - outside[3] / (outside[3] - 1.0) * R * outside[1]
    now = face(flux, AREA, gamma, q)
    sound = math.sqrt(gamma * now.p / now.rho)
    if abs(now.u) < 0.995 * sound:
        wanted = inside[1] - plain_change(now.p, inside[0], inside[2], inside[3])
        assert abs(now.u - wanted) < 1e-5 * math.sqrt(inside[3] * inside[2] / inside[0]) + 1e-5 * sound


@given(pipes(), rooms(), st.floats(0.01, 1.0), st.floats(1.0, 1.5))
def test_more_opening_passes_no_less(inside: Seven, outside: Seven, part: float, more: float) -> None:
    little, much = (orifice(inside, AREA, outside, x * AREA, 0)[0] for x in (part, part * more))
    assert abs(much) >= abs(little) * (1.0 - 1e-7)


@given(pipes(fastest=3.0), rooms(), st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_open_and_silent_ends_give_numbers(inside: Seven, outside: Seven, k_in: float, k_out: float) -> None:
    for flux in (open_end(inside, AREA, outside, k_in, k_out), anechoic_end(inside, AREA, outside)):
        assert all(map(math.isfinite, flux))
        assert flux[1] > 0.0
        assert abs(flux[0]) < 1e-9 or (flux[0] > 0.0) == runs_out(inside, outside[0])


@given(pipes(fastest=0.4), st.floats(0.0, 1.5), st.floats(0.0, 1.5))
def test_open_end_loses_no_entropy(inside: Seven, k_in: float, k_out: float) -> None:
    outside = room(1e5, 300.0)
    flux = open_end(inside, AREA, outside, k_in, k_out)
    if abs(flux[0]) < 1e-9:
        return
    source = inside if flux[0] > 0.0 else pipe(1e5, 300.0, 0.0)
    gamma, q = source[3], source[4]
    now = face(flux, AREA, gamma, q)
    assert now.entropy(gamma) >= math.log(source[2] / source[0] ** gamma) / (gamma - 1.0) - 2e-6


@given(pipes(fastest=0.3), st.floats(0.2, 5.0))
def test_fluxes_follow_the_scale_of_pressure(inside: Seven, scale: float) -> None:
    # Pressures and densities times a number at the same speeds: all fluxes are times that number.
    outside = room(1.3e5, 900.0, gamma=1.3)
    one = np.array(orifice(inside, AREA, outside, 0.4 * AREA, 0))
    larger = (inside[0] * scale, inside[1], inside[2] * scale, *inside[3:])
    two = np.array(orifice(larger, AREA, (outside[0] * scale, *outside[1:]), 0.4 * AREA, 0))
    assert np.all(np.abs(two - scale * one) <= 1e-6 * scale * np.abs(one) + 1e-9)
