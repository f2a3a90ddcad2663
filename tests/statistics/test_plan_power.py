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
        # Of 4,000 sessions and 8,000 drawn, whose difference has a standard error of a point at most.
        assert abs(one.seen - one.planned) <= 3.0, one.row()
