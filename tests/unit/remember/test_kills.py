"""Killed at any moment, an archive is as before or as after; two programs at once keep out of each other's way."""

from __future__ import annotations

import os
import random
import sys
from typing import TYPE_CHECKING, Final

import pytest
from archive_cases import SIGNED, memory, silent
from archive_kills import DOINGS, Starter, kill_once

from pullbook.errors import FailureError
from pullbook.records.archive_answer import ArchiveQuestion
from pullbook.remember.archive import SqlArchive
from pullbook.remember.place import place_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

MOMENTS: Final = int(os.environ.get("PULLBOOK_MOMENTS", "8"))


@pytest.fixture(scope="module")
def starter() -> Iterator[Starter]:
    """A program that starts others."""
    made = Starter()
    yield made
    made.close()


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is meant")
@pytest.mark.parametrize("doing", DOINGS)
def test_killed_at_any_moment_the_archive_is_as_before_or_as_after(
    doing: str, address: str, starter: Starter, tmp_path: Path
) -> None:
    rng = random.Random(f"{doing} {address[:10]} {os.environ.get('PULLBOOK_SEED', '1')}")  # noqa: S311 - a test
    kills = [kill_once(starter, doing, address, tmp_path, rng) for _ in range(max(1, MOMENTS // (2 * len(DOINGS))))]
    states = [kill.state for kill in kills]
    assert set(states) <= {"before", "after"}
    at_work = sum(kill.in_time for kill in kills)
    print(f"{doing}: {len(kills)} kills, {at_work} at work, {states.count('after')} after")  # noqa: T201 - the figures of the recipe


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="processes are forked")
def test_two_programs_that_remember_at_once_keep_each_session_once(
    address: str, starter: Starter, tmp_path: Path
) -> None:
    programs = [starter.start("many", address, tmp_path) for _ in range(2)]
    assert [starter.ended(program) for program in programs] == [0, 0]
    archive = SqlArchive(place_of(address))
    assert archive.find(ArchiveQuestion()).count == 6
    assert len(archive.history("")) == 6
    assert archive.check(silent).damages == ()
    archive.close()


@pytest.fixture
def held(archive: SqlArchive) -> Iterator[SqlArchive]:
    """An archive in which another program is writing all the time."""
    archive.remember(memory(1), SIGNED)
    other = SqlArchive(archive.place)
    with other._doors.writing():
        yield archive
    other.close()


def test_a_writer_that_waits_in_vain_says_so_and_readers_need_not_wait(held: SqlArchive) -> None:
    hasty = SqlArchive(held.place, patience=0.2)
    with pytest.raises(FailureError, match=r"another program .* for long; wait .*; nothing was changed"):
        hasty.remember(memory(2), SIGNED)
    assert hasty.find(ArchiveQuestion()).count == 1
    hasty.close()
