"""The odds that a plan promises are the odds that its sessions have."""

from __future__ import annotations

import pytest
from plan_power_study import DESIGNS, HEAD, Design, planned_odds, rows, seen_share


@pytest.mark.slow
@pytest.mark.parametrize("design", [DESIGNS[2]], ids=lambda design: design.order)
def test_planned_odds_are_about_what_a_few_sessions_have(design: Design) -> None:
    # 20 sessions have a standard error of 9 points at 80 %: three of them. The full study has 1,000 sessions.
    for odds, share in zip(planned_odds(design, 200), seen_share(design, 20), strict=True):
        assert share == pytest.approx(odds, abs=0.27)


@pytest.mark.simulation
@pytest.mark.parametrize("design", DESIGNS, ids=lambda design: design.order)
def test_planned_odds_and_seen_shares_agree_within_three_points(
    design: Design, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = rows(design, 1000, 1)
    with capsys.disabled():
        print("\n" + HEAD + "\n" + "\n".join(lines), flush=True)  # noqa: T201 - the table goes into the docs
    for line in lines:
        planned, seen = line.split("|")[3:5]
        error = float(seen.split("±")[1])
        # Three points, and what 1,000 sessions on each side leave to chance: the two standard errors together.
        assert abs(float(planned) - float(seen.split("±")[0])) < 3.0 + error
