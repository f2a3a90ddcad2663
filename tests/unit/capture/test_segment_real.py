"""Pulls in real logs: every file of ../shared/data is read or refused as its README says."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from builders_tables import read_real, rule

from pullbook.capture.mapping import survey, understand
from pullbook.capture.reader import read_tables
from pullbook.capture.segment import Kind, find_pulls, require_pulls
from pullbook.curves.identity import power_identity
from pullbook.errors import FileRefusedError, MappingError
from pullbook.quantities.channels import Channel
from pullbook.records.pull import Direction, TorqueKind

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.capture.segment import Segmentation

LOAD_CELL = rule(Channel.LOAD_SIGNAL, "Analog #8", "V")


def brake_log(shared_data: Path, name: str) -> Segmentation:
    """Segmentation of a log of the engine brake, with the tester's word on the load cell."""
    return find_pulls(read_real(shared_data / "engine-brake-logs" / name, [LOAD_CELL]), name)


@pytest.mark.parametrize(
    ("name", "count"),
    # README: "several pulls in one file"; the numbers are in the names of the files.
    [("day-a-two-pulls.csv", 2), ("day-b-three-pulls.csv", 3), ("day-b-run-5.csv", 1), ("day-b-run-6.csv", 2)],
)
def test_every_pull_of_a_brake_log_is_found(shared_data: Path, name: str, count: int) -> None:
    found = brake_log(shared_data, name)
    assert len(found.pulls) == count
    for pull in found.pulls:
        assert pull.direction is Direction.UP
        assert pull.torque_kind is TorqueKind.RELATIVE
        assert pull.channels[Channel.SPEED][-1] > 14_000.0
        assert pull.channels[Channel.SPEED][0] < 8_000.0
        assert Channel.TIME in pull.channels
        assert np.all(np.diff(pull.rows) == 1)


def test_pulls_of_one_file_are_numbered(shared_data: Path) -> None:
    names = [pull.name for pull in brake_log(shared_data, "day-b-three-pulls.csv").pulls]
    assert names == ["day-b-three-pulls.csv#1", "day-b-three-pulls.csv#2", "day-b-three-pulls.csv#3"]


def test_throttle_below_its_stop_is_a_doubt_of_the_pull(shared_data: Path) -> None:
    second = brake_log(shared_data, "day-b-three-pulls.csv").pulls[1]
    assert any("the throttle reads 71 % and was taken for fully open" in doubt for doubt in second.doubts)


def test_a_throttle_sensor_that_fails_over_to_a_fixed_value_is_said(shared_data: Path) -> None:
    pull = brake_log(shared_data, "day-b-run-5.csv").pulls[0]
    assert any("drops to a fixed 50 %" in doubt for doubt in pull.doubts)


def test_free_revs_are_no_pulls(shared_data: Path) -> None:
    found = brake_log(shared_data, "day-b-free-revs.csv")
    assert found.pulls == ()
    assert found.part_throttle == ()
    # Five rises of speed can be counted on the trace.
    assert sum(aside.kind is Kind.FREE_REV for aside in found.set_aside) == 5
    with pytest.raises(FileRefusedError, match=r"without load .* a free-rev, no pull"):
        require_pulls(found, "day-b-free-revs.csv")


@pytest.mark.parametrize("name", ["restrictor-day-1-r.csv", "restrictor-day-1-w.csv"])
def test_the_unfair_comparison_is_part_throttle_and_gives_no_pull(shared_data: Path, name: str) -> None:
    path = shared_data / "engine-brake-logs" / name
    contents = read_tables(path.read_bytes(), name)
    with pytest.raises(FileRefusedError, match="no torque, power or load signal among the 44 columns"):
        understand(contents.source, contents.tables[0])
    log = survey(contents.source, contents.tables[0])
    found = find_pulls(log, name)
    assert found.pulls == ()
    assert found.part_throttle
    for pull in found.part_throttle:
        # README: throttle only 20-64 %.
        assert np.quantile(pull.channels[Channel.THROTTLE], 0.9) < 0.65
    assert any(aside.kind is Kind.PART_THROTTLE for aside in found.set_aside)


def test_a_generic_analogue_channel_asks_the_tester(shared_data: Path) -> None:
    with pytest.raises(MappingError, match=r'load_signal = \{ column = "Analog #8", unit = "V" \}'):
        read_real(shared_data / "engine-brake-logs" / "day-a-two-pulls.csv")


ROAD_MPH = (30, 40, 50, 60, 70)
WHEEL_KW = (
    # README, "What these files show": wheel power at 30/40/50/60/70 mph.
    (73.9, 80.5, 84.6, 85.3, 83.9), (77.6, 83.6, 87.6, 87.9, 87.3), (75.9, 84.0, 87.1, 86.9, 86.5),
)  # fmt: skip


def test_three_runs_on_the_rollers_have_the_wheel_power_of_the_readme(shared_data: Path) -> None:
    log = read_real(shared_data / "roller-wot-repeats" / "three-full-throttle-repeats.txt")
    found = find_pulls(log, "repeats.txt")
    assert len(found.pulls) == 3
    road, power = log.channels[Channel.VEHICLE_SPEED] / 0.44704, log.channels[Channel.POWER] / 1000.0
    for pull, expected in zip(found.pulls, WHEEL_KW, strict=True):
        # The figures are means over 2.5 mph on both sides, gear changes included.
        run = slice(int(pull.rows[0]) - 60, int(pull.rows[-1]))
        at = [power[run][np.abs(road[run] - mph) <= 2.5].mean() for mph in ROAD_MPH]
        assert at == pytest.approx(expected, abs=0.051)


