"""Times of changes and pulls, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from plan_cases import COSTS, factorial, plain_builds

from pullbook.plan.costs import change_seconds, changed_factors, timetable


def test_a_change_of_one_factor_takes_what_is_stated() -> None:
    assert change_seconds(COSTS, ["cam"]) == 9000.0


def test_changes_made_at_once_share_what_they_have_in_common() -> None:
    # 150 min + 50 min + 40 min, and 10 min in common counted once: 240 - 2 * 10.
    assert change_seconds(COSTS, ["cam", "runners", "header"]) == 220 * 60.0


def test_changes_at_once_never_take_less_than_the_longest_of_them() -> None:
    assert change_seconds(replace(COSTS, together=6000.0), ["cam", "header"]) == 9000.0


def test_builds_without_factors_take_the_time_of_any_change() -> None:
    one, other = plain_builds(2)
    assert changed_factors(one, other) == ()
    assert change_seconds(COSTS, ()) == 2400.0


def test_a_session_is_warm_up_pulls_and_changes_with_what_is_around_them() -> None:
    builds = factorial(1, 2)
    times = timetable(builds, COSTS)
    # Warm-up 10; A: 2 pulls of 6; change 5 + 50 + 10; B: 3 pulls of 6. In minutes: 10 + 12 + 65 + 18.
    assert times.seconds(((0, 2), (1, 3))) == 105 * 60.0


def test_pulls_are_made_one_after_the_other_and_changes_lie_between() -> None:
    cell, fitting, hours = timetable(factorial(1, 2), COSTS).pulls(((0, 2), (1, 1), (0, 1)))
    assert cell.tolist() == [0, 0, 1, 0]
    assert fitting.tolist() == [0, 0, 1, 2]
    # Pulls at 0 and 6 min; the second fitting starts 6 + 65 min after that; the third as much later.
    assert np.round(hours * 60.0, 9).tolist() == [0.0, 6.0, 77.0, 148.0]


def test_the_time_table_is_symmetric_and_knows_which_changes_are_hard() -> None:
    between = timetable(factorial(2, 2, 2), COSTS).between
    assert between == pytest.approx(between.T)
    assert between[0, 1] < between[0, 2] < between[0, 4] < between[0, 7]
