"""The commands on whole session folders."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from session_folder import CLAIM, write_session

from pullbook.cli.main import _status

if TYPE_CHECKING:
    from pathlib import Path


def _findings(folder: Path, capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, Any]:
    assert _status(["compare", str(folder), "--json", "-", *options]) == 0, capsys.readouterr().err
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_a_true_gain_is_found_and_its_claim_supported(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # The folder's formula gives B a gain of 6 (n - 3500) / 2000 N m at observed conditions; its mean over
    # 4500..6000 rpm is 5.25 N m, and the air of the folder corrects by about 1.01.
    found = _findings(write_session(tmp_path / "s"), capsys, "--window", "4500..6000")
    window = found["differences"][0]["windows"][0]["torque"]
    assert window["low"] < 5.25 * 1.008 < window["high"]
    assert found["claims"][0]["verdict"] == "supported"
    assert found["claims"][0]["unit"] == "N m"


def test_no_difference_supports_no_gain(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = _findings(write_session(tmp_path / "s", gain=0.0), capsys)
    assert found["claims"][0]["verdict"] != "supported"
    assert found["differences"][0]["crossovers"] == []


def test_the_same_files_give_the_same_digits(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s")
    assert _findings(folder, capsys) == _findings(folder, capsys)


def test_a_reader_who_stops_reading_is_no_failure(tmp_path: Path) -> None:
    folder = write_session(tmp_path / "s")
    command = f"set -o pipefail; '{sys.executable}' -m pullbook compare '{folder}' | head -n 1"
    done = subprocess.run(["bash", "-c", command], capture_output=True, check=False, encoding="utf-8")
    assert (done.returncode, done.stderr, len(done.stdout.splitlines())) == (0, "", 1)


def test_a_mistake_in_the_session_file_is_named_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_session(tmp_path / "s")
    text = (folder / "session.toml").read_text(encoding="utf-8")
    (folder / "session.toml").write_text(text.replace("[[claim]]", '[[claim]]\nsay = ""', 1), encoding="utf-8")
    row = text[: text.index("[[claim]]")].count("\n") + 2
    assert _status(["compare", str(folder)]) == 2
    assert f"session.toml, line {row}: claim[1].say: this key is unknown" in capsys.readouterr().err


def test_reader_units_do_not_touch_the_findings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s")
    metric, us = (_findings(folder, capsys, "--units", units) for units in ("metric", "us"))
    assert metric == us


def _close(one: object, other: object) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_close(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(_close(*pair) for pair in zip(one, other, strict=True))
    if isinstance(one, float) and isinstance(other, float | int):
        return bool(one == pytest.approx(other, rel=1e-6, abs=1e-6))
    return one == other


def test_a_session_recorded_in_us_units_gives_the_same_findings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    metric = _findings(write_session(tmp_path / "m"), capsys)
    us = _findings(write_session(tmp_path / "u", torque_unit="lb-ft"), capsys)
    for key in ("claims", "differences", "builds"):
        assert _close(metric[key], us[key]), key


def test_names_of_files_do_not_matter(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s")
    other = tmp_path / "t"
    shutil.copytree(folder, other)
    text = (other / "session.toml").read_text()
    for number, path in enumerate(sorted((other / "pulls").iterdir(), reverse=True)):
        path.rename(path.with_name(f"z{number}.csv"))
        text = text.replace(f"pulls/{path.name}", f"pulls/z{number}.csv")
    (other / "session.toml").write_text(text)
    one, two = _findings(folder, capsys), _findings(other, capsys)
    for key in ("claims", "differences", "builds", "effects", "repeatability"):
        assert one[key] == two[key], key


def test_mirrored_builds_flip_every_sign_and_nothing_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s", extra="")
    one = _findings(folder, capsys)["differences"][0]
    two = _findings(folder, capsys, "--of", "A", "--from", "B")["differences"][0]
    for quantity in ("torque", "power"):
        assert two[quantity]["mean"] == [None if x is None else -x for x in one[quantity]["mean"]]
        assert two[quantity]["low"] == [None if x is None else -x for x in one[quantity]["high"]]
        assert two[quantity]["high"] == [None if x is None else -x for x in one[quantity]["low"]]
    assert [c["sign_above"] for c in two["crossovers"]] == [-c["sign_above"] for c in one["crossovers"]]
    assert [c["rpm"] for c in two["crossovers"]] == [c["rpm"] for c in one["crossovers"]]


def test_a_pull_saved_twice_is_counted_once_and_said_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s", "AABBAA", extra="")
    shutil.copy(folder / "pulls/01-a.csv", folder / "pulls/02-a.csv")
    found = _findings(folder, capsys)
    assert next(build for build in found["builds"] if build["name"] == "A")["pulls"] == 3
    assert any("saved again" in str(entry) for entry in found["provenance"]["pulls"])


def test_a_pull_left_out_by_the_tester_shows_both_results(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s")
    text = (folder / "session.toml").read_text()
    (folder / "session.toml").write_text(
        text.replace('file = "pulls/03-b.csv"\n', 'file = "pulls/03-b.csv"\nleft_out = "belt slipped"\n')
    )
    found = _findings(folder, capsys)
    assert found["findings_with_all"] is not None
    assert "belt slipped" in json.dumps(found["provenance"])


def test_pulls_left_out_that_share_no_speeds_take_nothing_from_the_findings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_session(tmp_path / "s", "AABBBAA")
    declared = folder / "session.toml"
    for name, kept in (("02-a", slice(0, 110)), ("03-b", slice(-110, None))):
        head, *rows = (folder / f"pulls/{name}.csv").read_text().splitlines(keepends=True)
        (folder / f"pulls/{name}.csv").write_text(head + "".join(rows[kept]))
        line = f'file = "pulls/{name}.csv"\n'
        declared.write_text(declared.read_text().replace(line, f'{line}left_out = "it was stopped"\n'))
    found = _findings(folder, capsys)
    assert found["findings_with_all"] is None
    # The others share 2,091 to 6,435 rpm, of which 50 rpm at each end are not compared.
    assert (found["grid_rpm"][0], found["grid_rpm"][-1]) == (2150.0, 6350.0)
    assert _status(["compare", str(folder)]) == 0
    assert "no result with them could be made" in " ".join(capsys.readouterr().out.split())


def test_an_uncalibrated_signal_is_compared_in_per_cent_and_never_shown_as_torque(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_session(tmp_path / "s", extra="")
    for path in (folder / "pulls").iterdir():
        path.write_text(path.read_text().replace("Torque [Nm]", "Load cell [V]"))
    found = _findings(folder, capsys)
    difference = found["differences"][0]
    assert difference["torque"]["unit"] == "%"
    assert difference["power"] is None
    assert _status(["compare", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "N m" not in said
    assert "kW" not in said


def test_capture_shows_what_was_understood(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s", "AB")
    assert _status(["capture", str(folder / "pulls/01-a.csv"), str(folder / "pulls/02-b.csv")]) == 0
    said = capsys.readouterr().out
    for words in ("speed", "column 'RPM'", "torque", "pulls: 1", "samples, 14.", "sha256"):
        assert words in said


def test_correct_shows_every_value_on_the_way(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s", "AB")
    air = ["--temperature", "30 degC", "--pressure", "98 kPa", "--humidity", "60 %"]
    file = str(folder / "pulls/01-a.csv")
    assert _status(["correct", file, "--standard", "SAE J1349", *air, "--json", "-"]) == 0
    found = json.loads(capsys.readouterr().out)
    # 1.05409: worked example C, SAE J1349 in the form published in 1990.
    assert found["factor"][0] == pytest.approx(1.05409, abs=2e-4)
    assert any(step["value"] == pytest.approx(95_452, abs=20) for step in found["steps"]), "dry-air pressure, Pa"


def test_publish_writes_page_tables_and_stills(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s", extra=CLAIM)
    out = tmp_path / "out"
    assert _status(["publish", str(folder), "--to", str(out)]) == 0, capsys.readouterr().err
    assert {"report.html", "findings.json", "curves.csv", "stills"} <= {path.name for path in out.iterdir()}
    assert json.loads((out / "findings.json").read_text())["schema"] == "pullbook.findings/1"


def test_publish_leaves_what_was_there_when_it_fails(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "s")
    out = tmp_path / "out"
    out.mkdir()
    (out / "report.html").write_text("mine")
    (folder / "pulls/01-a.csv").write_text("")
    assert _status(["publish", str(folder), "--to", str(out)]) == 2
    capsys.readouterr()
    assert (out / "report.html").read_text() == "mine"


def test_inertia_is_estimated_from_pulls_at_two_rates(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # 0.30 kg m^2 at 300 rpm/s takes 9.4248 N m off the torque (J alpha, standards: 0.3 x 31.4159).
    files = []
    for number, rate in enumerate((150.0, 600.0, 300.0, 450.0)):
        time = np.arange(0, 4000 / rate, 0.02)
        rpm = 2000 + rate * time
        torque = 200 - 20 * ((rpm - 4000) / 2000) ** 2 - 0.30 * rate * np.pi / 30
        rows = [f"{t:.3f},{n:.3f},{m:.4f}" for t, n, m in zip(time, rpm, torque, strict=True)]
        path = tmp_path / f"{number}.csv"
        path.write_text("Time [s],RPM,Torque [Nm]\n" + "\n".join(rows) + "\n")
        files.append(str(path))
    assert _status(["capture", *files, "--inertia", "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)[-1]["value"] == pytest.approx(0.30, rel=0.01)
    assert _status(["capture", files[0], "--inertia"]) == 2
    assert "two sweep rates" in capsys.readouterr().err
