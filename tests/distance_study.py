"""How far the virtual engine is from every check: the tests are run, and what they compare is measured.

``python tests/distance_study.py`` prints the table of docs/methods/virtual-engine.md (two minutes). While it runs,
``pytest.approx`` and ``numpy.testing.assert_allclose`` note the largest departure at each line of a test.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from pathlib import Path
from typing import Any, Final

import numpy as np
import pytest
from distance_rows import ROWS

HERE: Final = Path(__file__).resolve().parent
REAL: Final[dict[str, Any]] = {"approx": pytest.approx, "allclose": np.testing.assert_allclose}
# Name of a test, line of a comparison: largest departure relative to what is expected, and absolute.
Departures = dict[str, dict[int, tuple[float, float]]]
noted: Departures = defaultdict(dict)


def note(actual: Any, expected: Any) -> None:
    """Add one comparison of numbers to those of the test that asks."""
    frame = sys._getframe(2)
    while not frame.f_code.co_name.startswith("test_"):
        if frame.f_back is None:
            return
        frame = frame.f_back
    try:
        found, wanted = np.ravel(np.asarray(actual, dtype=float)), np.ravel(np.asarray(expected, dtype=float))
    except (TypeError, ValueError):
        return
    gap = np.abs(found - wanted)
    relative = gap / np.where(wanted == 0.0, np.inf, np.abs(wanted))
    at = noted[frame.f_code.co_name]
    before = at.get(frame.f_lineno, (0.0, 0.0))
    at[frame.f_lineno] = max(before[0], float(relative.max())), max(before[1], float(gap.max()))


class Noting:
    """What ``pytest.approx`` gives, with a note of each comparison."""

    __array_ufunc__ = None
    __array_priority__ = 100
    __hash__ = None  # type: ignore[assignment]  # compared, never a key

    def __init__(self, expected: Any, **within: Any) -> None:
        self.expected, self.real = expected, REAL["approx"](expected, **within)

    def __eq__(self, actual: object) -> bool:
        note(actual, self.expected)
        return bool(self.real == actual)

    def __repr__(self) -> str:
        return repr(self.real)


def noting_allclose(actual: Any, desired: Any, **within: Any) -> None:
    """``assert_allclose`` with a note."""
    actual_, desired_ = np.broadcast_arrays(np.asarray(actual), np.asarray(desired))
    note(actual_, desired_)
    REAL["allclose"](actual, desired, **within)


def file_of(test: str) -> str:
    """The file that has a test of this name."""
    for path in sorted((HERE / "unit").rglob("test_*.py")):
        if f"def {test}(" in path.read_text(encoding="utf-8"):
            return str(path)
    raise SystemExit(f"{test} is in no file: distance_rows.py names a test that is gone")


def run_tests(tests: list[str]) -> int:
    """Run the tests of these names; the exit code of pytest."""
    pytest.approx = Noting  # type: ignore[assignment]  # put back below
    np.testing.assert_allclose = noting_allclose  # type: ignore[assignment]  # as above
    try:
        nodes = [f"{file_of(test)}::{test}" for test in tests]
        return int(pytest.main(["-q", "-p", "no:randomly", *nodes]))
    finally:
        pytest.approx, np.testing.assert_allclose = REAL["approx"], REAL["allclose"]


def main() -> int:
    """Print the table."""
    code = run_tests(sorted({test for row in ROWS for test in row.tests}))
    lines = ["| check | source | wanted | measured |", "| --- | --- | --- | --- |"]
    for row in ROWS:
        found = row.measure() if row.measure else row.read(noted)
        lines.append(f"| {row.check} | {row.source} | {row.wanted} | {found} |")
    sys.stdout.write("\n".join(lines) + "\n")
    return code


if __name__ == "__main__":
    sys.exit(main())