def test_gear_changes_are_taken_out_of_a_run_and_the_rest_is_smooth(shared_data: Path) -> None:
    log = read_real(shared_data / "roller-wot-repeats" / "three-full-throttle-repeats.txt")
    found = find_pulls(log, "repeats.txt")
    assert sum(aside.kind is Kind.GEAR_CHANGE for aside in found.set_aside) >= 6
    for pull, expected in zip(found.pulls, WHEEL_KW, strict=True):
        assert any("gear changes" in doubt for doubt in pull.doubts)
        assert any("at the wheels" in doubt for doubt in pull.doubts)
        assert any("neither throttle nor manifold pressure tells" in doubt for doubt in pull.doubts)
        road, power = pull.channels[Channel.VEHICLE_SPEED] / 0.44704, pull.channels[Channel.POWER] / 1000.0
        at = [power[np.abs(road - mph) <= 2.5].mean() for mph in ROAD_MPH]
        # Without the rows of the gear changes the means can only be a little higher than the README's.
        assert np.all(np.asarray(at) - expected > -0.3)
        assert np.all(np.asarray(at) - expected < 1.5)
        # Torque at the wheels times engine speed is that power again.
        again = pull.channels[Channel.TORQUE] * pull.channels[Channel.SPEED] * np.pi / 30.0 / 1000.0
        assert np.allclose(again, power)


def test_a_drive_cycle_holds_no_pull(shared_data: Path) -> None:
    log = read_real(shared_data / "roller-wot-repeats" / "drive-cycle.txt")
    found = find_pulls(log, "drive-cycle.txt")
    assert found.pulls == ()
    with pytest.raises(FileRefusedError, match="there is no full-throttle pull"):
        require_pulls(found, "drive-cycle.txt")


def test_a_table_at_constant_speed_is_read_and_refused_as_a_sweep(shared_data: Path) -> None:
    path = shared_data / "single-cylinder-torque" / "run-table.xls"
    contents = read_tables(path.read_bytes(), path.name)
    table = max(contents.tables, key=lambda t: t.rows.size)
    with pytest.raises(FileRefusedError, match="stated once as 1100 rpm and is no column: at constant speed"):
        understand(contents.source, table)
    log = survey(contents.source, table)
    # README: torque of the returned baseline, tests 4, 5, 10 and 18.
    assert log.channels[Channel.TORQUE][[3, 4, 9, 17]] == pytest.approx([33.390, 33.470, 33.586, 33.693])
    assert log.channels[Channel.SPARK][0] == pytest.approx(13.0)


def test_power_and_torque_of_two_files_agree_as_the_readme_says(shared_data: Path) -> None:
    folder = shared_data / "digitised-curves"
    power, torque = (
        find_pulls(read_real(folder / name), name).pulls[0] for name in ("power_curve.csv", "torque_curve.csv")
    )
    choices = read_real(folder / "power_curve.csv").choices
    assert any("the file has power and no torque" in choice.reason for choice in choices)
    grid = np.arange(5700.0, 14_400.0, 100.0)  # above, both curves fall vertically
    of_torque, of_power = (
        np.interp(grid, pull.channels[Channel.SPEED][risen], pull.channels[channel][risen])
        for pull, channel in ((torque, Channel.TORQUE), (power, Channel.POWER))
        for risen in [np.flatnonzero(np.diff(pull.channels[Channel.SPEED], prepend=0.0) > 0.0)]
    )
    ratio = of_torque * grid * np.pi / 30.0 / of_power
    # README: torque x rpm / 5252 against the traced power: mean +0.37 %, worst 1.9 %.
    assert 100.0 * (ratio.mean() - 1.0) == pytest.approx(0.37, abs=0.005)
    assert 100.0 * np.abs(ratio - 1.0).max() == pytest.approx(1.9, abs=0.05)
    finding = power_identity(grid, of_torque, of_power)
    assert finding is not None
    assert finding.agrees


@pytest.mark.parametrize(
    ("name", "rows", "first_rad_s", "last_rad_s", "peak_n_m"),
    # Read off the files: number of points, abscissa of the first and the last, largest torque.
    [
        ("na-2.0-i4.csv", 19, 108.82476952035043, 687.2233929727672, 200.1111111111111),
        ("turbo-diesel-3.0.csv", 14, 104.8643327843743, 483.79828899213766, 575.549072),
    ],
)
def test_full_load_points_in_radians_are_one_curve_each(
    shared_data: Path, name: str, rows: int, first_rad_s: float, last_rad_s: float, peak_n_m: float
) -> None:
    (pull,) = find_pulls(read_real(shared_data / "full-load-points" / name), name).pulls
    speed = pull.channels[Channel.SPEED]
    assert (speed.size, pull.direction, pull.name) == (rows, Direction.UP, name)
    assert speed[[0, -1]] == pytest.approx(np.array([first_rad_s, last_rad_s]) * 60.0 / (2.0 * np.pi))
    assert pull.channels[Channel.TORQUE].max() == pytest.approx(peak_n_m)


def test_bus_logs_are_read_and_hold_no_pull(shared_data: Path) -> None:
    pytest.importorskip("asammdf")
    for name, words in (
        ("obd-drive.mf4", "no torque, power or load signal"),
        ("truck-bus-stationary.mf4", "engine speed is zero in all"),
    ):
        path = shared_data / "bus-logs" / name
        contents = read_tables(path.read_bytes(), name)
        said: list[str] = []
        for table in contents.tables:
            with pytest.raises(FileRefusedError) as caught:
                understand(contents.source, table)
            said.append(str(caught.value))
        assert any(words in sentence for sentence in said)
