"""Large pulses in joins against equations written out anew, and pulses between gases of different temperature."""

from __future__ import annotations

import math

import numpy as np
import pytest
from join_equations import one_active
from pipe_states import R, face, pipe, simple_wave

from pullbook.gas.join_mixing import JOIN_MIXING, JOIN_STATIC, merge_cosines, turning_cosines
from pullbook.gas.joins import join

P0, T0, G = 1e5, 300.0, 1.4


@pytest.mark.parametrize("model", [JOIN_STATIC, JOIN_MIXING])
@pytest.mark.parametrize("bar", [0.01, 0.3, 0.6])
def test_four_into_one_agrees_with_nested_bisection(bar: float, model: int) -> None:
    cosine = merge_cosines(5, 12.0)
    area = np.array([1.0, 1.0, 1.0, 1.0, 4.0]) * 1e-3
    p, t, u = simple_wave(1.0 + bar, P0, T0)
    flux = np.zeros((5, 5))
    merge = join(np.array([pipe(p, t, u)] + [pipe(P0, T0, 0.0)] * 4), area, cosine, model, 0.0, flux)
    others = [(area[i] / area[0], cosine[0, i]) for i in range(1, 5)]
    wanted, each = one_active(bar, others, model)
    assert merge == pytest.approx(wanted, rel=1e-7)
    assert [face(flux[i], area[i], G).p for i in range(1, 5)] == pytest.approx(each, rel=1e-7)


# What departs from linear acoustics (-0.75, +0.25): the first row by the gas alone, which grows stiffer as it is
# compressed; the second with the jet, of whose head the collector recovers 3/8 (2 s (1 - s) with s = 1/4) while the
# idle primaries get none. From the nested bisection above, three digits.
@pytest.mark.parametrize(
    ("bar", "model", "back", "idle", "collector"),
    [
        (0.3, JOIN_STATIC, -0.766, 0.234, 0.234),
        (0.6, JOIN_STATIC, -0.773, 0.227, 0.227),
        (0.3, JOIN_MIXING, -0.805, 0.191, 0.271),
        (0.6, JOIN_MIXING, -0.854, 0.142, 0.294),
    ],
)
def test_departures_of_large_pulses_have_the_known_size(
    bar: float, model: int, back: float, idle: float, collector: float
) -> None:
    cosine = merge_cosines(5, 10.0)
    merge, each = one_active(bar, [(1.0, cosine[0, 1])] * 3 + [(4.0, cosine[0, 4])], model)
    p1, height = P0 * (1.0 + bar), P0 * bar
    assert (merge - p1) / height == pytest.approx(back, abs=2e-3)
    assert (each[0] - P0) / height == pytest.approx(idle, abs=2e-3)
    assert (each[3] - P0) / height == pytest.approx(collector, abs=2e-3)


@pytest.mark.parametrize("cold", [0, 1, 2])
def test_pulse_between_cold_and_hot_pipes_sees_their_impedances(cold: int) -> None:
    # Admittance A/(rho c) of each pipe: R = (Y1 - Y2 - Y3)/(Y1 + Y2 + Y3) for a pulse in the first (linear acoustics).
    temperature = [900.0, 900.0, 900.0]
    temperature[cold] = 300.0
    area = np.array([1.0, 1.5, 0.7]) * 1e-3
    states = [pipe(P0, t, 0.0) for t in temperature]
    p, t, u = simple_wave(1.0 + 1e-4, P0, temperature[0])
    states[0] = pipe(p, t, u)
    y = [a / math.sqrt(G * P0 * s[0]) for a, s in zip(area, states, strict=True)]
    flux = np.zeros((3, 5))
    merge = join(np.array(states), area, turning_cosines(np.array([0.0, 120.0, 240.0])), JOIN_MIXING, 0.0, flux)
    assert (merge - p) / (p - P0) == pytest.approx((y[0] - y[1] - y[2]) / sum(y), abs=3e-5)


def test_mixture_of_hot_and_cold_streams_has_their_mean_enthalpy_and_composition() -> None:
    states = [
        pipe(1.1e5, 900.0, 80.0, gamma=1.33, q=1e5, fractions=(1.0, 0.0)),
        pipe(1.1e5, 350.0, 50.0, gamma=1.4, q=-2e4, fractions=(0.0, 0.05)),
        pipe(1.0e5, 600.0, -90.0, gamma=1.36),
    ]
    area = np.array([1.0, 1.0, 2.0]) * 1e-3
    flux = np.zeros((3, 5))
    join(np.array(states), area, merge_cosines(3, 15.0), JOIN_MIXING, 0.0, flux)
    arriving = flux[:2, 0].sum()
    assert flux[0, 0] > 0.0
    assert flux[1, 0] > 0.0
    assert flux[2, 0] == pytest.approx(-arriving, rel=1e-15)
    assert flux[2, 3] / flux[2, 0] == pytest.approx(flux[0, 0] / arriving, rel=1e-14)
    assert flux[2, 4] / flux[2, 0] == pytest.approx(0.05 * flux[1, 0] / arriving, rel=1e-14)
    hot = flux[0, 2] / flux[0, 0]
    assert hot == pytest.approx(1.33 / 0.33 * R * 900.0 + 1e5, rel=0.05)


def test_not_a_number_in_one_pipe_comes_out_as_such_and_ends() -> None:
    states = np.array([pipe(math.nan, 300.0, 0.0), pipe(P0, T0, 10.0), pipe(P0, T0, -10.0)])
    flux = np.zeros((3, 5))
    join(states, np.full(3, 1e-3), turning_cosines(np.array([0.0, 120.0, 240.0])), JOIN_MIXING, 0.0, flux)
    assert not np.all(np.isfinite(flux))
