"""What the step of the pipes conserves, carries, keeps positive, and how it says that it has failed."""

from __future__ import annotations

import numpy as np
import pytest
from duct_cases import CLOSED, FREE, GAS_CONSTANT, cells_of, centres, filled, held, straight, went

from pullbook.errors import OutOfRangeError
from pullbook.gas.duct import DuctEnd, fill_pipe, perfect_gas, run_duct
from pullbook.gas.fuels import FUELS
from pullbook.gas.grid import VOLUME, PipeShape, pipe_set
from pullbook.gas.mixture import gas_table
from pullbook.gas.pipes import impose, inner_fluxes, inside, largest_step, predict, prepare, update


def rough_shape(**walls: float) -> PipeShape:
    settings = {"friction": 1.0, "heat": 0.0} | walls
    return PipeShape(
        position=np.array([0.0, 0.3, 0.4, 0.5, 0.8]),
        diameter=np.array([0.04, 0.04, 0.028, 0.05, 0.05]),
        cells=40,
        **settings,
    )


def test_sealed_pipe_keeps_mass_energy_and_contents_to_the_last_digit() -> None:
    pipes = pipe_set([rough_shape(bend_loss=0.5)], gas_table(FUELS["petrol"], 0.9))
    hot = centres(0.8, 40) < 0.35
    gas = (
        np.where(hot, 3e5, 1e5),
        np.where(hot, 50.0, 0.0),
        np.where(hot, 1200.0, 350.0),
        np.where(hot, 1.0, 0.02),
        np.where(hot, 0.0, 0.05),
    )
    fill_pipe(pipes, 0, gas)
    prepare(pipes)
    before = (pipes.state[[0, 2, 3, 4]] * pipes.geometry[VOLUME]).sum(axis=1)
    went(pipes, (CLOSED, CLOSED), 0.05)
    after = (pipes.state[[0, 2, 3, 4]] * pipes.geometry[VOLUME]).sum(axis=1)
    np.testing.assert_allclose(after, before, rtol=1e-12)


def test_what_the_wall_gives_is_counted_to_the_last_digit() -> None:
    pipes = filled(rough_shape(heat=1.0, wall_temperature=600.0), 1.1, 20.0, np.full(40, 1e5))
    before = (pipes.state[2] * pipes.geometry[VOLUME]).sum()
    went(pipes, (CLOSED, CLOSED), 0.05)
    after = (pipes.state[2] * pipes.geometry[VOLUME]).sum()
    assert pipes.wall_heat.sum() > 0.0
    assert after - before == pytest.approx(pipes.wall_heat.sum(), rel=1e-10)


def test_walls_warm_the_gas_to_their_own_temperature_and_no_further() -> None:
    # So strong that a plain explicit step would overshoot thirtyfold.
    pipes = filled(straight(0.4, 10, heat=1e6, wall_temperature=500.0), 1.1, 0.0, np.full(10, 1e5))
    went(pipes, (CLOSED, CLOSED), 0.2)
    np.testing.assert_allclose(pipes.temperature[cells_of(pipes)], 500.0, rtol=1e-9)


def test_walls_that_are_far_too_rough_stop_the_gas_and_do_not_turn_it_round() -> None:
    pipes = filled(straight(0.4, 10, friction=1e6), 1.1, 50.0, np.full(10, 1e5))
    run = run_duct(pipes, (FREE, FREE), 1e-3)
    assert run.bad == -1
    speed = pipes.primitive[1, cells_of(pipes)]
    assert np.all(np.abs(speed) < 5.0)
    # What was motion is heat: 0.5 u^2/cv on top of what the pressures do.
    assert pipes.temperature[cells_of(pipes)].max() > 1e5 / (1.1 * GAS_CONSTANT)


def test_burned_and_fuel_fractions_stay_between_zero_and_one_and_move_with_the_gas() -> None:
    pipes = pipe_set([straight(1.0, 100)], perfect_gas(1.4, GAS_CONSTANT))
    x = centres(1.0, 100)
    burned = ((x > 0.1) & (x < 0.3)).astype(float)
    fuel = np.where(x < 0.2, 0.06, 0.0)
    fill_pipe(pipes, 0, (1e5, 60.0, 300.0, burned, fuel))
    prepare(pipes)
    rho = 1e5 / (GAS_CONSTANT * 300.0)
    went(pipes, (held(rho, 60.0, 1e5), FREE), 0.005)
    found = pipes.primitive[5, cells_of(pipes)]
    assert found.min() >= -1e-15
    assert found.max() <= 1.0 + 1e-12
    assert pipes.primitive[6, cells_of(pipes)].min() >= -1e-15
    # They have run 0.3 m.
    assert np.sum(found * x) / np.sum(found) == pytest.approx(0.5, abs=1e-8)
    assert np.sum(found) / 100 == pytest.approx(0.2, abs=1e-12)


