from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import pytest
from pooling_study import (
    CURVE_HEAD,
    HEAD,
    HETEROGENEITIES,
    PRECISIONS,
    SESSIONS,
    curve_rates,
    printed_coverage,
    rates,
)

if TYPE_CHECKING:
    from collections.abc import Callable

# 3 x 40 sets for each number of sessions: the Monte Carlo error of 95 % is 4 points, of all together 1.7; the full
# study has 4,000 sets a row.
SETS = 40


def test_pooled_interval_holds_as_often_as_it_says() -> None:
    held = [printed_coverage(count, SETS, seed=11) for count in SESSIONS]
    assert min(held) >= 89.0
    assert 92.5 <= sum(held) / len(held) <= 98.0


def test_pooled_band_and_the_band_for_the_next_engine_hold_at_all_speeds_at_once() -> None:
    mean, following = curve_rates(6, 0.47, 60, seed=3)
    assert mean >= 90.0
    assert following >= 90.0


@pytest.mark.simulation
def test_full_study_of_pooling_prints_its_table(tell: Callable[[str], None]) -> None:
    found = [
        (precision, rates(count, heterogeneity, precision, 4000))
        for precision, count, heterogeneity in product(PRECISIONS, SESSIONS, HETEROGENEITIES)
    ]
    tell("\n".join([HEAD, *(rate.row() for _, rate in found)]))
    for precision, rate in found:
        # Monte Carlo error with 4,000 sets: 0.7 points.
        assert 93.3 <= rate.printed <= (99.1 if precision == PRECISIONS[2] else 97.2), rate.name
        assert rate.following >= 94.0, rate.name


@pytest.mark.simulation
@pytest.mark.parametrize("count", SESSIONS)
def test_full_study_of_pooled_curves(count: int, tell: Callable[[str], None]) -> None:
    tell(CURVE_HEAD)
    for heterogeneity in HETEROGENEITIES:
        mean, following = curve_rates(count, heterogeneity, 2000)
        tell(f"| {count}, {100 * heterogeneity:.0f} % | {mean:.1f} | {following:.1f} |")
        assert mean >= 93.0
        assert following >= 92.0
