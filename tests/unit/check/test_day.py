"""First pulls, the return of the baseline, and pauses; on made-up days and on real ones."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from builders import make_corrected, make_pull, make_source
from check_cases import entries, noisy_pull, pull_with, session_of

from pullbook.capture.mapping import understand
from pullbook.capture.reader import read_tables
from pullbook.capture.segment import find_pulls
from pullbook.check.day import check_baseline_return, check_first_pulls, check_pauses, pull_levels
from pullbook.quantities.channels import Channel
from pullbook.records.check import Level
from pullbook.records.context import PullContext
from pullbook.records.pull import Direction, Pull

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.records.session import Session

START = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)


def day(builds: str, percent: list[float], **changes: object) -> tuple[list[PullContext], Session]:
    """A day whose pulls stand at given levels, with a little noise from sample to sample."""
    pulls = [
        pull_with(pull, torque=pull.channels[Channel.TORQUE] * (1.0 + level / 100.0))
        for number, level in enumerate(percent)
        for pull in [noisy_pull(50 + number, f"pulls/{number}.csv", build="A", white=0.1)]
    ]
    return session_of(pulls, builds, **changes)


def test_levels_are_the_mean_departure_from_the_mean_curve() -> None:
    contexts, _ = day("AAA", [-1.0, 0.0, 1.0])
    levels = pull_levels(contexts)
    assert levels == pytest.approx([-1.0, 0.0, 1.0], abs=0.05)


def test_pulls_that_share_no_speeds_have_no_levels() -> None:
    low = make_pull(speed_rpm=np.arange(2000.0, 3000.0, 6.0))
    high = make_pull(speed_rpm=np.arange(4000.0, 5000.0, 6.0))
    contexts, _ = session_of([low, high], "AA")
    assert pull_levels(contexts) is None


def test_first_pulls_that_are_lower_each_time_are_seen() -> None:
    contexts, session = day("AAABBBAAA", [-1.5, 0.0, 0.1, -1.4, 0.1, -0.1, -1.6, 0.2, 0.0])
    (check,) = check_first_pulls(contexts, session)
    assert check.level is Level.LOOK
    assert "first pulls of 3 fittings" in check.says
    assert "lower than the later ones" in check.says
    assert check.could_explain == pytest.approx(1.5, abs=0.1)


def test_a_first_pull_of_the_day_that_is_lower_is_seen_by_name() -> None:
    contexts, session = day("AAAABBBB", [-3.0, 0.0, 0.1, -0.1, 0.0, 0.1, -0.1, 0.0])
    (check,) = check_first_pulls(contexts, session)
    assert check.level is Level.LOOK
    assert "pulls/0.csv, is 3.0 % lower" in check.says


def test_first_pulls_like_the_others_are_ok() -> None:
    contexts, session = day("AAABBBAAA", [0.3, 0.0, -0.4, -0.2, 0.3, 0.1, 0.2, -0.3, 0.1])
    (check,) = check_first_pulls(contexts, session)
    assert check.level is Level.OK


def test_a_first_pull_that_was_left_out_is_not_judged() -> None:
    contexts, session = day("AAA", [-9.0, 0.0, 0.1])
    contexts[0] = replace(contexts[0], used=False)
    assert check_first_pulls(contexts, session) == []


def test_one_pull_each_says_nothing_about_first_pulls() -> None:
    assert check_first_pulls(*day("ABA", [0.0, 0.0, 0.0])) == []


def test_a_baseline_that_is_not_run_again_is_looked_at_with_the_remedy() -> None:
    (check,) = check_baseline_return(*day("AABB", [0.0, 0.0, 2.0, 2.0]))
    assert check.level is Level.LOOK
    assert check.remedy == "run the baseline again at the end"


def test_a_baseline_refitted_without_another_build_between_is_no_return() -> None:
    contexts, session = day("AABB", [0.0, 0.0, 2.0, 2.0])
    contexts[1] = replace(contexts[1], fitting=9)
    (check,) = check_baseline_return(contexts, session)
    assert "not run again" in check.says


def test_a_baseline_that_comes_back_is_ok_and_one_that_drifts_is_sized() -> None:
    (fine,) = check_baseline_return(*day("AABBAA", [0.1, -0.1, 2.0, 2.0, 0.1, 0.0]))
    assert fine.level is Level.OK
    times = [START + timedelta(minutes=7 * number) for number in range(6)]
    contexts, session = day("AABBAA", [0.1, -0.1, 2.0, 2.0, -1.4, -1.6])
    (drift,) = check_baseline_return(contexts, replace(session, pulls=entries("AABBAA", times)))
    assert drift.level is Level.LOOK
    # 1.5 % down in 28 minutes (four pulls of seven minutes between the middles of the two blocks)
    assert "1.5 % lower than before in 0.5 h, -3.2" in drift.says
    assert drift.could_explain == pytest.approx(1.5, abs=0.05)


def test_no_rate_is_told_where_no_times_are_declared() -> None:
    (drift,) = check_baseline_return(*day("ABA", [0.0, 2.0, -1.5]))
    assert "an hour" not in drift.says


def test_a_session_of_the_baseline_alone_has_no_return() -> None:
    assert check_baseline_return(*day("AAA", [0.0, 0.0, 0.0])) == []


def test_a_long_pause_within_a_fitting_is_named_and_one_between_fittings_is_not() -> None:
    times = [START + timedelta(minutes=minutes) for minutes in (0, 90, 180, 187)]
    contexts, session = day("AABB", [0.0] * 4)
    session = replace(session, pulls=entries("AABB", times))
    contexts = [replace(c, time=(t - START).total_seconds()) for c, t in zip(contexts, times, strict=True)]
    (check,) = check_pauses(contexts, session)
    assert check.pull == "pulls/1.csv"
    assert "90 min" in check.says


# The lab's own figures: wheel power at 50 mph 84.6, 87.6 and 87.1 kW in pulls 1, 2 and 3; mean of five speeds
# 81.6, 84.8 and 84.1 kW, so that the first is 3.3 % lower than the other two.
def test_a_cold_first_pull_on_real_rollers_is_seen(shared_data: Path) -> None:
    name = "roller-wot-repeats/three-full-throttle-repeats.txt"
    contents = read_tables((shared_data / name).read_bytes(), name)
    pulls = find_pulls(understand(contents.source, contents.tables[0]), name).pulls
    assert len(pulls) == 3
    contexts, session = session_of(pulls, "AAA", rpm_range=None)
    (check,) = check_first_pulls(contexts, session)
    assert check.level is Level.LOOK
    assert "lower than" in check.says
    assert check.could_explain == pytest.approx(3.3, abs=1.2)


def steady(name: str, torque: float) -> Pull:
    speed = np.array([1095.0, 1100.0, 1105.0])
    return Pull(
        name=name, source=make_source(name), direction=Direction.STEPS, rows=np.array([1, 2, 3]),
        channels={Channel.SPEED: speed, Channel.TORQUE: np.full(3, torque)},
    )  # fmt: skip


# Brake torque of the returned baseline in tests 4, 5, 10 and 18 of a real run table, as the notes on the data give it.
def test_the_drift_of_a_real_returned_baseline_is_sized() -> None:
    torques = {"A4": 33.390, "A5": 33.470, "B": 31.0, "A10": 33.586, "C": 32.0, "A18": 33.693}
    builds = [name[0] for name in torques]
    fittings = (1, 1, 2, 3, 4, 5)
    contexts = [
        PullContext(
            pull=pull, corrected=make_corrected(pull, factor=1.0), build=build, fitting=fitting, time=600.0 * fitting
        )
        for (name, torque), build, fitting in zip(torques.items(), builds, fittings, strict=True)
        for pull in [steady(name, torque)]
    ]
    _, session = session_of([make_pull()] * 6, "".join(builds), rpm_range=None)
    (check,) = check_baseline_return(contexts, session)
    # 33.693 over the mean of 33.390 and 33.470 is 1.0079
    assert check.level is Level.LOOK
    assert check.could_explain == pytest.approx(0.79, abs=0.02)
    assert "0.8 % higher" in check.says