def test_uniform_fractions_stay_uniform_whatever_the_waves() -> None:
    pipes = pipe_set([rough_shape()], gas_table(FUELS["petrol"], 0.9))
    fill_pipe(pipes, 0, (np.where(centres(0.8, 40) < 0.2, 3e5, 1e5), 0.0, 500.0, 0.3, 0.04))
    prepare(pipes)
    went(pipes, (CLOSED, CLOSED), 0.01)
    np.testing.assert_allclose(pipes.primitive[5, cells_of(pipes)], 0.3, rtol=1e-12)
    np.testing.assert_allclose(pipes.primitive[6, cells_of(pipes)], 0.04, rtol=1e-12)


def test_hot_contact_of_burned_gas_makes_little_sound() -> None:
    # Conservative schemes cannot keep the pressure exactly at a contact of unlike gases; it stays within 0.02 %.
    pipes = pipe_set([straight(1.0, 50)], gas_table(FUELS["petrol"], 0.9))
    hot = centres(1.0, 50) < 0.5
    fill_pipe(pipes, 0, (1e5, 40.0, np.where(hot, 1100.0, 320.0), np.where(hot, 1.0, 0.0), 0.0))
    prepare(pipes)
    went(pipes, (FREE, FREE), 0.005)
    pressure = pipes.primitive[2, cells_of(pipes)]
    assert np.abs(pressure / 1e5 - 1.0).max() < 4e-4


def test_pipes_side_by_side_do_not_touch() -> None:
    one = straight(0.5, 20)
    alone = filled(one, 1.0, 30.0, np.linspace(1e5, 2e5, 20))
    many = pipe_set([straight(0.3, 7), one, straight(0.2, 9)], perfect_gas(1.4, GAS_CONSTANT))
    fill_pipe(many, 0, (9e5, -300.0, 900.0, 1.0, 0.0))
    fill_pipe(many, 1, (np.linspace(1e5, 2e5, 20), 30.0, np.linspace(1e5, 2e5, 20) / GAS_CONSTANT, 0.0, 0.0))
    fill_pipe(many, 2, (2e4, 300.0, 200.0, 0.0, 1.0))
    prepare(many)
    dt = 0.5 * min(largest_step(many), largest_step(alone))
    for _ in range(20):
        for pipes in (alone, many):
            predict(pipes, dt)
            inner_fluxes(pipes)
            for pipe in range(len(pipes.start) - 1):
                for side in range(2):
                    state = inside(pipes, pipe, side)
                    impose(pipes, pipe, side, (0.0, state[2] * state[7], 0.0, 0.0, 0.0))
            assert update(pipes, dt)[0] == -1
    slots = slice(int(many.start[1]) + 1, int(many.start[2]) - 1)
    np.testing.assert_allclose(many.state[:, slots], alone.state[:, cells_of(alone)], rtol=1e-12, atol=1e-12)


def test_a_cell_that_is_not_a_number_is_named() -> None:
    pipes = filled(straight(0.5, 20), 1.0, 0.0, np.full(20, 1e5))
    pipes.state[2, 8] = np.nan
    run = run_duct(pipes, (CLOSED, CLOSED), 0.01)
    assert 7 <= run.bad <= 9
    assert run.steps == 1
    assert np.isnan(largest_step(pipes))


def test_floors_are_counted_when_the_gas_is_torn_apart() -> None:
    x = centres(1.0, 40)
    # Parted at eight times the speed of sound each: a vacuum opens (Toro, equation 4.40).
    pipes = filled(straight(1.0, 40), 1.0, np.where(x < 0.5, -3000.0, 3000.0), np.full(40, 1e5))
    run = run_duct(pipes, (FREE, FREE), 1e-4)
    assert run.bad == -1
    assert run.floors > 0
    assert pipes.temperature.min() > 0.0
    assert pipes.primitive[0, cells_of(pipes)].min() > 0.0


@pytest.mark.parametrize(
    ("ends", "courant", "named"),
    [
        ((DuctEnd(kind="flapping"), CLOSED), 0.9, "flapping"),
        ((DuctEnd(kind="periodic"), CLOSED), 0.9, "closed"),
        ((CLOSED, CLOSED), 1.2, "1.2"),
        ((CLOSED, CLOSED), 0.0, "0.0"),
    ],
)
def test_what_a_duct_cannot_run_is_refused(ends: tuple[DuctEnd, DuctEnd], courant: float, named: str) -> None:
    pipes = filled(straight(0.5, 5), 1.0, 0.0, np.full(5, 1e5))
    with pytest.raises(OutOfRangeError) as caught:
        run_duct(pipes, ends, 0.01, courant)
    assert caught.value.value == named
