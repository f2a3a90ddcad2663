"""Any join of any pipes: exact closure, no order among pipes, the second law, and one wave in each pipe."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from pipe_states import R, face, pipe, plain_change

from pullbook.gas.join_mixing import JOIN_MIXING, JOIN_STAGNATION, JOIN_STATIC, turning_cosines
from pullbook.gas.joins import join

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

    States = Sequence[tuple[float, ...]]
    Case = tuple[States, list[float], FloatArray, int]

MODELS = (JOIN_STATIC, JOIN_MIXING, JOIN_STAGNATION)


def _run(states: States, area: list[float], cosine: FloatArray, model: int) -> FloatArray:
    flux = np.zeros((len(area), 5))
    join(np.array(states), np.array(area) * 1e-3, cosine, model, 0.0, flux)
    return flux


@st.composite
def _joins(draw: st.DrawFn) -> Case:
    n = draw(st.integers(2, 6))
    states = []
    for _ in range(n):
        t = draw(st.floats(250.0, 1500.0))
        g = draw(st.floats(1.25, 1.4))
        u = draw(st.floats(-0.4, 0.4)) * math.sqrt(g * R * t)
        p, q = draw(st.floats(0.5e5, 3e5)), draw(st.floats(-2e5, 2e5))
        states.append(pipe(p, t, u, gamma=g, q=q, fractions=(draw(st.floats(0.0, 0.9)), draw(st.floats(0.0, 0.1)))))
    area = [draw(st.floats(0.2, 5.0)) for _ in range(n)]
    cosine = turning_cosines(np.array([draw(st.floats(0.0, 360.0)) for _ in range(n)]))
    return states, area, cosine, draw(st.sampled_from(MODELS))


@given(_joins())
def test_mass_energy_and_species_of_any_join_sum_to_zero(case: Case) -> None:
    flux = _run(*case)
    assert np.all(np.isfinite(flux))
    assert np.all(flux[:, 1] > 0.0)
    size = np.abs(flux).sum(axis=0)
    left = np.abs(flux.sum(axis=0))
    for row in (0, 2, 3, 4):
        assert left[row] <= 1e-15 * (size[row] + 1e-3 * size[0])


@given(_joins())
def test_streams_that_leave_are_all_alike(case: Case) -> None:
    flux = _run(*case)
    leaving = flux[flux[:, 0] < 0.0]
    for row, scale in ((2, 1e6), (3, 1.0), (4, 1.0)):
        each = leaving[:, row] / leaving[:, 0]
        assert np.ptp(each) <= 1e-12 * scale if len(each) else True


@given(_joins())
def test_order_of_the_pipes_does_not_matter(case: Case) -> None:
    states, area, cosine, model = case
    flux = _run(states, area, cosine, model)
    turned = _run(states[::-1], area[::-1], cosine[::-1, ::-1].copy(), model)[::-1]
    scale = np.abs(flux).max(axis=0)
    assert np.all(np.abs(flux - turned) <= 2e-6 * scale)


_ANY_PIPE = st.tuples(
    st.floats(0.8e5, 1.6e5),
    st.floats(280.0, 1200.0),
    st.floats(-0.25, 0.25),
    st.floats(0.3, 3.0),
    st.floats(0.0, 360.0),
)


@given(st.lists(_ANY_PIPE, min_size=2, max_size=5))
def test_no_entropy_is_lost_where_jets_mix(pipes: list[tuple[float, float, float, float, float]]) -> None:
    states = [pipe(p, t, m * math.sqrt(1.4 * R * t)) for p, t, m, _, _ in pipes]
    area = [row[3] for row in pipes]
    flux = _run(states, area, turning_cosines(np.array([row[4] for row in pipes])), JOIN_MIXING)
    gained = 0.0
    for i in range(len(pipes)):
        if abs(flux[i, 0]) > 1e-9 * np.abs(flux[:, 0]).max():
            gained -= flux[i, 0] * face(flux[i], area[i] * 1e-3, 1.4).entropy(1.4)
    assert gained >= -1e-7 * np.abs(flux[:, 0]).sum()


@given(_joins())
def test_each_face_is_linked_to_its_pipe_by_one_wave(case: Case) -> None:
    states = [(*row[:3], 1.4, 0.0, *row[5:]) for row in case[0]]
    flux = _run(states, *case[1:])
    for i, row in enumerate(states):
        sound = math.sqrt(1.4 * row[2] / row[0])
        now = face(flux[i], case[1][i] * 1e-3, 1.4)
        if abs(flux[i, 0]) > 1e-6 and abs(now.u) < 0.99 * math.sqrt(1.4 * now.p / now.rho):
            wanted = row[1] - plain_change(now.p, row[0], row[2], 1.4)
            # A search of the speed ends with a step of 1e-5 of the speed of sound. Newton leaves its square; where
            # dense jets meet thin gas the slope is held at 0.2 and what is left is up to five times the step. The worst
            # of 8000 cases that were bred for it left 4.7e-5; mass and energy close all the same (above).
            assert abs(now.u - wanted) < 6e-5 * sound
