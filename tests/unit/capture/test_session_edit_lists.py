"""Entries of lists in a session file are added, removed, moved and renamed, with the remarks that stand on them."""

from __future__ import annotations

from session_texts import FULL, NOTED, SMALL
from unit.capture.test_session_edit import changes

from pullbook.capture.session_edit import Edit, edit_session
from pullbook.capture.session_file import parse_session


def test_an_entry_is_added_behind_its_like_with_a_blank_line_between() -> None:
    pull = {"file": "pulls/b2.csv", "build": "B", "air": {"humidity": "46 %", "temperature": "24.1 degC"}, "time": None}
    assert changes(NOTED, Edit("add", "pull", pull)) == [
        "+ [[pull]]",
        '+ build = "B"',
        '+ file = "pulls/b2.csv"',
        '+ air = { temperature = "24.1 degC", humidity = "46 %" }',
        "+ ",
    ]
    text = edit_session(NOTED, [Edit("add", "pull", pull)])
    assert 'humidity = "46 %" }\n\n# What people say.\n\n[[claim]]' in text


def test_an_entry_is_added_before_another_one() -> None:
    text = edit_session(NOTED, [Edit("add", "pull[2]", {"build": "B", "file": "pulls/b0.csv"})])
    assert '\n\n[[pull]]\nbuild = "B"\nfile = "pulls/b0.csv"\n\n# after lunch\n[[pull]]\nbuild = "B"\n' in text


def test_an_entry_is_added_at_the_end_whatever_else_has_come_into_the_list() -> None:
    text = edit_session(SMALL, [Edit("add", "claim", {"id": "one"}), Edit("add", "claim", {"id": "two"}, None)])
    assert text.index('id = "one"') < text.index('id = "two"')


def test_the_first_entry_of_a_list_stands_between_its_neighbours() -> None:
    text = edit_session(SMALL, [Edit("add", "factor", {"name": "header", "levels": ["4-1", "4-2-1"]})])
    assert '"observed"\n\n[[factor]]\nname = "header"\nlevels = ["4-1", "4-2-1"]\n\n[[build]]\n' in text
    text = edit_session(SMALL.rstrip("\n"), [Edit("add", "claim", {"id": "x"})])
    assert text.endswith('file = "pulls/b1.csv"\n\n[[claim]]\nid = "x"\n')


def test_a_removed_entry_takes_its_remark_along_and_leaves_the_headings() -> None:
    assert changes(NOTED, Edit("remove", "pull[2]")) == [
        "- # after lunch",
        "- [[pull]]",
        '- build = "B"',
        '- file = "pulls/b1.csv"',
        "- [pull.air]",
        '- pressure = "99.1 kPa"  # read late',
        "- ",
    ]
    assert edit_session(NOTED, [Edit("remove", "claim[1]")]).endswith('"pulls/a2.csv"\n\n# What people say.\n')


def test_an_entry_moves_with_its_remark_and_the_headings_stay() -> None:
    text = edit_session(NOTED, [Edit("move", "pull[2]", 1)])
    assert '# In run order.\n\n# after lunch\n[[pull]]\nbuild = "B"' in text
    assert 'read late\n\n[[pull]]\nbuild = "A"\nfile = "pulls/a1.csv"' in text
    assert sorted(text.splitlines()) == sorted(NOTED.splitlines())
    assert edit_session(text, [Edit("move", "pull[1]", 2)]) == NOTED


def test_lists_over_several_lines_keep_their_lines_and_remarks() -> None:
    assert changes(NOTED, Edit("add", "session.windows", "3500..4000 rpm")) == ['+     "3500..4000 rpm",']
    assert changes(NOTED, Edit("remove", "session.windows[2]")) == ['-     "5000..6500 rpm",']
    assert changes(NOTED, Edit("set", "session.windows[1]", "2400..3400 rpm")) == [
        '-     "2500..3500 rpm",  # where it is driven',
        '+     "2400..3400 rpm",  # where it is driven',
    ]


def test_entries_of_lists_on_one_line_are_added_set_moved_and_removed() -> None:
    def levels(*edits: Edit) -> str:
        return next(line for line in edit_session(NOTED, edits).splitlines() if line.startswith("levels = ["))

    assert levels(Edit("add", "factor[1].levels", "4-4")) == 'levels = ["4-1", "4-2-1", "4-4"]'
    assert levels(Edit("add", "factor[1].levels[1]", "4-4")) == 'levels = ["4-4", "4-1", "4-2-1"]'
    assert levels(Edit("move", "factor[1].levels[2]", 1)) == 'levels = ["4-2-1", "4-1"]'
    assert levels(Edit("remove", "factor[1].levels[1]")) == 'levels = ["4-2-1"]'


def test_a_list_that_is_not_there_begins_with_its_first_entry() -> None:
    assert changes(SMALL, Edit("add", "session.windows", "2500..3500 rpm")) == ['+ windows = ["2500..3500 rpm"]']
    point = {"power": "6.1 kW", "speed": "3000 rpm"}
    assert changes(NOTED, Edit("add", "engine.friction", point)) == [
        '+ friction = [{ speed = "3000 rpm", power = "6.1 kW" }]'
    ]


def test_the_last_entry_takes_its_list_along_and_the_last_key_its_table() -> None:
    once = edit_session(
        SMALL, [Edit("add", "session.windows", "2500..3500 rpm"), Edit("set", "pull[1].air.pressure", "99 kPa")]
    )
    assert edit_session(once, [Edit("remove", "session.windows[1]"), Edit("unset", "pull[1].air.pressure")]) == SMALL


def test_a_build_is_renamed_with_its_pulls_and_claims() -> None:
    assert changes(NOTED, Edit("rename", "build[2]", "long")) == [
        '- name = "B"', '+ name = "long"', '- build = "B"', '+ build = "long"', '- of = "B"', '+ of = "long"',
    ]  # fmt: skip
    assert edit_session(FULL, [Edit("rename", "build[3].name", "Z")]).count('"Z"') == FULL.count('"C"')


def test_a_factor_is_renamed_with_the_levels_of_the_builds() -> None:
    assert changes(NOTED, Edit("rename", "factor[1]", "the header")) == [
        '- name = "header"', '+ name = "the header"', '- levels = { header = "4-1" }',
        '+ levels = { "the header" = "4-1" }', '- levels.header = "4-2-1"', '+ levels."the header" = "4-2-1"',
    ]  # fmt: skip


def test_a_level_is_renamed_in_its_factor_and_in_the_builds() -> None:
    assert changes(NOTED, Edit("rename", "factor[1].levels[2]", "four into two")) == [
        '- levels = ["4-1", "4-2-1"]', '+ levels = ["4-1", "four into two"]',
        '- levels.header = "4-2-1"', '+ levels.header = "four into two"',
    ]  # fmt: skip


def test_a_removed_factor_takes_its_levels_out_of_the_builds() -> None:
    text = edit_session(NOTED, [Edit("remove", "factor[1]")])
    assert "levels" not in text
    assert not parse_session(text).factors
