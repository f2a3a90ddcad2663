"""The session file of a folder is edited whole or not at all, and never made worse."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from session_texts import FULL, SMALL

from pullbook.app.edit_session import apply_edits, open_draft, replace_text
from pullbook.capture.session_edit import Edit, edit_session
from pullbook.errors import ConflictError, InputError, PullbookError

if TYPE_CHECKING:
    from pathlib import Path

FRESH = '[session]\ntitle = "One header"\nstandard = "SAE J1349"\nreceived = "observed"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folder_with(tmp_path / "one", SMALL)


def folder_with(folder: Path, text: str) -> Path:
    folder.mkdir()
    (folder / "session.toml").write_bytes(text.encode())
    return folder


def text_of(folder: Path) -> str:
    return (folder / "session.toml").read_bytes().decode()


def refused(folder: Path, *edits: Edit, revision: str = "") -> PullbookError:
    before = text_of(folder)
    with pytest.raises(InputError) as caught:
        apply_edits(folder, edits, revision=revision)
    assert text_of(folder) == before
    assert caught.value.remedy
    return caught.value


def test_a_session_grows_from_its_title_to_a_claim_before_a_file_is_there(tmp_path: Path) -> None:
    folder = folder_with(tmp_path / "one", FRESH)
    for edit in (
        Edit("set", "engine.displacement", "2.2 L"),
        Edit("add", "build", {"name": "A"}),
        Edit("add", "build", {"name": "B"}),
        Edit("set", "build[1].baseline", value=True),
        Edit("add", "factor", {"name": "header", "levels": ["4-1", "4-2-1"]}),
        Edit("set", "build[1].levels.header", "4-1"),
        Edit("set", "build[2].levels.header", "4-2-1"),
        Edit("add", "claim", {"id": "c", "says": "B gains", "of": "B", "from": "A", "quantity": "power",
                              "where": "peak", "at_least": "3 kW"}),
        Edit("add", "pull", {"build": "A", "file": "pulls/a1.csv"}),
    ):  # fmt: skip
        draft = apply_edits(folder, [edit])
        assert all(problem.unfinished for problem in draft.problems)
    assert [problem.at for problem in draft.problems] == ["build[2]", "claim[1].of"]
    draft = apply_edits(folder, [Edit("add", "pull", {"build": "B", "file": "pulls/b1.csv"})])
    assert draft.session is not None
    assert draft == open_draft(folder)


def test_a_value_that_is_wrong_is_refused_at_its_place_and_nothing_is_written(folder: Path) -> None:
    assert refused(folder, Edit("set", "pull[1].air.pressure", "99")).where == "session.toml: pull[1].air.pressure"
    assert refused(folder, Edit("set", "session.date", "4 May")).where == "session.toml: session.date"
    error = refused(folder, Edit("add", "build", {"name": "C"}), Edit("set", "session.standard", "SAE J1394"))
    assert (error.where, error.value) == ("session.toml: session.standard", "SAE J1394")
    assert not (folder / ".pullbook" / "history").exists()


def test_a_new_entry_has_to_have_the_keys_that_it_needs(folder: Path) -> None:
    assert refused(folder, Edit("add", "pull", {"build": "A"})).where == "session.toml: pull[3].file"
    assert refused(folder, Edit("add", "pull[1]", {"build": "A"})).where == "session.toml: pull[1].file"
    claim = {"id": "c", "says": "B gains", "of": "B", "from": "A", "quantity": "power", "where": "peak"}
    assert refused(folder, Edit("add", "claim", claim)).where == "session.toml: claim[1]"
    assert refused(folder, Edit("add", "factor", {"name": "header"})).where == "session.toml: factor[1].levels"


def test_a_place_is_followed_through_the_edits_that_come_behind_it(folder: Path) -> None:
    wrong = Edit("set", "pull[2].air.pressure", "99")
    assert refused(folder, wrong, Edit("move", "pull[2]", 1)).where == "session.toml: pull[1].air.pressure"
    apply_edits(folder, [Edit("add", "pull", {"build": "A", "file": "pulls/a2.csv"})])
    assert refused(folder, wrong, Edit("remove", "pull[1]")).where == "session.toml: pull[1].air.pressure"
    apply_edits(folder, [wrong, Edit("remove", "pull[2]"), Edit("add", "pull", {"build": "B", "file": "b.csv"})])


def test_an_edit_that_makes_another_place_wrong_is_refused(tmp_path: Path) -> None:
    folder = folder_with(tmp_path / "one", FULL)
    assert refused(folder, Edit("set", "factor[1].levels", ["340 mm", "300 mm"])).where.endswith("levels.runners")
    assert "earlier than the one before" in refused(folder, Edit("move", "pull[1]", 3)).what
    error = refused(folder, Edit("remove", "build[3]"))
    assert (error.where, error.value) == ("session.toml: build[3]", "C")
    assert error.what == "this build is still named by 1 pull and 2 claims"


def test_a_mistake_that_was_there_before_stops_no_edit_of_another_place(tmp_path: Path) -> None:
    folder = folder_with(tmp_path / "one", SMALL.replace('"pulls/a1.csv"', '"/a1.csv"'))
    draft = apply_edits(folder, [Edit("set", "session.title", "Two headers"), Edit("move", "pull[1]", 2)])
    assert [problem.at for problem in draft.problems] == ["pull[2].file"]
    assert refused(folder, Edit("set", "pull[2].which", 0)).where == "session.toml: pull[2].which"
    assert apply_edits(folder, [Edit("set", "pull[2].file", "pulls/a1.csv")]).session is not None


def test_what_is_needed_may_be_taken_out_and_is_then_missing(folder: Path) -> None:
    draft = apply_edits(folder, [Edit("unset", "session.title"), Edit("unset", "build[1].baseline")])
    assert {(problem.at, problem.unfinished) for problem in draft.problems} == {
        ("session.title", True), ("build", True)
    }  # fmt: skip


def test_times_may_be_written_one_pull_after_the_other(folder: Path) -> None:
    draft = apply_edits(folder, [Edit("set", "pull[1].time", "2026-05-04T09:12")])
    assert [(problem.at, problem.unfinished) for problem in draft.problems] == [("pull[2].time", True)]
    assert apply_edits(folder, [Edit("set", "pull[2].time", "2026-05-04T10:05")]).session is not None


def test_a_file_that_is_no_toml_is_not_edited_and_says_its_line(tmp_path: Path) -> None:
    folder = folder_with(tmp_path / "one", SMALL.replace('"One header"', '"One header'))
    assert "line 2" in refused(folder, Edit("set", "session.title", "x")).where
    draft = open_draft(folder)
    assert (draft.values, draft.session, draft.problems[0].line) == ({}, None, 2)


def test_two_tabs_that_edit_different_places_both_get_their_way(folder: Path) -> None:
    revision = open_draft(folder).revision
    apply_edits(folder, [Edit("set", "session.title", "Two headers")], revision=revision)
    apply_edits(folder, [Edit("set", "pull[1].air.pressure", "99 kPa")], revision=revision)
    apply_edits(folder, [Edit("add", "pull", {"build": "A", "file": "pulls/a2.csv"})], revision=revision)
    assert 'title = "Two headers"' in text_of(folder)
    assert "99 kPa" in text_of(folder)


def test_two_tabs_that_edit_the_same_place_are_told_of_each_other(folder: Path) -> None:
    revision = open_draft(folder).revision
    apply_edits(folder, [Edit("set", "session.title", "Two headers")], revision=revision)
    error = refused(folder, Edit("set", "session.title", "Three headers"), revision=revision)
    assert isinstance(error, ConflictError)
    assert (error.yours, error.theirs) == ('"Three headers"', '"Two headers"')


def test_an_entry_that_has_another_number_by_now_is_not_edited_by_its_old_one(folder: Path) -> None:
    revision = open_draft(folder).revision
    apply_edits(folder, [Edit("move", "pull[2]", 1)], revision=revision)
    assert isinstance(refused(folder, Edit("set", "pull[2].air.pressure", "99 kPa"), revision=revision), ConflictError)
    assert isinstance(refused(folder, Edit("remove", "pull[1]"), revision=revision), ConflictError)


def test_numbers_of_later_edits_count_in_what_the_earlier_ones_leave(folder: Path) -> None:
    revision = open_draft(folder).revision
    both = [Edit("remove", "pull[1]"), Edit("remove", "pull[1]")]
    apply_edits(folder, [Edit("set", "pull[2].which", 2)], revision=revision)
    error = refused(folder, *both, revision=revision)
    assert isinstance(error, ConflictError)
    assert "which = 2" in error.theirs
    assert apply_edits(folder, both, revision=open_draft(folder).revision).values.get("pull") is None


def test_after_a_change_by_hand_an_edit_has_to_say_what_it_was_made_on(folder: Path) -> None:
    revision = open_draft(folder).revision
    (folder / "session.toml").write_text(SMALL + "# by hand\n", "utf-8")
    edit = Edit("set", "session.title", "Two headers")
    assert isinstance(refused(folder, edit, revision=revision), ConflictError)
    sure = Edit("set", "session.title", "Two headers", was="One header")
    assert apply_edits(folder, [sure], revision=revision).session is not None
    assert text_of(folder).endswith("# by hand\n")


def test_after_a_change_by_hand_no_line_of_a_list_is_edited_by_its_number(folder: Path) -> None:
    shown = open_draft(folder)
    path = folder / "session.toml"
    path.write_text(shown.text.replace("[[pull]]", '[[pull]]\nbuild = "A"\nfile = "pulls/first.csv"\n\n[[pull]]', 1))
    by_hand = path.read_text()
    with pytest.raises(ConflictError):
        apply_edits(
            folder, [Edit(do="set", at="pull[1].left_out", value="cold", was=None)], revision=shown.revision
        )  # fmt: skip
    assert path.read_text() == by_hand


def test_a_whole_text_is_written_over_the_revision_that_was_edited(folder: Path) -> None:
    draft = open_draft(folder)
    after = replace_text(folder, draft.text + "# mine\n", revision=draft.revision)
    assert text_of(folder) == SMALL + "# mine\n"
    assert after == open_draft(folder)


def test_of_two_whole_texts_both_are_kept_and_the_second_is_said_to_be_where(folder: Path) -> None:
    draft = open_draft(folder)
    replace_text(folder, SMALL + "# theirs\n", revision=draft.revision)
    with pytest.raises(ConflictError) as caught:
        replace_text(folder, SMALL + "# mine\n", revision=draft.revision)
    assert (caught.value.yours, caught.value.theirs) == (SMALL + "# mine\n", SMALL + "# theirs\n")
    assert text_of(folder) == SMALL + "# theirs\n"
    kept = caught.value.what.partition(" is kept in ")[2]
    assert (folder / kept).read_text("utf-8") == SMALL + "# mine\n"


def test_a_whole_text_that_is_already_there_is_no_conflict(folder: Path) -> None:
    draft = open_draft(folder)
    once = replace_text(folder, SMALL + "# same\n", revision=draft.revision)
    assert replace_text(folder, SMALL + "# same\n", revision=draft.revision) == once


def test_a_whole_text_may_lack_things_but_not_be_wrong(folder: Path) -> None:
    revision = open_draft(folder).revision
    with pytest.raises(InputError, match="line 2, column"):
        replace_text(folder, '[session]\ntitle = "x\n', revision=revision)
    with pytest.raises(InputError, match=r"session\.standard"):
        replace_text(folder, SMALL.replace("SAE J1349", "SAE J1394"), revision=revision)
    with pytest.raises(InputError, match="half a character"):
        replace_text(folder, SMALL + "# \ud83d\n", revision=revision)
    assert text_of(folder) == SMALL
    assert replace_text(folder, FRESH, revision=revision).session is None
    assert text_of(folder) == FRESH


def test_a_file_that_was_broken_by_hand_may_be_mended_step_by_step(tmp_path: Path) -> None:
    folder = folder_with(tmp_path / "one", '[session\ntitle = "x\n')
    half = '[session]\ntitle = "x\n'
    draft = replace_text(folder, half, revision=open_draft(folder).revision)
    assert text_of(folder) == half
    assert replace_text(folder, SMALL, revision=draft.revision).session is not None


def test_lines_and_mark_of_a_file_from_windows_stay_whatever_a_browser_sends(tmp_path: Path) -> None:
    windows = "\ufeff" + SMALL.replace("\n", "\r\n")
    folder = folder_with(tmp_path / "one", windows)
    draft = open_draft(folder)
    assert draft.session is not None
    replace_text(folder, SMALL + "# mine\n", revision=draft.revision)
    assert text_of(folder) == windows + "# mine\r\n"
    apply_edits(folder, [Edit("unset", "build[2].label"), Edit("set", "session.notes", "a\nb")])
    assert text_of(folder).count("\n") == text_of(folder).count("\r\n")


def test_what_is_written_is_what_the_edits_make_of_the_text(folder: Path) -> None:
    edits = [Edit("rename", "build[1]", "Z"), Edit("add", "session.windows", "2500..3500 rpm")]
    assert apply_edits(folder, edits).text == edit_session(SMALL, edits) == text_of(folder)
