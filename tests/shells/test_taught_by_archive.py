"""Twenty simulated sessions of two archives teach the next one, by the commands; the truth of each is known."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from noise_model import BENCH, simulate
from simulated_folder import write_simulated

from pullbook.cli.main import _status

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from noise_model import Simulated

    Run = Callable[..., str]

pytestmark = [pytest.mark.slow, pytest.mark.xdist_group("taught")]  # one worker remembers the sessions for all of these

# A bench that scatters two and a half times as much as the usual one, the same in every session.
PULL, SHAPE = 1.0, 0.75
NOISE: Final = replace(BENCH, offset=PULL, smooth=SHAPE, vary=0.0)
SESSIONS: Final = 20
WINDOW: Final = (5000.0, 6000.0)


def made(order: str, number: int) -> Simulated:
    return simulate(order, NOISE, np.random.default_rng([7, number]))


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Two archives that began as one, and of which one was merged into the other; one session came into both."""
    root = tmp_path_factory.mktemp("bench")
    first, second, backup = (str(root / name) for name in ("first.sqlite", "second.sqlite", "backup"))

    def did(*words: str) -> None:
        assert _status(["remember", *words]) == 0

    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PULLBOOK_DATA_HOME", str(root / "data"))
        patch.setenv("PULLBOOK_CACHE_HOME", str(root / "cache"))
        patch.setenv("PULLBOOK_USER", "tester")
        patch.delenv("PULLBOOK_ARCHIVE", raising=False)
        for number in range(SESSIONS):
            day = f"2026-05-{number + 1:02d}"
            folder = str(write_simulated(root / f"s{number}", made("ABBA", number), day))
            if number == 10:
                did("--backup", backup, "--archive", first)
                did("--restore", backup, "--archive", second)
            if number <= 15:
                did(folder, "--archive", first)
            if number >= 15:
                did(folder, "--archive", second)
        did("--merge", second, "--archive", first)
        yield root


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], bench: Path) -> Run:
    """Run a command that has to succeed, with the merged archive; what it printed, in one line."""

    def go(*words: object, archive: Path | None = None) -> str:
        capsys.readouterr()
        status = _status([*map(str, words), "--archive", str(archive or bench / "first.sqlite")])
        told = capsys.readouterr()
        assert status == 0, told.err
        return re.sub(r"\s+", " ", told.out)

    return go


def test_one_pull_a_build_is_answered_by_the_scatter_of_twenty_sessions_and_says_so(run: Run, tmp_path: Path) -> None:
    today = made("AB", SESSIONS)
    folder = write_simulated(tmp_path / "today", today)
    assert "Repeatability is taken from 20 earlier sessions; this session cannot check it." in run("compare", folder)
    findings = json.loads(run("compare", folder, "--json", "-"))
    assert findings["repeatability"]["from_archive"] is True
    # 80 pulls know their scatter to a tenth; the usual of other benches, 0.5 %, would be far off.
    assert findings["repeatability"]["sd_percent"] == pytest.approx(np.hypot(PULL, SHAPE), rel=0.3)
    history = findings["provenance"]["history"]
    assert history["sessions"] == SESSIONS
    beliefs = history["beliefs"]
    assert np.exp(beliefs["pull"]["location"]) == pytest.approx(PULL, rel=0.3)
    assert np.exp(beliefs["shape"]["location"]) == pytest.approx(SHAPE, rel=0.3)
    speed = np.array(findings["grid_rpm"])
    true = today.torque("B", speed) - today.torque("A", speed)
    (band,) = (one["torque"] for one in findings["differences"])
    low, high = (np.array([np.nan if value is None else value for value in band[end]]) for end in ("low", "high"))
    seen = np.isfinite(low)
    assert seen.sum() > 60
    assert np.all((low <= true) & (true <= high), where=seen)


def test_a_session_with_repeats_is_sharper_than_without_the_archive(run: Run, tmp_path: Path) -> None:
    folder = write_simulated(tmp_path / "today", made("AABB", SESSIONS + 1))

    def width(findings: Any) -> float:
        (difference,) = findings["differences"]
        return float(np.mean([one["torque"]["high"] - one["torque"]["low"] for one in difference["windows"]]))

    plain = tmp_path / "plain.json"
    assert _status(["compare", str(folder), "--json", str(plain)]) == 0
    taught = json.loads(run("compare", folder, "--json", "-"))
    assert "20 earlier sessions" in " ".join(taught["assumptions"])
    assert width(taught) < 0.8 * width(json.loads(plain.read_text(encoding="utf-8")))


def test_what_both_archives_had_is_there_once_and_pooled_once(run: Run, bench: Path) -> None:
    assert json.loads(run("remember", "--find", "simulated", "--most", "100", "--json", "-"))["count"] == SESSIONS
    words = ("--pool", "header 4-2-1 from 4-1", "--window", "5000..6000", "--json", "-")
    pool = json.loads(run("remember", *words))
    assert len(pool["sessions"]) == SESSIONS
    shares = next(one for one in pool["windows"] if one["unit"] == "%")
    # Every session has the same true effect, so that the pooled one is known to about 0.9 % / sqrt(20).
    speed = np.linspace(*WINDOW, 101)
    today = made("AB", 0)
    true = float(np.mean(100.0 * (today.torque("B", speed) / today.torque("A", speed) - 1.0)))
    assert shares["mean"]["low"] < true < shares["mean"]["high"]
    assert shares["mean"]["high"] - shares["mean"]["low"] < 1.5
    again = json.loads(run("remember", "--merge", bench / "second.sqlite", "--json", "-"))["merged"]
    assert (again["sessions"], again["events"]) == (0, 0)


def test_backed_up_deleted_and_restored_the_archive_teaches_the_same_to_the_last_digit(
    run: Run, tmp_path: Path
) -> None:
    folder = write_simulated(tmp_path / "today", made("AB", SESSIONS))
    other, copy = tmp_path / "other.sqlite", tmp_path / "copy"
    run("remember", "--backup", copy)
    run("remember", "--restore", copy, archive=other)
    before = run("compare", folder, "--json", "-", archive=other)
    other.unlink()
    run("remember", "--restore", copy, archive=other)
    assert run("compare", folder, "--json", "-", archive=other) == before
    assert run("compare", folder, "--json", "-") == before
