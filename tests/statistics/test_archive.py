from __future__ import annotations

import pytest
from archive_study import CASES, HEAD, LOUDER, NOTICED_HEAD, Case, noticed, rates

# Sessions of the reduced study: the Monte Carlo error of 95 % is 10 points, of 90 % noticed 12.
FEW = 20


def test_bands_hold_with_what_earlier_sessions_taught_and_tripled_scatter_is_noticed() -> None:
    found = rates(CASES[0], 1, FEW, 400, seed=5)
    assert found.coverage >= 80.0
    assert 2.0 < found.half_width < 3.6  # 2.8 in the study that chose the method
    tripled = next(case for case in LOUDER if case.louder == 3.0)
    flagged, ratio = noticed(tripled, 1, FEW, seed=5)
    assert flagged >= 65.0
    assert ratio > 2.0


@pytest.mark.simulation
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_bands_hold_with_what_twenty_sessions_taught(case: Case, capsys: pytest.CaptureFixture[str]) -> None:
    found = rates(case, 15, 40, 4000)
    with capsys.disabled():
        print(f"\n{HEAD}\n{found.row()}", flush=True)  # noqa: T201 - the table is the point of the study
    # Monte Carlo error of 600 sessions: 1.7 points.
    assert 92.5 <= found.coverage <= 98.5


@pytest.mark.simulation
@pytest.mark.parametrize("case", LOUDER, ids=lambda case: case.name)
def test_changed_scatter_is_noticed_as_often_as_the_earlier_study_says(
    case: Case, capsys: pytest.CaptureFixture[str]
) -> None:
    flagged, ratio = noticed(case, 15, 40)
    with capsys.disabled():
        print(f"\n{NOTICED_HEAD}\n| {case.name} | {flagged:.1f} | {ratio:.2f} | {case.earlier} |")  # noqa: T201 - as above
    if case.louder > 1.0 and case.earlier != "-":
        assert flagged >= float(case.earlier) - 3.0
    if case.louder <= 1.0:
        assert flagged <= 7.0
