"""Residual gas by correlation."""

from __future__ import annotations

import pytest

from pullbook.engine.residual import overlap_factor, residual_estimate


def test_overlap_factor_is_that_of_the_formula_worked_by_hand() -> None:
    # Fox, Cheng and Heywood 1993 (from memory): 1.45/86 (107 + 156 + 400) 9 * 34 / 86^2 = 0.46249.
    assert overlap_factor(20.0, 0.086, 0.034, 0.009) == pytest.approx(0.46249, rel=1e-4)


def test_residual_at_part_load_is_that_of_the_formula_worked_by_hand() -> None:
    # 1500 rpm = 25 rev/s, 0.5 and 1 bar: 1.266 * 0.0185 * 1.82766 * 0.70711 + 0.632 * 1.67018 / 10 = 0.13582.
    found = residual_estimate(1500.0, 0.46249, (0.5e5, 1e5), 10.0)
    assert found == pytest.approx(0.13582, rel=1e-3)


def test_full_throttle_leaves_a_few_per_cent() -> None:
    # 3 to 8 per cent at full throttle (practice).
    assert 0.03 < residual_estimate(4000.0, 0.46, (0.98e5, 1.05e5), 10.0) < 0.08


def test_more_overlap_and_deeper_throttling_leave_more() -> None:
    usual = residual_estimate(1500.0, 0.5, (0.5e5, 1e5), 10.0)
    assert residual_estimate(1500.0, 2.0, (0.5e5, 1e5), 10.0) > usual
    assert residual_estimate(1500.0, 0.5, (0.35e5, 1e5), 10.0) > usual
    assert residual_estimate(1500.0, 0.5, (0.5e5, 1e5), 12.0) < usual
