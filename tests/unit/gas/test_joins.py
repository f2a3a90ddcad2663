"""Joins of pipes: linear acoustics, exact closure, mixing of jets, and the second law."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from pipe_states import R, face, pipe, simple_wave

from pullbook.gas.join_mixing import (
    JOIN_MIXING,
    JOIN_STAGNATION,
    JOIN_STATIC,
    leaving_pressure,
    merge_cosines,
    turning_cosines,
)
from pullbook.gas.joins import join

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

    States = Sequence[tuple[float, ...]]
    Case = tuple[States, list[float], FloatArray, int]

MODELS = (JOIN_STATIC, JOIN_MIXING, JOIN_STAGNATION)
STEP = turning_cosines(np.array([180.0, 0.0]))
THREE = turning_cosines(np.array([0.0, 120.0, 240.0]))


def _run(states: States, area: list[float], cosine: FloatArray, model: int) -> FloatArray:
    flux = np.zeros((len(area), 5))
    join(np.array(states), np.array(area) * 1e-3, cosine, model, 0.0, flux)
    return flux


def _pulse(bar: float, area: list[float], cosine: FloatArray, model: int) -> list[float]:
    """Reflected part, and parts passed on, of a pulse in the first pipe; all gas at 1 bar and 300 K before."""
    p, t, u = simple_wave(1.0 + bar)
    flux = _run([pipe(p, t, u)] + [pipe(1e5, 300.0, 0.0)] * (len(area) - 1), area, cosine, model)
    faces = [face(flux[i], area[i] * 1e-3, 1.4).p for i in range(len(area))]
    return [(faces[0] - p) / (p - 1e5)] + [(f - 1e5) / (p - 1e5) for f in faces[1:]]


# R = (A1 - sum of the others)/(sum of all), T = 1 + R (standards 6.6).
CASES = {
    "three-way": ([1.0, 1.0, 1.0], THREE, -1.0 / 3.0),
    "five-way": ([1.0] * 5, merge_cosines(5, 10.0), -0.6),
    "four into one": ([1.0, 1.0, 1.0, 1.0, 4.0], merge_cosines(5, 10.0), -0.75),
    "step up": ([1.0, 4.0], STEP, -0.6),
    "step down": ([4.0, 1.0], STEP, 0.6),
    "step down by half": ([2.0, 1.0], STEP, 1.0 / 3.0),
    "no step": ([1.0, 1.0], STEP, 0.0),
}


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("case", CASES)
def test_pulse_of_a_hundredth_of_a_bar_passes_as_linear_acoustics_has_it(case: str, model: int) -> None:
    area, cosine, reflected = CASES[case]
    back, *passed = _pulse(0.01, area, cosine, model)
    assert back == pytest.approx(reflected, abs=0.02 * max(abs(reflected), 0.5))
    # The static join is within 2 % of the parts themselves; the others differ by the square of the Mach number.
    assert passed == pytest.approx([1.0 + reflected] * len(passed), rel=0.02)


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("case", CASES)
def test_ever_smaller_pulses_come_ever_nearer_to_linear_acoustics(case: str, model: int) -> None:
    area, cosine, reflected = CASES[case]
    errors = [abs(_pulse(bar, area, cosine, model)[0] - reflected) for bar in (1e-2, 1e-3, 1e-4)]
    assert errors[2] < 2e-4
    assert errors[2] <= 0.15 * errors[1] + 1e-7
    assert errors[1] <= 0.15 * errors[0] + 1e-7


def test_straight_pipe_through_a_join_changes_nothing() -> None:
    # An expansion passes as it is; a compression goes on as a shock, which differs in the third power of its size.
    for bar, allowed in ((-0.3, 1e-7), (0.1, 6e-5), (0.3, 6e-4)):
        back, passed = _pulse(bar, [1.0, 1.0], STEP, JOIN_MIXING)
        assert abs(back) < allowed
        assert passed == pytest.approx(1.0, abs=allowed)


def test_large_pulses_depart_from_linear_acoustics_as_jets_and_stiffer_gas_have_it() -> None:
    # At 0.3 bar in one of four primaries: the collector receives more than its quarter, since the jet's head is partly
    # recovered there, and the idle primaries less, since they see only the pressure of the merge plane.
    _, idle, _, _, collector = _pulse(0.3, *CASES["four into one"][:2], JOIN_MIXING)
    _, static_idle, _, _, static_collector = _pulse(0.3, *CASES["four into one"][:2], JOIN_STATIC)
    assert idle < static_idle == pytest.approx(static_collector, rel=1e-9)
    assert collector > static_collector
    # The choice matters: more than a tenth of the pulse in the collector.
    assert collector - static_collector > 0.1 * static_collector


def test_equal_streams_into_a_collector_of_their_area_see_no_jet_term() -> None:
    states = [pipe(1e5, 600.0, 60.0)] * 4 + [pipe(1e5, 600.0, -60.0)]
    area = [1.0] * 4 + [4.0]
    mixing = _run(states, area, merge_cosines(5, 0.0), JOIN_MIXING)
    static = _run(states, area, merge_cosines(5, 0.0), JOIN_STATIC)
    assert mixing == pytest.approx(static, rel=1e-9)
    assert face(mixing[4], 4e-3, 1.4).p == pytest.approx(1e5, rel=1e-9)


def test_back_flow_from_the_collector_sees_no_jet_term() -> None:
    states = [pipe(1e5, 600.0, -60.0)] * 4 + [pipe(1e5, 600.0, 60.0)]
    area = [1.0] * 4 + [4.0]
    mixing = _run(states, area, merge_cosines(5, 0.0), JOIN_MIXING)
    assert mixing == pytest.approx(_run(states, area, merge_cosines(5, 0.0), JOIN_STATIC), rel=1e-9)


def _steady_step(wide: float, speed: float) -> tuple[float, float, float, float]:
    """Steady flow from a pipe of area 1 into one of another area: states are brought to their faces."""
    states = [pipe(1e5, 300.0, speed), pipe(1e5, 300.0, -speed / wide)]
    for _ in range(400):
        flux = _run(states, [1.0, wide], STEP, JOIN_MIXING)
        here, there = face(flux[0], 1e-3, 1.4), face(flux[1], wide * 1e-3, 1.4)
        # Upstream the mass flow is held, downstream the pressure.
        states = [(here.rho, speed, here.p, 1.4, 0.0, 0.0, 0.0), (there.rho, there.u, 1e5, 1.4, 0.0, 0.0, 0.0)]
    return here.p, here.u, there.p, -there.u


@pytest.mark.parametrize("wide", [1.5, 4.0])
def test_sudden_enlargement_has_the_loss_of_borda_and_carnot(wide: float) -> None:
    p1, u1, p2, u2 = _steady_step(wide, 12.0)
    rho = 1e5 / (R * 300.0)
    # Incompressible: p2 - p1 = rho u1^2 s (1 - s), s = A1/A2 (Idelchik 1994, section 4; from memory).
    assert u2 == pytest.approx(u1 / wide, rel=5e-4)
    assert (p2 - p1) / (rho * u1**2) == pytest.approx(1.0 / wide * (1.0 - 1.0 / wide), rel=5e-4)


@pytest.mark.parametrize("narrow", [0.7, 0.25])
def test_sudden_contraction_is_isentropic(narrow: float) -> None:
    p1, u1, p2, u2 = _steady_step(narrow, 12.0)
    rho = 1e5 / (R * 300.0)
    assert p1 - p2 == pytest.approx(0.5 * rho * (u2**2 - u1**2), rel=5e-3)


def test_fast_contraction_keeps_its_entropy() -> None:
    flux = _run([pipe(1.3e5, 400.0, 120.0), pipe(1.1e5, 380.0, -200.0)], [1.0, 0.6], STEP, JOIN_MIXING)
    assert face(flux[1], 0.6e-3, 1.4).entropy(1.4) == pytest.approx(face(flux[0], 1e-3, 1.4).entropy(1.4), abs=5e-7)


def test_fast_enlargement_keeps_momentum() -> None:
    flux = _run([pipe(1.3e5, 400.0, 250.0), pipe(1.2e5, 380.0, -80.0)], [1.0, 2.5], STEP, JOIN_MIXING)
    here = face(flux[0], 1e-3, 1.4)
    # Control volume of the wide area: wall and stream at the pressure of the narrow pipe before the enlargement.
    assert flux[1, 1] == pytest.approx(flux[0, 1] + 1.5e-3 * here.p, rel=2e-7)


def test_stream_that_must_turn_brings_no_speed() -> None:
    # From a side pipe at right angles into a straight one, whose pressure lies a head below that of the merge plane.
    cosine = turning_cosines(np.array([90.0, 180.0, 0.0]))
    states = [pipe(1e5, 300.0, 20.0), pipe(1e5, 300.0, -10.0), pipe(1e5, 300.0, -10.0)]
    flux = _run(states, [1.0, 1.0, 1.0], cosine, JOIN_MIXING)
    side, left, right = (face(flux[i], 1e-3, 1.4) for i in range(3))
    assert left.p == pytest.approx(right.p, rel=1e-12)
    assert side.p - left.p == pytest.approx(0.5 * left.rho * left.u**2, rel=1e-2)


def test_common_stagnation_pressure_is_common() -> None:
    states = [pipe(1.2e5, 500.0, 60.0), pipe(1.1e5, 400.0, 10.0), pipe(1e5, 300.0, -50.0)]
    flux = _run(states, [1.0, 1.5, 2.0], THREE, JOIN_STAGNATION)
    heads = []
    for i, area in enumerate((1.0, 1.5, 2.0)):
        f = face(flux[i], area * 1e-3, 1.4)
        heads.append(f.p * (1.0 + 0.2 * f.u**2 * f.rho / (1.4 * f.p)) ** 3.5)
    assert heads == pytest.approx([heads[0]] * 3, rel=1e-6)


def test_nothing_moves_in_a_join_at_rest() -> None:
    for model in MODELS:
        flux = _run([pipe(1e5, t, 0.0) for t in (300.0, 700.0, 1100.0)], [1.0, 2.0, 3.0], THREE, model)
        assert np.all(flux[:, [0, 2, 3, 4]] == 0.0)
        assert flux[:, 1] == pytest.approx(1e5 * np.array([1.0, 2.0, 3.0]) * 1e-3, rel=1e-12)


def test_pressure_of_the_last_time_changes_the_answer_by_nothing_that_matters() -> None:
    states = np.array([pipe(1.4e5, 900.0, 100.0), pipe(1e5, 600.0, -30.0), pipe(1.1e5, 700.0, 20.0)])
    area = np.array([1.0, 1.0, 2.0]) * 1e-3
    cold, warm = np.zeros((3, 5)), np.zeros((3, 5))
    p = join(states, area, THREE, JOIN_MIXING, 0.0, cold)
    join(states, area, THREE, JOIN_MIXING, 1.01 * p, warm)
    assert warm == pytest.approx(cold, rel=1e-7)


def test_mixing_pressure_is_continuous_where_the_speeds_are_equal() -> None:
    at = [leaving_pressure(v, 1e5, 80.0, 4e5, 1.35) for v in (80.0 - 1e-6, 80.0, 80.0 + 1e-6)]
    assert at == pytest.approx([1e5] * 3, abs=1e-3)


@pytest.mark.parametrize("speed", [20.0, 60.0, 76.0])
def test_slower_stream_gains_pressure_by_momentum(speed: float) -> None:
    # Control volume of constant area with its inlet wall at the merge pressure: p2 + rho2 v^2 = p1 + rho2 v U.
    p = leaving_pressure(speed, 1e5, 80.0, 4e5, 1.35)
    rho = p / ((4e5 - 0.5 * speed**2) * 0.35 / 1.35)
    assert p + rho * speed**2 == pytest.approx(1e5 + rho * speed * 80.0, rel=1e-13)


def test_faster_stream_loses_pressure_without_loss_of_entropy() -> None:
    # From 80 to 120 m/s at one stagnation enthalpy: p ~ T^(g/(g - 1)).
    p = leaving_pressure(120.0, 1e5, 80.0, 4e5, 1.35)
    assert p / 1e5 == pytest.approx(((4e5 - 7200.0) / (4e5 - 3200.0)) ** (1.35 / 0.35), rel=1e-13)


def test_dense_jets_into_thin_gas_do_not_make_it_jump() -> None:
    # Cold jets at Mach 0.8 and a hot pipe in their way, whose gas goes from slowly leaving to slowly arriving.
    mass = []
    for u in np.linspace(-5.0, 15.0, 401):
        states = [pipe(1e5, 250.0, 250.0), pipe(1e5, 2000.0, float(u)), pipe(1e5, 250.0, -240.0)]
        mass.append(_run(states, [1.0, 1.0, 1.0], turning_cosines(np.array([180.0, 0.0, 0.0])), JOIN_MIXING)[1, 0])
    steps = np.abs(np.diff(mass))
    assert steps.max() < 3.0 * np.median(steps)


def test_cosines_of_a_merge_collector() -> None:
    # Half angle 10 degrees: primaries meet the collector at cos 10 = 0.984808, each other at minus the cosine between.
    cosine = merge_cosines(5, 10.0)
    assert cosine[:4, 4] == pytest.approx([0.984808] * 4, abs=1e-6)
    assert cosine == pytest.approx(cosine.T)
    assert np.diag(cosine) == pytest.approx([-1.0] * 5)
