"""The engine as a whole: balances, repetition, symmetry, plausibility, and what happens when it goes wrong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from engines import COARSE, changed, engine, network_of, run

from pullbook.engine.cycle import CycleLimits, run_until_settled
from pullbook.engine.layouts import build_network
from pullbook.engine.simulate import RunPlan, operating_of, simulate_curve, simulate_speed
from pullbook.errors import OutOfRangeError, SimulationError
from pullbook.gas.grid import AREA, INVERSE_LENGTH, WALL_TEMPERATURE

SHIPPED = ("inline-four", "v8-cross-plane", "single")


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("speed", [2500.0, 6000.0])
def test_mass_and_energy_close_to_round_off_over_a_cycle(name: str, speed: float) -> None:
    quality = run(name, speed)[0].quality
    assert quality.mass_error < 1e-12
    assert quality.energy_error < 1e-12
    assert quality.floors == 0


@pytest.mark.parametrize("name", SHIPPED)
def test_cycles_settle_and_say_so(name: str) -> None:
    quality = run(name, 4000.0)[0].quality
    assert quality.converged
    assert quality.reason == ""
    assert quality.torque_change < 5e-4
    # Ten more cycles change nothing that anybody could measure.
    more = replace(COARSE, limits=CycleLimits(fewest=quality.cycles + 10, most=quality.cycles + 10))
    long, _ = simulate_speed(engine(name), network_of(name), 4000.0, more)
    assert long.torque == pytest.approx(run(name, 4000.0)[0].torque, rel=1e-3)


def test_a_run_that_is_cut_short_says_what_still_changes() -> None:
    short = replace(COARSE, limits=CycleLimits(fewest=1, most=2))
    quality = simulate_speed(engine("single"), network_of("single"), 3000.0, short)[0].quality
    assert not quality.converged
    assert "still changes by" in quality.reason


def test_results_depend_neither_on_threads_nor_on_repetition() -> None:
    speeds = (2000.0, 3500.0, 5000.0)
    one = simulate_curve(engine("single"), speeds, replace(COARSE, threads=1))
    two = simulate_curve(engine("single"), speeds[::-1], replace(COARSE, threads=2))
    assert one.points == two.points  # to the last digit


def test_cylinders_that_are_alike_and_fire_evenly_do_the_same() -> None:
    # Equal runners and primaries into one join, firing every 180 degrees: only the time steps differ between them.
    cylinders = run("inline-four", 4000.0)[0].cylinders
    work = np.array([one.imep_net for one in cylinders])
    assert np.ptp(work) / work.mean() < 2e-4


def test_uneven_firing_of_a_bank_makes_its_cylinders_differ() -> None:
    # A cross-plane crank fires two cylinders of a bank 90 degrees apart, and others 270: they breathe differently.
    cylinders = run("v8-cross-plane", 2500.0)[0].cylinders
    trapped = np.array([one.trapped_mass for one in cylinders])
    assert np.ptp(trapped) / trapped.mean() > 0.05


# Ranges for naturally aspirated petrol engines at full throttle: standards note 7.6, production to race together.
@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("speed", [2500.0, 4000.0, 5500.0])
def test_shipped_engines_are_plausible(name: str, speed: float) -> None:
    point = run(name, speed)[0]
    assert 0.55 < point.volumetric_efficiency < 1.25
    assert 5e5 < point.bmep < 15.5e5
    assert 235.0 < point.specific_consumption * 3.6e9 < 330.0
    assert all(0.0 < one.residual < 0.15 for one in point.cylinders)
    assert point.imep_net == pytest.approx(point.imep_gross + point.pmep)
    assert point.power == pytest.approx(point.torque * point.speed_rpm * np.pi / 30.0)


@pytest.mark.parametrize("name", SHIPPED)
def test_the_mean_piston_does_the_work_of_the_pressure_trace(name: str) -> None:
    # An independent way to the work: the trace of pressure integrated over volume by the trapezoidal rule.
    point, settled = run(name, 4000.0)
    from pullbook.engine.waves import wave_arrays

    arrays = wave_arrays(settled) if settled.trace.cells.size else None
    if arrays is None:
        _, settled = run(name, 4000.0, waves=True)
        arrays = wave_arrays(settled)
    number = point.cylinders[0].number
    pressure, volume = arrays[f"cylinder {number}/pressure"], arrays[f"cylinder {number}/volume"]
    p, v = np.append(pressure, pressure[0]), np.append(volume, volume[0])
    swept = network_of(name).cylinders[0].swept_volume
    work = float(np.sum(0.5 * (p[1:] + p[:-1]) * np.diff(v)))
    assert work / swept == pytest.approx(point.cylinders[0].imep_net, rel=0.02)


@pytest.mark.parametrize("speed", [299.0, 20001.0, float("nan")])
def test_a_speed_out_of_range_is_refused(speed: float) -> None:
    with pytest.raises(OutOfRangeError, match="300 to 20000 rpm"):
        operating_of(engine("single"), speed)


def test_a_run_that_breaks_says_at_which_speed_angle_and_pipe() -> None:
    # Time steps of five times what the waves allow cannot work.
    broken = CycleLimits(courant=5.0)
    with pytest.raises(SimulationError) as caught:
        run_until_settled(network_of("single"), operating_of(engine("single"), 3000.0), 0.03, broken)
    said = str(caught.value)
    assert said.startswith("3000 rpm: the gas is no longer physical in ")
    assert "degrees of crank" in said


def test_points_that_are_done_are_kept_when_others_break() -> None:
    plan = RunPlan(cell_size=0.03, estimate_grid_error=False, threads=1, limits=CycleLimits(courant=5.0))
    curve = simulate_curve(engine("single"), (3000.0,), plan)
    assert curve.points == ()
    assert len(curve.failures) == 1


def test_interrupting_keeps_what_is_done() -> None:
    def stop(done: int, _: int) -> None:
        if done == 1:
            raise KeyboardInterrupt

    curve = simulate_curve(engine("single"), (2000.0, 3000.0, 4000.0, 5000.0), COARSE, stop)
    assert 1 <= len(curve.points) <= 3
    assert any("interrupted" in failure for failure in curve.failures)


def test_the_error_of_the_grid_is_estimated() -> None:
    curve = simulate_curve(engine("single"), (4000.0,), RunPlan(cell_size=0.02, threads=1))
    fine = run("single", 4000.0, 0.005)[0].torque
    assert abs(curve.points[0].torque - fine) < 2.0 * abs(curve.grid_error[0]) + 0.1
    assert abs(curve.grid_error[0]) < 8e-3 * fine


def test_walls_that_follow_settle_where_the_heat_of_the_gas_leaves() -> None:
    spec = changed("single", ("balance = false", "balance = true"))
    network = build_network(spec)
    given, _ = run("single", 4000.0)
    point, settled = simulate_speed(spec, network, 4000.0, COARSE)
    assert point.quality.converged, point.quality.reason
    pipes = settled.assembled.arrays.pipes
    number = network.index("primary 1")
    section = next(one for one in network.pipes[number].sections if one.wall.follows)
    cells = slice(int(pipes.start[number]) + 1, int(pipes.start[number + 1]) - 1)
    middle = cells.start + (cells.stop - cells.start) * 2 // 3
    wall = pipes.geometry[WALL_TEMPERATURE, middle]
    surface = np.sqrt(4.0 * np.pi * pipes.geometry[AREA, middle]) / pipes.geometry[INVERSE_LENGTH, middle]
    lost = section.wall.outer_coefficient * surface * (wall - spec.ambient.temperature)
    assert -pipes.wall_heat[middle] / (120.0 / 4000.0) == pytest.approx(lost, rel=0.02)
    assert 500.0 < wall < 1100.0
    # Wall temperature moves torque by a per cent or two at most.
    assert point.torque == pytest.approx(given.torque, rel=0.02)
