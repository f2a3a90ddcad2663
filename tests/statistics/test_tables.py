"""What the studies print: their tables come out where tests run side by side, as the recipe runs them."""

from __future__ import annotations

import os
import subprocess
import sys
from typing import TYPE_CHECKING

from repo.tree import ROOT

if TYPE_CHECKING:
    from pathlib import Path

STUDY = """\
def test_a_study_that_passes(tell):
    tell("| kept | 95.0 |")


def test_a_study_that_fails(tell):
    tell("| broken | 12.0 |")
    assert False
"""


def test_tables_of_studies_come_out_where_tests_run_side_by_side(tmp_path: Path) -> None:
    (tmp_path / "conftest.py").write_bytes((ROOT / "tests" / "statistics" / "conftest.py").read_bytes())
    (tmp_path / "test_study.py").write_text(STUDY, encoding="utf-8")
    (tmp_path / "pytest.ini").write_text(f"[pytest]\npythonpath = {ROOT / 'tests'}\n", encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "xdist", "-n", "1", "-p", "no:cacheprovider", str(tmp_path)]
    quick = {**os.environ, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    done = subprocess.run(command, cwd=tmp_path, env=quick, capture_output=True, text=True, check=False)
    assert done.returncode == 1, done.stderr
    lines = done.stdout.splitlines()
    assert [lines.count(row) for row in ("| kept | 95.0 |", "| broken | 12.0 |")] == [1, 1]
