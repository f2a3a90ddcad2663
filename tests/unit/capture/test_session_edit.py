"""Edits of a session file: what is touched is written as a person would, what is not stays byte for byte."""

from __future__ import annotations

import difflib
from datetime import date

import pytest
from session_texts import NOTED, SMALL

from pullbook.capture.session_edit import Edit, edit_session
from pullbook.capture.session_file import parse_session
from pullbook.errors import ConflictError, InputError


def changes(before: str, *edits: Edit) -> list[str]:
    """Lines taken out and put in, in the order of the file."""
    after = edit_session(before, edits)
    lines = difflib.ndiff(before.splitlines(keepends=True), after.splitlines(keepends=True))
    return [line.rstrip("\n") for line in lines if line[0] in "+-"]


def test_a_value_is_set_in_its_line_and_the_remark_keeps_its_column() -> None:
    assert changes(NOTED, Edit("set", "session.standard", "none")) == [
        '- standard = "SAE J1349"          # what the findings are corrected to',
        '+ standard = "none"               # what the findings are corrected to',
    ]


def test_a_value_that_is_the_same_leaves_the_file_alone() -> None:
    assert edit_session(NOTED, [Edit("set", "session.received", "observed")]) == NOTED
    assert (
        edit_session(NOTED, [Edit("set", "pull[1].air", {"pressure": "99.2 kPa", "temperature": "24.1 degC"})]) == NOTED
    )
    assert edit_session(NOTED, [Edit("unset", "session.date")]) == NOTED


def test_of_a_table_on_one_line_only_the_value_changes() -> None:
    assert changes(NOTED, Edit("set", "pull[1].air.temperature", "25 degC")) == [
        """- air = {temperature="24.1 degC",  pressure = '99.2 kPa'}""",
        """+ air = {temperature="25 degC",  pressure = '99.2 kPa'}""",
    ]


def test_a_key_that_is_new_in_a_table_on_one_line_leaves_the_others_as_written() -> None:
    assert changes(NOTED, Edit("set", "pull[1].air.humidity", "46 %"))[1] == (
        """+ air = {temperature="24.1 degC",  pressure = '99.2 kPa', humidity = "46 %"}"""
    )


def test_a_new_key_stands_where_a_person_would_put_it() -> None:
    text = edit_session(
        SMALL, [Edit("set", "session.date", "2026-05-04"), Edit("set", "session.rpm", "2000..6500 rpm")]
    )
    assert text.splitlines()[:6] == [
        "[session]",
        'title = "One header"',
        "date = 2026-05-04",
        'standard = "SAE J1349"',
        'received = "observed"',
        'rpm = "2000..6500 rpm"',
    ]


def test_a_date_may_be_given_as_such_and_a_time_without_seconds() -> None:
    text = edit_session(
        SMALL, [Edit("set", "session.date", date(2026, 5, 4)), Edit("set", "pull[1].time", "09:12"),
                Edit("set", "pull[2].time", "2026-05-04T10:05")]
    )  # fmt: skip
    assert "date = 2026-05-04\n" in text
    assert "time = 09:12:00\n" in text
    assert "time = 2026-05-04T10:05:00\n" in text
    assert parse_session(text).date == date(2026, 5, 4)


def test_what_is_no_date_is_written_as_typed_so_that_the_parser_can_refuse_it() -> None:
    assert 'date = "4 May"\n' in edit_session(SMALL, [Edit("set", "session.date", "4 May")])


def test_a_table_that_is_not_there_is_made_in_its_place() -> None:
    assert changes(SMALL, Edit("set", "engine.displacement", "2.2 L")) == [
        "+ ",
        "+ [engine]",
        '+ displacement = "2.2 L"',
    ]
    text = edit_session(SMALL, [Edit("set", "engine.displacement", "2.2 L")])
    assert 'received = "observed"\n\n[engine]\ndisplacement = "2.2 L"\n\n[[build]]' in text


def test_a_key_is_set_where_its_table_is_written_by_dots_or_with_its_own_header() -> None:
    assert changes(NOTED, Edit("set", "build[2].levels.header", "4-1")) == [
        '- levels.header = "4-2-1"',
        '+ levels.header = "4-1"',
    ]
    assert changes(NOTED, Edit("set", "pull[2].air.temperature", "25 degC")) == ['+ temperature = "25 degC"']
    more = edit_session(NOTED, [Edit("add", "factor", {"name": "inlet cam", "levels": ["straight", "advanced"]})])
    assert changes(more, Edit("set", "build[2].levels.inlet cam", "straight")) == ['+ levels."inlet cam" = "straight"']


def test_text_of_several_lines_is_written_as_such() -> None:
    text = edit_session(SMALL, [Edit("set", "session.notes", 'Oil changed.\r\n"Hot" day\\night.')])
    assert 'notes = """\nOil changed.\n\\"Hot\\" day\\\\night."""\n' in text
    assert parse_session(text).notes == 'Oil changed.\n"Hot" day\\night.'


