"""The table of the demo's curves is what the virtual engine gives for the demo's engine files."""

from __future__ import annotations

import numpy as np
import pytest
from demo_curves_table import CELL_SIZE, GOAL, SPEEDS, curve_rows, header

from pullbook.bench import demo_curves
from pullbook.bench.demo_curves import COLUMNS, FullLoad, full_load, full_load_torque, read_table
from pullbook.bench.demo_engine import SETUPS, engine_file
from pullbook.engine.engine_file import parse_engine

TEXT = GOAL.read_text(encoding="utf-8")
CURVES = read_table(TEXT)
ANEW = "run `python3 tasks.py demo-curves` and look at what changed"


def computed(build: str, speeds: tuple[float, ...], cell_size: float) -> FullLoad:
    """Some speeds of a build, run now."""
    return read_table("\n".join([COLUMNS, *curve_rows(build, speeds, cell_size)]))[build]


def test_the_table_says_how_it_was_made() -> None:
    assert TEXT.startswith(header() + COLUMNS + "\n"), ANEW
    assert "invented" in TEXT.splitlines()[0].lower()


def test_every_build_has_every_speed_of_the_sweep() -> None:
    assert set(CURVES) == set(SETUPS)
    for curve in CURVES.values():
        assert tuple(curve.speed_rpm) == SPEEDS
        assert np.isfinite([curve.torque, curve.fuel_flow, curve.mixture]).all()


@pytest.mark.parametrize("build", list(SETUPS))
def test_the_engine_file_of_a_build_says_what_the_session_says(build: str) -> None:
    spec, setup = parse_engine(engine_file(build)), SETUPS[build]
    # Straight up, the inlet lobe is centred 112 degrees after top dead centre.
    assert [tube.length for tube in spec.intake.runners.tubes] == pytest.approx([setup.runner_length] * 4)
    assert spec.intake_side.cam.centreline_deg == 112.0 - setup.inlet_advance_deg
    assert [header.layout for header in spec.headers] == [setup.header]
    assert (spec.ambient.temperature, spec.ambient.pressure) == pytest.approx((298.15, 100e3))


def test_builds_that_differ_in_one_part_have_files_that_differ_in_that_part() -> None:
    lines = {build: engine_file(build).splitlines()[2:] for build in SETUPS}
    changed = {
        pair: [(one, other) for one, other in zip(lines[pair[0]], lines[pair[1]], strict=True) if one != other]
        for pair in ("AB", "DE")
    }
    assert [one for one, _ in changed["AB"] if "name" not in one] == ['length = "420 mm"']
    assert [other for _, other in changed["DE"] if "name" not in other] == ['advance = "4 deg"']


# Cells of 30 mm: on this engine 0.5 % off cells of 20 mm at most at these speeds; a changed part moves more.
@pytest.mark.slow
@pytest.mark.parametrize("build", ["A", "D"])
def test_the_engine_on_coarse_cells_comes_near_the_table(build: str) -> None:
    found = computed(build, (2400.0, 4300.0, 6600.0), 0.030)
    shipped = full_load(build, found.speed_rpm)
    assert found.torque == pytest.approx(shipped.torque, rel=8e-3), ANEW
    assert found.fuel_flow == pytest.approx(shipped.fuel_flow, rel=8e-3), ANEW
    assert found.mixture == pytest.approx(shipped.mixture, abs=1e-4), ANEW


@pytest.mark.slow
@pytest.mark.parametrize(
    # At 2,325 rpm, between two speeds of the table, the curve of A bends most.
    ("build", "speeds"),
    [("A", (2325.0,)), ("B", (6500.0,)), ("C", (2300.0, 5000.0)), ("D", (3800.0,)), ("E", (3000.0,))],
)
def test_the_engine_on_the_cells_of_the_table_gives_the_table(build: str, speeds: tuple[float, ...]) -> None:
    found = computed(build, speeds, CELL_SIZE)
    assert found.torque == pytest.approx(full_load_torque(build, found.speed_rpm), rel=1e-3), ANEW


def test_cubics_between_speeds_are_exact_for_a_cubic_and_hold_the_ends() -> None:
    speed = np.arange(2000.0, 3001.0, 100.0)
    cubic = np.polynomial.Polynomial([200.0, 0.02, -3e-5, 4e-8])
    rows = [f"X,{one:.0f},{float(cubic(one - 2500.0))!r},3.5,0.88" for one in speed]
    curve = read_table("\n".join([COLUMNS, *rows]))["X"]
    at = np.array([2000.0, 2033.0, 2512.5, 2961.0, 3000.0])
    found = demo_curves._between(curve.speed_rpm, curve.torque, at)
    assert found == pytest.approx(cubic(at - 2500.0), rel=1e-12)
    outside = demo_curves._between(curve.speed_rpm, curve.torque, np.array([1500.0, 4000.0]))
    assert outside == pytest.approx(curve.torque[[0, -1]])


def test_levels_are_those_of_a_tuned_street_engine() -> None:
    # 95 to 110 N m a litre at the peak, 55 to 65 kW a litre: table of plausible values, tuned street column.
    for curve in CURVES.values():
        assert 95.0 * 2.2 < curve.torque.max() < 110.0 * 2.2
        assert 55e3 * 2.2 < (curve.torque * curve.speed_rpm * np.pi / 30.0).max() < 65e3 * 2.2
