"""Monotone curve through points, against SciPy's."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from pullbook.engine.monotone import monotone_curve


@given(st.lists(st.floats(-5.0, 5.0), min_size=2, max_size=12), st.integers(0, 1000))
def test_curve_is_that_of_scipy(values: list[float], seed: int) -> None:
    # scipy.interpolate.PchipInterpolator, version 1.15 or later: the same method, not our code.
    x = np.cumsum(np.random.default_rng(seed).uniform(0.1, 2.0, len(values)))
    y = np.round(np.array(values), 3)
    at = np.linspace(x[0], x[-1], 57)
    assert monotone_curve(x, y, at) == pytest.approx(PchipInterpolator(x, y)(at), rel=1e-9, abs=1e-9)


@given(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=12))
def test_curve_through_rising_points_rises_and_stays_between_them(steps: list[float]) -> None:
    y = np.cumsum(steps)
    found = monotone_curve(np.arange(y.size, dtype=float), y, np.linspace(-1.0, y.size, 301))
    assert np.all(np.diff(found) >= -1e-12)
    assert found[[0, -1]] == pytest.approx(y[[0, -1]], abs=1e-14)


def test_points_are_met() -> None:
    x, y = np.array([0.0, 1.0, 3.0, 4.0]), np.array([1.0, -2.0, 0.5, 0.5])
    assert monotone_curve(x, y, x) == pytest.approx(y, abs=1e-14)
