"""Sessions go into the archive, come again, change, move, and are found; on SQLite and on PostgreSQL alike."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from archive_cases import SIGNED, memory, silent
from sqlalchemy import select, text

from pullbook.app.archive_question import archive_question
from pullbook.errors import FailureError, InputError
from pullbook.records.archive_answer import ArchiveQuestion, Outcome
from pullbook.remember import remembering
from pullbook.remember.archive import SqlArchive
from pullbook.remember.blobs import taken_out
from pullbook.remember.channels import from_parquet
from pullbook.remember.history import Held
from pullbook.remember.place import place_of
from pullbook.remember.told_channels import channels_told

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

ALL = ArchiveQuestion(most=1000)


def titles(archive: SqlArchive, words: str = "", **filters: str) -> list[str]:
    return [one.title for one in archive.find(archive_question(words, most=1000, **filters)).sessions]  # type: ignore[arg-type] # words


def test_a_session_is_kept_once_however_often_it_is_remembered(archive: SqlArchive) -> None:
    first = archive.remember(memory(), SIGNED)
    again = archive.remember(memory(), SIGNED)
    assert (first.outcome, again.outcome) == (Outcome.NEW, Outcome.SAME)
    assert (again.session, again.revision) == (first.session, 1)
    assert archive.find(ALL).count == 1
    assert len(archive.history("")) == 1


def test_a_session_whose_files_changed_is_a_new_revision_and_the_old_one_stays(archive: SqlArchive) -> None:
    old = memory(pulls=(1, 2, 3))
    first = archive.remember(old, SIGNED)
    changed = archive.remember(memory(pulls=(1, 2, 4), title="Primaries, once more"), SIGNED)
    assert (changed.outcome, changed.session, changed.revision) == (Outcome.REVISED, first.session, 2)
    assert set(changed.changed) == {"session.toml changed", "pulls/4.csv is new", "pulls/3.csv is gone"}
    assert titles(archive) == ["Primaries, once more"]
    with archive._reading() as connection:
        for name, content in old.files.items():
            sha256 = next(one["sha256"] for one in old.content["files"] if one["name"] == name)
            assert taken_out(connection, sha256) == content


def test_a_folder_that_was_moved_is_the_same_session_and_a_folder_used_again_is_another(archive: SqlArchive) -> None:
    first = archive.remember(memory(pulls=(1, 2, 3), folder="/bench/a"), SIGNED)
    moved = archive.remember(memory(pulls=(1, 2, 3), folder="/bench/b", title="Moved"), SIGNED)
    other = archive.remember(memory(pulls=(7, 8, 9), folder="/bench/a", title="Another day"), SIGNED)
    assert (moved.session, moved.revision) == (first.session, 2)
    assert (other.outcome, other.session != first.session) == (Outcome.NEW, True)


def test_a_borrowed_baseline_does_not_make_two_sessions_one(archive: SqlArchive) -> None:
    archive.remember(memory(pulls=(1, 2, 3), folder="/bench/a"), SIGNED)
    other = archive.remember(memory(pulls=(1, 5, 6), folder="/bench/b"), SIGNED)
    assert other.outcome is Outcome.NEW


def test_other_findings_of_the_same_files_are_added_beside_the_old_ones(archive: SqlArchive) -> None:
    first = archive.remember(memory(), SIGNED)
    newer = memory()
    newer.content["headline"], newer.content["program"] = "B makes more torque.", "0.2.0"
    object.__setattr__(newer, "findings", b'{"schema":"pullbook.findings/1","better":true}')
    again = archive.remember(newer, SIGNED)
    assert (again.outcome, again.session, again.revision) == (Outcome.FINDINGS, first.session, 1)
    assert archive.find(ALL).sessions[0].headline == "B makes more torque."
    assert archive.check(silent).damages == ()


def test_channels_come_back_from_the_files_and_those_of_no_text_within_their_step(archive: SqlArchive) -> None:
    kept = memory()
    first, *others = kept.channels
    apart = replace(first, file="pulls/100.xlsx")  # no text that was kept tells it
    archive.remember(replace(kept, channels=(apart, *others)), SIGNED)
    with archive._reading() as connection:
        rows = connection.execute(select(Held.name, Held.sha256).where(Held.role == "channels"))
        hashes = {row.name: row.sha256 for row in rows}
        (numbers,) = from_parquet(taken_out(connection, hashes["channels.parquet"]))
        told = channels_told(taken_out(connection, hashes["channels.json"]), kept.files.__getitem__)
    assert [table.pull for table in (numbers, *told)] == [table.pull for table in kept.channels]
    assert numbers.channels["torque"] == pytest.approx(first.channels["torque"], abs=0.0005 + 1e-9)  # N m
    assert numbers.channels["speed"] == pytest.approx(first.channels["speed"], abs=0.005 + 1e-9)  # rpm
    for table, original in zip(told, others, strict=True):
        for name, values in original.channels.items():
            assert table.channels[name] == pytest.approx(values, rel=1e-9)
    assert archive.check(silent).damages == ()


def test_words_are_found_by_their_beginning_whatever_case_accent_and_plural(archive: SqlArchive) -> None:
    archive.remember(memory(1, title="Camshafts of Zoë"), SIGNED)
    archive.remember(memory(2, title="Exhaust 4-2-1", engine="Street six"), SIGNED)
    assert titles(archive, "camshaft") == ["Camshafts of Zoë"]
    assert titles(archive, "CAM zoe") == ["Camshafts of Zoë"]
    assert titles(archive, "4-2-1") == ["Exhaust 4-2-1"]
    assert titles(archive, "cam exhaust") == []
    assert titles(archive, "street") == ["Exhaust 4-2-1"]
    assert titles(archive, "worth 3") == titles(archive)
    assert titles(archive, "100%_") == []


def test_sessions_come_with_the_latest_first_and_by_engine_and_day(archive: SqlArchive) -> None:
    for number, day in enumerate(("2025-12-30", "2026-05-04", "2026-05-31"), start=1):
        archive.remember(
            memory(number, title=f"T{number}", day=day, engine="Race  FOUR" if number == 1 else "Six"), SIGNED
        )
    assert titles(archive) == ["T3", "T2", "T1"]
    assert titles(archive, since="2026") == ["T3", "T2"]
    assert titles(archive, until="2025") == ["T1"]
    assert titles(archive, since="2026-05", until="2026-05") == ["T3", "T2"]
    assert titles(archive, engine="race four") == ["T1"]
    assert titles(archive, engine="fo") == ["T1"]
    found = archive.find(archive_question("", most=1))
    assert (len(found.sessions), found.count) == (1, 3)


def test_a_dimension_and_a_step_in_one_are_found_in_any_unit(archive: SqlArchive) -> None:
    archive.remember(memory(1, title="one", dimensions=(0.044, 0.045)), SIGNED)
    archive.remember(memory(2, title="three", dimensions=(0.044, 0.047)), SIGNED)
    archive.remember(memory(3, title="eighth", dimensions=(1.75 * 0.0254, 1.875 * 0.0254)), SIGNED)
    expected = {
        "primaries +3 mm": {"three", "eighth"},  # 1/8 in is 3.175 mm, and half a millimetre either way counts
        "primaries -3 mm": {"three", "eighth"},  # of two builds one has the smaller ones, whichever was the baseline
        "3.0 mm bigger primaries": {"three"},  # written to a tenth
        "1/8 in bigger primaries": {"three", "eighth"},  # half an eighth either way
        "primaries +1 mm": {"one"},
        "primaries 44 mm": {"one", "three", "eighth"},  # 1 3/4 in is 44.45 mm
        "primaries 1 3/4 in": {"one", "three", "eighth"},
        "primaries 44.0 mm": {"one", "three"},
        "primaries 41..43 mm": set(),
        "primaries 46..47 mm": {"three"},
        "runners +3 mm": set(),
        "primaries +3 deg": set(),
        "header +3 mm": {"three", "eighth"},
    }
    assert {asked: set(titles(archive, asked)) for asked in expected} == expected


def test_a_part_is_the_same_one_on_another_engine(archive: SqlArchive) -> None:
    archive.remember(memory(1, part="Header No. 17", engine="Race four"), SIGNED)
    archive.remember(memory(2, part="header  no 17", engine="Street six"), SIGNED)
    archive.remember(memory(3, part="header no 18", engine="Street six"), SIGNED)
    with archive._reading() as connection:
        rows = connection.execute(text(
            "SELECT part.key, count(DISTINCT session.engine_id) FROM part JOIN fitted ON fitted.part_id = part.id "
            "JOIN session ON session.id = fitted.session_id GROUP BY part.key ORDER BY part.key"
        )).all()  # fmt: skip
    assert [tuple(row) for row in rows] == [("header no 17", 2), ("header no 18", 1)]


def test_an_excluded_session_is_found_only_when_asked_for_and_comes_back_when_undone(archive: SqlArchive) -> None:
    session = archive.remember(memory(), SIGNED).session
    event = archive.exclude(session[:6], "wrong camshaft", SIGNED)
    assert titles(archive) == []
    assert archive.find(ArchiveQuestion(excluded=True)).sessions[0].excluded == "wrong camshaft"
    archive.undo(event, SIGNED)
    assert titles(archive) == ["Primaries on a small four"]
    assert [(entry.kind, entry.undone_by) for entry in archive.history(session)] == [
        ("remember", 0), ("exclude", 3), ("undo", 0),
    ]  # fmt: skip


def test_a_correction_wins_over_later_revisions_until_it_is_undone(archive: SqlArchive) -> None:
    session = archive.remember(memory(pulls=(1, 2, 3), engine="Race for"), SIGNED).session
    event = archive.correct(session, "engine", "Race four", SIGNED)
    archive.remember(memory(pulls=(1, 2, 4), engine="Race for"), SIGNED)
    assert archive.find(ALL).sessions[0].engine == "Race four"
    assert titles(archive, "four") == ["Primaries on a small four"]
    archive.undo(event, SIGNED)
    assert archive.find(ALL).sessions[0].engine == "Race for"


def test_a_revision_that_is_undone_leaves_the_one_before_and_can_come_again(archive: SqlArchive) -> None:
    archive.remember(memory(pulls=(1, 2, 3), title="first"), SIGNED)
    archive.remember(memory(pulls=(1, 2, 4), title="second"), SIGNED)
    archive.undo(2, SIGNED)
    assert titles(archive) == ["first"]
    archive.undo(1, SIGNED)
    assert titles(archive) == []
    back = archive.remember(memory(pulls=(1, 2, 3), title="first"), SIGNED)
    assert (back.outcome, titles(archive)) == (Outcome.NEW, ["first"])
    assert archive.check(silent).damages == ()


def test_a_note_about_nothing_is_refused(archive: SqlArchive) -> None:
    session = archive.remember(memory(), SIGNED).session
    archive.exclude(session, "x", SIGNED)
    archive.undo(2, SIGNED)
    refused: list[tuple[Callable[[], int], str]] = [
        (lambda: archive.undo(9, SIGNED), "no such event"),
        (lambda: archive.undo(2, SIGNED), "undone already"),
        (lambda: archive.undo(3, SIGNED), "cannot be undone"),
        (lambda: archive.exclude("ffffff", "why", SIGNED), "no such session"),
        (lambda: archive.exclude("", "why", SIGNED), "no such session"),
        (lambda: archive.exclude(session, " ", SIGNED), "nobody said why"),
        (lambda: archive.correct(session, "pulls", "3", SIGNED), "cannot be corrected"),
        (lambda: archive.correct(session, "title", " ", SIGNED), "needs a title"),
    ]
    for note, told in refused:
        with pytest.raises(InputError, match=told):
            note()
    assert len(archive.history("")) == 3
    assert archive.check(silent).damages == ()


def test_the_database_itself_lets_nobody_change_the_history(archive: SqlArchive) -> None:
    archive.remember(memory(), SIGNED)
    for table in ("event", "blob", "piece", "held"):
        for doing in ("UPDATE {} SET sha256 = sha256", "DELETE FROM {}"):
            with pytest.raises(FailureError, match="only ever added to"), archive._doors.writing() as connection:
                connection.execute(text(doing.format(table)))


def test_what_fails_half_way_leaves_the_archive_as_it_was(archive: SqlArchive, monkeypatch: pytest.MonkeyPatch) -> None:
    archive.remember(memory(1), SIGNED)

    def fails(*_: object) -> None:
        raise FailureError("the disk is full")

    monkeypatch.setattr(remembering, "draw", fails)
    with pytest.raises(FailureError):
        archive.remember(memory(2), SIGNED)
    monkeypatch.undo()
    assert len(archive.history("")) == 1
    checked = archive.check(silent)
    assert (checked.sessions, checked.events, checked.damages) == (1, 1, ())


def test_an_archive_that_is_not_there_is_named_with_what_starts_one(tmp_path: Path) -> None:
    absent = SqlArchive(place_of(str(tmp_path / "archive.sqlite")))
    with pytest.raises(InputError, match="there is no archive yet; 'pullbook remember SESSION' starts one"):
        absent.find(ALL)
