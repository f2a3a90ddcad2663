"""The demo from its files to its verdicts: what is known to be true is found, and no more than the pulls can show."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from pullbook.app.compare_builds import Question, compare_session
from pullbook.app.ports import Silent
from pullbook.bench.demo import DEMO_SEED, demo_session
from pullbook.bench.demo_plan import SETUPS
from pullbook.bench.engine_curve import full_load_torque

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.result import SessionResult


def _result(folder: Path, seed: int) -> SessionResult:
    for name, content in demo_session(np.random.default_rng(seed)).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return compare_session(folder, Question(), Silent())


def _true_gain(of: str, from_: str, speed: FloatArray) -> FloatArray:
    return full_load_torque(speed, SETUPS[of]) - full_load_torque(speed, SETUPS[from_])


@pytest.mark.parametrize("seed", [DEMO_SEED, 101, 102, 103])
def test_the_three_claims_come_out_supported_refuted_and_undetermined(tmp_path: Path, seed: int) -> None:
    result = _result(tmp_path, seed)
    assert [claim.verdict for claim in result.findings.claims] == ["supported", "refuted", "undetermined"]


def test_the_cold_pull_and_the_glitch_are_left_out_and_nothing_else(tmp_path: Path) -> None:
    result = _result(tmp_path, DEMO_SEED)
    assert {status.pull.name for status in result.pulls if not status.used} == {"pulls/a1.csv", "pulls/c2.csv"}
    assert result.findings_with_all is not None


def test_the_truth_of_the_formula_makes_the_first_claim_true_and_the_second_false() -> None:
    # Means over a fine grid; the claims of session.toml ask for 2 kW, 0 N m and 2 N m.
    top = np.arange(5800.0, 6801.0)
    power = _true_gain("B", "A", top) * top * np.pi / 30.0
    assert power.mean() > 2 * 2000.0
    assert _true_gain("D", "A", np.arange(5500.0, 6501.0)).mean() < -5.0
    assert abs(_true_gain("E", "D", np.arange(2500.0, 3501.0)).mean() - 2.0) < 1.0


@pytest.mark.parametrize("seed", [DEMO_SEED, 101, 102, 103])
def test_the_truth_lies_inside_the_bands_of_most_sessions(tmp_path: Path, seed: int) -> None:
    # A band that holds over all speeds at once, in 95 sessions of 100; these four are among them.
    findings = _result(tmp_path, seed).findings
    outside = []
    for difference in findings.differences:
        truth = _true_gain(difference.of, difference.from_, findings.grid_rpm)
        inside = (difference.torque.low <= truth) & (truth <= difference.torque.high)
        outside += [] if inside.all() else [difference.of]
    assert outside == []
