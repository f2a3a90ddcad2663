"""Whole commands on real measurements beside the repository (see the README of that folder)."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING, Any

import pytest
from session_folder import HEADER, pull_entry

from pullbook.cli.main import _status

if TYPE_CHECKING:
    from pathlib import Path

SIGNAL = '\n[columns]\nload_signal = { column = "Analog #8", unit = "V" }\n'


def _session(
    folder: Path, shared_data: Path, pulls: list[tuple[str, str, int]], extra: str, standard: str = "none"
) -> Path:
    """Session of real files, copied beside it; each pull is (build, file, which)."""
    folder.mkdir()
    text = HEADER.replace('standard = "SAE J1349"', f'standard = "{standard}"')
    for build, file, which in pulls:
        shutil.copyfile(shared_data / file, folder / file.rpartition("/")[2])
        text += pull_entry(build, file.rpartition("/")[2], which=str(which) if which else "")
    (folder / "session.toml").write_text(text + extra)
    return folder


def _compare(folder: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, Any, str]:
    status = _status(["compare", str(folder), "--json", "-"])
    said = capsys.readouterr()
    return status, json.loads(said.out) if said.out else None, said.err


def test_a_labelled_comparison_at_part_throttle_gets_no_winner(
    tmp_path: Path, shared_data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Two restrictors, run with the throttle at 20 to 64 % only. The files hold no load signal at all; even when the
    # tester names a column in volts as one, no pull at full throttle may come out.
    pulls = [("A", "engine-brake-logs/restrictor-day-1-r.csv", 0), ("B", "engine-brake-logs/restrictor-day-1-w.csv", 0)]
    status, found, said = _compare(_session(tmp_path / "bare", shared_data, pulls, ""), capsys)
    assert (status, found) == (2, None)
    assert "there is no torque" in said
    named = '\n[columns]\nload_signal = { column = "Battery Volt", unit = "V" }\n'
    status, found, said = _compare(_session(tmp_path / "named", shared_data, pulls, named), capsys)
    assert (status, found) == (2, None)
    assert "there is no full-throttle pull" in said


def test_a_pull_that_is_the_tail_of_another_log_is_counted_once(
    tmp_path: Path, shared_data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pulls = [
        ("A", "engine-brake-logs/day-b-run-6.csv", 1),
        ("A", "engine-brake-logs/day-b-run-6.csv", 2),
        ("A", "engine-brake-logs/day-b-run-5.csv", 0),
        ("B", "engine-brake-logs/day-b-three-pulls.csv", 1),
        ("B", "engine-brake-logs/day-b-three-pulls.csv", 2),
    ]
    status, found, said = _compare(_session(tmp_path / "s", shared_data, pulls, SIGNAL), capsys)
    assert status == 0, said
    again = [pull for pull in found["provenance"]["pulls"] if "saved again" in (pull["because"] or "")]
    assert [pull["file"] for pull in again] == ["day-b-run-5.csv"]
    assert found["differences"][0]["torque"]["unit"] == "%", "an uncalibrated signal is never shown as torque"
    assert found["differences"][0]["power"] is None


@pytest.mark.parametrize("standard", ["SAE J1349", "SAE J607", "ISO 1585", "DIN 70020"])
def test_a_turbo_diesel_is_refused_by_spark_ignition_standards(
    standard: str, tmp_path: Path, shared_data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = "roller-wot-repeats/three-full-throttle-repeats.txt"
    engine = '\n[engine]\nignition = "compression"\ninduction = "turbocharged"\n'
    folder = _session(tmp_path / "s", shared_data, [("A", file, 1), ("B", file, 2)], engine, standard)
    status, found, said = _compare(folder, capsys)
    assert (status, found) == (2, None)
    assert standard in said or "compression" in said


def test_repeats_on_a_roller_give_wheel_power(
    tmp_path: Path, shared_data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Wheel power of pulls 2 and 3 at 60 mph: 87.9 and 86.9 kW (README of the data); the curve over engine speed has
    # its peak in that range.
    file = "roller-wot-repeats/three-full-throttle-repeats.txt"
    engine = '\n[engine]\nignition = "compression"\ninduction = "turbocharged"\n'
    pulls = [("A", file, 2), ("A", file, 3), ("B", file, 1)]
    folder = _session(tmp_path / "s", shared_data, pulls, engine)
    text = (folder / "session.toml").read_text().replace('dyno = "engine"', 'dyno = "chassis"')
    (folder / "session.toml").write_text(text)
    status, found, said = _compare(folder, capsys)
    assert status == 0, said
    peak = next(build for build in found["builds"] if build["name"] == "A")["peak_power"]
    assert peak["value"] == pytest.approx(87.6, abs=1.0)


def test_every_file_is_read_or_refused_in_one_sentence(shared_data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [path for path in sorted(shared_data.glob("*/*.*")) if path.suffix in {".csv", ".txt", ".xls", ".mf4"}]
    assert len(files) >= 15
    for path in files:
        status = _status(["capture", str(path), "--json", "-"])
        (found,) = json.loads(capsys.readouterr().out)
        assert status == (2 if "refused" in found else 0)
        if "refused" in found:
            assert found["refused"]["what"]
            assert found["refused"]["remedy"]


def test_no_curve_is_drawn_across_a_gap_of_full_load_points(
    tmp_path: Path, shared_data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Nothing was measured between 4490 and 6000 rpm. The other pulls are the same points, some per mille away.
    head, *points = (shared_data / "full-load-points/na-2.0-i4.csv").read_text().splitlines()
    folder = tmp_path / "s"
    folder.mkdir()
    text = HEADER.replace('standard = "SAE J1349"', 'standard = "none"')
    for number, (build, factor) in enumerate((("A", 1.0), ("A", 1.004), ("B", 1.02), ("B", 1.017), ("A", 0.998))):
        rows = [(w, float(torque) * factor) for w, torque in (point.split(",") for point in points)]
        (folder / f"{number}.csv").write_text("\n".join([head, *(f"{w},{torque:.4f}" for w, torque in rows)]) + "\n")
        text += pull_entry(build, f"{number}.csv")
    (folder / "session.toml").write_text(text)
    status, found, said = _compare(folder, capsys)
    assert status == 0, said
    drawn = dict(zip(found["grid_rpm"], found["differences"][0]["torque"]["mean"], strict=True))
    assert all(drawn[speed] is None for speed in drawn if 4500 <= speed <= 5950)
    assert all(drawn[speed] is not None for speed in drawn if speed <= 4450 or speed >= 6050)
    assert drawn[6100] is not None
