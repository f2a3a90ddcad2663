"""The odds that a plan promises are the odds that its sessions have."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from plan_power_study import DESIGNS, DRAWN, HEAD, SESSIONS, Design, compared

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.mark.slow
@pytest.mark.parametrize("design", [DESIGNS[2]], ids=lambda design: design.order)
def test_planned_odds_are_about_what_a_few_sessions_have(design: Design) -> None:
    for one in compared(design, 20, 200):
        assert abs(one.seen - one.planned) <= 3.0 * one.error, one.row()


@pytest.mark.simulation
@pytest.mark.parametrize("design", DESIGNS, ids=lambda design: design.order)
def test_planned_odds_and_seen_shares_agree_within_three_points(design: Design, tell: Callable[[str], None]) -> None:
    found = compared(design, SESSIONS, DRAWN)
    tell("\n".join([HEAD, *(one.row() for one in found)]))
    for one in found:
        # Three points, and what both sides leave to chance: two standard errors, 3.5 points where the odds are even.
        assert abs(one.seen - one.planned) <= 3.0 + 2.0 * one.error, one.row()
    # Over all questions of a design nothing is added: the same sessions answer them, so that chance is about 1 point.
    assert abs(sum(one.seen - one.planned for one in found) / len(found)) <= 3.0
