from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from coverage_study import HEAD, SCENARIOS, Scenario, coverage_of

if TYPE_CHECKING:
    from collections.abc import Callable

# 200 sessions of 1,000 draws each: the Monte-Carlo error of 95 % coverage is 3 points, and the quantile of 1,000 draws
# costs half a point. The full study has 1,000 sessions of 4,000 draws.
SESSIONS, DRAWS = 200, 1000


@pytest.mark.slow
@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda scenario: scenario.name)
def test_the_band_holds_as_often_as_it_says(scenario: Scenario) -> None:
    rate = coverage_of(scenario, SESSIONS, DRAWS, seed=7)
    assert scenario.lowest <= rate.coverage <= scenario.highest
    assert 1.2 < rate.half_width < 4.5


@pytest.mark.simulation
def test_full_study_prints_its_table(tell: Callable[[str], None]) -> None:
    rates = [coverage_of(scenario, 1000, 4000) for scenario in SCENARIOS]
    tell("\n".join([HEAD, *(rate.row() for rate in rates)]))
    for rate in rates:
        assert rate.scenario.lowest <= rate.coverage <= rate.scenario.highest