def test_edits_are_made_one_after_the_other() -> None:
    text = edit_session(SMALL, [Edit("remove", "pull[1]"), Edit("set", "pull[1].which", 2), Edit("remove", "build[1]")])
    assert text.count("[[pull]]") == text.count("[[build]]") == 1
    assert 'file = "pulls/b1.csv"\nwhich = 2\n' in text


def test_lines_that_end_as_on_windows_go_on_ending_so() -> None:
    windows = NOTED.replace("\n", "\r\n")
    edits = [
        Edit("set", "session.notes", "one\ntwo"), Edit("add", "pull", {"build": "A", "file": "x.csv"}),
        Edit("add", "session.windows", "3500..4000 rpm"), Edit("move", "pull[2]", 1), Edit("remove", "claim[1]"),
        Edit("set", "limits.mixture", "0.84..0.90 lambda"),
    ]  # fmt: skip
    assert edit_session(windows, edits) == edit_session(NOTED, edits).replace("\n", "\r\n")


def test_a_byte_order_mark_stays_at_the_head() -> None:
    text = edit_session("\ufeff" + SMALL, [Edit("set", "session.title", "Two headers")])
    assert text == "\ufeff" + SMALL.replace("One header", "Two headers")


def test_what_stands_there_now_is_told_where_it_is_not_what_the_edit_was_made_on() -> None:
    edit_session(
        SMALL, [Edit("set", "session.title", "New", was="One header"), Edit("set", "engine.name", "x", was=None)]
    )
    with pytest.raises(ConflictError) as caught:
        edit_session(SMALL, [Edit("set", "session.title", "New", was="Old header")])
    assert (caught.value.yours, caught.value.theirs) == ('"New"', '"One header"')
    assert caught.value.where == "session.toml: session.title"
    with pytest.raises(ConflictError) as caught:
        edit_session(SMALL, [Edit("unset", "session.notes", was="Oil")])
    assert (caught.value.yours, caught.value.theirs) == ("", "")


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (
            Edit("set", "session.titel", "x"),
            "session.toml: session.titel: this key is unknown; perhaps 'title' is meant",
        ),
        (Edit("set", "pull[1].air.presure", "x"), "perhaps 'pressure'"),
        (Edit("set", "pull[1].air", {"presure": "x"}), "pull[1].air.presure: this key is unknown"),
        (Edit("set", "build[1].levels.runners", "x"), "this key is unknown"),
        (Edit("set", "session.title.x", "x"), "has no keys below it"),
        (Edit("set", "sessions.title", "x"), "perhaps 'session'"),
        (Edit("set", "pull[9].file", "x"), "nothing stands at this place"),
        (Edit("set", "pull[0].file", "x"), "nothing stands at this place"),
        (Edit("set", "pull", []), "list of tables"),
        (Edit("set", "pull[1]", "x"), "a table is needed"),
        (Edit("set", "session", "x"), "a table is needed"),
        (Edit("unset", "pull[1]"), "entry of a list"),
        (Edit("set", "session.windows[1]", "x"), "no such entry"),
        (Edit("add", "pull", "pulls/a1.csv"), "a table is needed"),
        (Edit("add", "pull[7]", {"build": "A"}), "nothing stands at this place"),
        (Edit("add", "session.title", "x"), "nothing stands at this place"),
        (Edit("remove", "pull[3]"), "nothing stands at this place"),
        (Edit("move", "pull[1]", 3), "choose one from 1 to 2"),
        (Edit("move", "pull[1]", "2"), "a whole number"),
        (Edit("rename", "pull[1]", "x"), "nothing with a name"),
        (Edit("rename", "build[1]", " "), "a name is needed"),
        (Edit("rename", "build[1]", "a\nb"), "of one line"),
        (Edit("sett", "session.title", "x"), "perhaps 'set' is meant"),
        (Edit("set", "", "x"), "no place in a session file"),
        (Edit("set", "pull[1", "x"), "no place in a session file"),
        (Edit("set", "../../x", "x"), "no place in a session file"),
        (Edit("set", "session.title", "half \ud83d"), "half a character"),
        (Edit("set", "session.title", [[[[[[[[["x"]]]]]]]]]), "nested that deeply"),
    ],
)
def test_an_edit_that_means_nothing_is_refused_in_one_sentence(edit: Edit, said: str) -> None:
    with pytest.raises(InputError) as caught:
        edit_session(SMALL, [edit])
    assert said in str(caught.value)
    assert caught.value.remedy


def test_a_file_that_is_no_toml_is_not_edited_and_its_line_is_said() -> None:
    with pytest.raises(InputError, match="line 2, column"):
        edit_session('[session]\ntitle = "x\n', [Edit("set", "session.title", "y")])
