"""Pulls of one kind over one range, received in one state."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_pull
from check_cases import entries, noisy_pull, of_check, pull_with, session_of, sweep

from pullbook.check.agreement import check_coverage_of_all, check_direction, check_kinds, check_received
from pullbook.quantities.channels import Channel
from pullbook.records.check import Level
from pullbook.records.declaration import Standard
from pullbook.records.pull import Direction, Pull, TorqueKind
from pullbook.records.session import Dyno


def three(short_to: float) -> list[Pull]:
    ends = (6500.0, 6500.0, short_to)
    return [make_pull(f"pulls/{n}.csv", speed_rpm=np.arange(2000.0, end, 6.0)) for n, end in enumerate(ends)]


@pytest.mark.parametrize(("end", "level"), [(3800.0, Level.UNFIT), (5500.0, Level.LOOK)])
def test_a_pull_that_covers_less_than_the_others_is_named(end: float, level: Level) -> None:
    (check,) = check_coverage_of_all(*session_of(three(end), "AAB"))
    assert check.pull == "pulls/2.csv"
    assert check.level is level


def test_pulls_of_the_same_range_are_not_mentioned() -> None:
    assert check_coverage_of_all(*session_of(three(6480.0), "AAB")) == []
    assert check_coverage_of_all(*session_of([make_pull()], "A")) == []


def test_files_received_in_different_states_are_looked_at() -> None:
    _, session = session_of(three(6500.0), "AAB")
    assert check_received(session)[0].level is Level.OK
    mixed = replace(session, pulls=(replace(session.pulls[0], received=Standard.SAE_J607), *session.pulls[1:]))
    (check,) = check_received(mixed)
    assert check.level is Level.LOOK
    assert "SAE J607, observed" in check.says


def test_files_all_received_corrected_alike_are_ok_by_name() -> None:
    _, session = session_of(three(6500.0), "AAB")
    alike = replace(session, pulls=tuple(replace(entry, received=Standard.SAE_J607) for entry in entries("AAB")))
    assert check_received(alike)[0].says == "All files were received corrected to SAE J607."


def test_torque_and_uncalibrated_signals_are_not_mixed_unnoticed() -> None:
    contexts, session = session_of(three(6500.0), "AAB")
    assert check_kinds(contexts, session) == []
    contexts[1] = replace(contexts[1], pull=replace(contexts[1].pull, torque_kind=TorqueKind.RELATIVE))
    check = of_check(check_kinds(contexts, session), "torque_kind")
    assert "1 of 3 pulls" in check.says


def test_wheel_and_crank_are_not_mixed_unnoticed() -> None:
    pulls = [noisy_pull(n, f"pulls/{n}.csv") for n in range(3)]
    force = pull_with(pulls[0], tractive_force=np.linspace(4000.0, 3000.0, sweep(pulls[0]).size))
    contexts, session = session_of([force, *pulls[1:]], "AAB")
    assert "1 of 3 files" in of_check(check_kinds(contexts, session), "wheel_or_crank").says
    contexts, session = session_of([force] * 3, "AAB")
    assert "at the crank" in of_check(check_kinds(contexts, session), "wheel_or_crank").says
    assert check_kinds(contexts, replace(session, dyno=Dyno.CHASSIS)) == []
    assert Channel.TRACTIVE_FORCE in contexts[0].pull.channels


def swept(ways: str) -> list[Pull]:
    directions = {"u": Direction.UP, "d": Direction.DOWN, "s": Direction.STEPS}
    return [replace(make_pull(f"pulls/{n}.csv"), direction=directions[way]) for n, way in enumerate(ways)]


def test_builds_that_were_swept_in_different_ways_are_looked_at() -> None:
    (check,) = check_direction(session_of(swept("uuudud"), "AAABBB")[0])
    assert check.level is Level.LOOK
    assert "A 3 upwards, B 1 upwards and 2 downwards" in check.says
    (check,) = check_direction(session_of(swept("uuss"), "AABB")[0])
    assert "B 2 in steady points" in check.says


@pytest.mark.parametrize(
    ("ways", "says"), [("dddd", "All pulls were swept downwards."), ("udud", "in the same shares")]
)
def test_builds_that_were_swept_alike_are_ok(ways: str, says: str) -> None:
    (check,) = check_direction(session_of(swept(ways), "AABB")[0])
    assert check.level is Level.OK
    assert says in check.says


def test_a_pull_that_is_not_used_does_not_count_for_the_direction() -> None:
    contexts, _ = session_of(swept("uuud"), "AABB")
    contexts[3] = replace(contexts[3], used=False)
    assert check_direction(contexts)[0].level is Level.OK
    assert check_direction([]) == []
