"""What sessions keep for pooling and learning comes back from both databases, of the revision that stands."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from archive_cases import SIGNED, pull_file, silent
from evidence_cases import evidence, evidence_memory

from pullbook.app.honest_bands import honest_bands
from pullbook.app.pool_question import change_asked
from pullbook.records.archive_answer import ArchiveQuestion, Outcome
from pullbook.remember.matching import which_way

if TYPE_CHECKING:
    from pullbook.remember.archive import SqlArchive

BIGGER = change_asked("primaries +3 mm")


def gains(archive: SqlArchive) -> list[float]:
    return [one.evidence["effects"][0]["gain"][0] for one in archive.evidence(BIGGER)]


def test_evidence_of_every_session_comes_back_word_for_word_by_rising_day(archive: SqlArchive) -> None:
    told = {day: evidence(float(day)) for day in (3, 1, 2)}
    for day, one in told.items():
        archive.remember(evidence_memory(day, one, day=f"2026-05-0{day}"), SIGNED)
    assert [one.evidence for one in archive.evidence(BIGGER)] == [told[day] for day in (1, 2, 3)]
    assert [one.matches for one in archive.evidence(BIGGER)] == [((0, 1),)] * 3
    assert archive.check(silent).damages == ()


def test_only_the_revision_that_stands_counts_and_undoing_it_brings_the_one_before(archive: SqlArchive) -> None:
    archive.remember(evidence_memory(1, evidence(2.0), pulls=(1, 2, 3)), SIGNED)
    archive.remember(evidence_memory(1, evidence(5.0), pulls=(1, 2, 4)), SIGNED)
    assert gains(archive) == [10.0]  # 5 % of 200 N m
    archive.undo(2, SIGNED)
    assert gains(archive) == [4.0]


def test_an_older_revision_that_is_remembered_again_with_other_evidence_does_not_count(archive: SqlArchive) -> None:
    archive.remember(evidence_memory(1, evidence(2.0), pulls=(1, 2, 3)), SIGNED)
    archive.remember(evidence_memory(1, evidence(5.0), pulls=(1, 2, 4)), SIGNED)
    again = archive.remember(evidence_memory(1, evidence(7.0), pulls=(1, 2, 3)), SIGNED)
    assert again.outcome is Outcome.FINDINGS
    assert gains(archive) == [10.0]


def test_a_session_from_before_evidence_was_kept_is_told_and_gets_it_when_remembered_again(archive: SqlArchive) -> None:
    archive.remember(evidence_memory(1, None), SIGNED)
    assert [(one.evidence, one.matches) for one in archive.evidence(BIGGER)] == [({}, ())]
    assert archive.remember(evidence_memory(1, evidence(2.0)), SIGNED).outcome is Outcome.FINDINGS
    assert gains(archive) == [4.0]


def test_an_excluded_session_neither_is_pooled_nor_teaches(archive: SqlArchive) -> None:
    done = archive.remember(evidence_memory(1, evidence(2.0), b"scatter"), SIGNED)
    assert [one.packed for one in archive.scatter("engine", "", ())] == [b"scatter"]
    archive.exclude(done.session, "the cell slipped", SIGNED)
    assert (archive.evidence(None), archive.scatter("engine", "", ())) == ((), ())


def test_a_session_is_never_taught_by_one_that_has_a_pull_of_its_own(archive: SqlArchive) -> None:
    for seed in (1, 2):
        archive.remember(evidence_memory(seed, evidence(2.0), f"of {seed}".encode()), SIGNED)
    own = hashlib.sha256(pull_file(101)).hexdigest()
    assert [one.packed for one in archive.scatter("engine", "", [own])] == [b"of 2"]
    assert archive.scatter("chassis", "", ()) == ()


def test_sessions_of_another_bench_do_not_teach_and_those_that_name_none_teach_those_that_name_none(
    archive: SqlArchive,
) -> None:
    for seed, bench in enumerate(("Cell 2", "cell  2 ", "cell 1", "")):
        one = evidence_memory(seed, evidence(2.0), f"of {seed}".encode())
        archive.remember(replace(one, content=one.content | {"bench": bench}), SIGNED)
    taught = {bench: {one.packed for one in archive.scatter("engine", bench, ())} for bench in ("CELL 2", "", "cell 3")}
    assert taught == {"CELL 2": {b"of 0", b"of 1"}, "": {b"of 3"}, "cell 3": set()}
    assert archive.check(silent).damages == ()
    assert len(archive.find(ArchiveQuestion(words=("cell",))).sessions) == 3


@pytest.mark.parametrize(
    ("words", "way"),
    [
        ("primaries 47 mm from 44 mm", 1),
        ("primaries 44 mm from 47 mm", -1),
        ("primaries +3 mm", 1),
        ("primaries -3 mm", -1),
        ("3 mm smaller primaries", -1),
        ("1/8 in bigger primaries", 1),
        ("header big from small", 1),
        ("small from big", -1),
        ("primaries 47 mm from 45 mm", 0),
        ("primaries +5 mm", 0),
        ("camshaft big from small", 0),
        ("header from primaries", 0),
    ],
)
def test_a_change_is_found_by_words_and_by_dimensions_and_either_way_round(words: str, way: int) -> None:
    assert which_way(evidence(1.0)["effects"][0], change_asked(words)) == way


def test_bands_that_held_are_counted_over_sessions(archive: SqlArchive) -> None:
    for seed in range(1, 5):
        archive.remember(evidence_memory(seed, evidence(1.0, held=seed != 3)), SIGNED)
    archive.remember(evidence_memory(9, evidence(1.0, itself=None)), SIGNED)
    found = honest_bands(archive)
    assert (found.sessions, found.held, found.windows, found.windows_held, found.without) == (4, 3, 12, 10, 1)
    # Clopper and Pearson, 3 of 4: scipy.stats.beta.ppf([0.025, 0.975], [3, 4], [2, 1]).
    assert (round(found.low, 4), round(found.high, 4)) == (0.1941, 0.9937)
    assert [one.worst for one in found.outside] == [1.4]
