from __future__ import annotations

import pytest
from coverage_study import HEAD, SCENARIOS, Scenario, coverage_of

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
def test_full_study_prints_its_table(capsys: pytest.CaptureFixture[str]) -> None:
    rates = []
    with capsys.disabled():
        print("\n" + HEAD)  # noqa: T201 - the table is the point of the study; it goes into the docs
        for scenario in SCENARIOS:
            rates.append(coverage_of(scenario, 1000, 4000))
            print(rates[-1].row(), flush=True)  # noqa: T201 - as above
    for rate in rates:
        assert rate.scenario.lowest <= rate.coverage <= rate.scenario.highest
