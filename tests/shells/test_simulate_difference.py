"""``pullbook simulate --difference``: what the grid adds to both curves goes out of their difference."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from engines import run

from pullbook.cli.main import _status
from pullbook.cli.show_simulated import print_difference
from pullbook.engine.templates import template_text
from pullbook.quantities.showing import UnitSystem
from pullbook.records.simulation import SimulatedCurve

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


def curve(name: str, torque: float, grid_error: float) -> SimulatedCurve:
    """Curve of one point."""
    point = replace(run("single", 5000.0)[0], torque=torque)
    return SimulatedCurve(name=name, points=(point,), failures=(), grid_error=np.array([grid_error]), assumed=())


def test_the_grid_error_of_a_difference_is_the_difference_of_theirs(capsys: pytest.CaptureFixture[str]) -> None:
    print_difference(curve("A", 40.0, 0.8), curve("B", 43.0, 0.5), UnitSystem.METRIC)
    print_difference(curve("A", 40.0, -0.8), curve("B", 43.0, 0.5), UnitSystem.METRIC)
    print_difference(curve("A", 40.0, -0.8), curve("B", 43.0, float("nan")), UnitSystem.METRIC)
    rows = [line.split() for line in capsys.readouterr().out.splitlines() if line.strip().startswith("5000")]
    assert [row[1:5] for row in rows] == [
        ["40.0", "43.0", "+3.0", "0.3"],
        ["40.0", "43.0", "+3.0", "1.3"],
        ["40.0", "43.0", "+3.0", "-"],
    ]


def test_an_engine_less_itself_has_no_gain_and_no_grid_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "engine.toml"
    path.write_text(template_text("single"), encoding="utf-8")
    assert _status(["simulate", str(path), str(path), "--difference", "--rpm", "7000"]) == 0
    row = next(line.split() for line in capsys.readouterr().out.splitlines() if line.strip().startswith("7000"))
    assert row[3:] == ["+0.0", "0.0", "+0.0"]
