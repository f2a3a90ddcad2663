"""A fresh session file is what a person would begin with: nothing in it is wrong, and it says what it lacks."""

from __future__ import annotations

from datetime import date

import pytest

from pullbook.capture.session_edit import Edit, edit_session, new_session
from pullbook.capture.session_file_problems import find_problems
from pullbook.errors import InputError


def test_a_fresh_file_lacks_builds_and_pulls_and_nothing_else() -> None:
    problems = find_problems(new_session('The "short" one', "Which runners?\nWhich header?", date=date(2026, 5, 4)))
    assert [problem.what for problem in problems] == ["the session has no builds", "the session has no pulls"]


def test_what_is_given_stands_in_it_and_the_remarks_stand_in_one_column() -> None:
    text = new_session("Two headers", date=date(2026, 5, 4), dyno="chassis", standard="none", received="SAE J607")
    assert text.splitlines()[:5] == [
        "[session]", 'title = "Two headers"', "date = 2026-05-04", 'dyno = "chassis"',
        'standard = "none"      # what the findings are corrected to; "none" leaves them as observed',
    ]  # fmt: skip
    assert text.splitlines()[5].startswith('received = "SAE J607"  # ')


def test_a_fresh_file_grows_by_edits() -> None:
    text = edit_session(new_session("Two headers"), [Edit("set", "engine.displacement", "2.2 L")])
    assert text.endswith('\n\n[engine]\ndisplacement = "2.2 L"\n')


@pytest.mark.parametrize(("title", "standard", "place"), [
    (" ", "none", "session.title"), ("a\nb", "none", "session.title"), ("a", "SAE J1394", "session.standard"),
    ("half \ud83d", "none", "session.title"),
])  # fmt: skip
def test_a_wrong_value_is_refused_at_its_place(title: str, standard: str, place: str) -> None:
    with pytest.raises(InputError) as caught:
        new_session(title, standard=standard)
    assert caught.value.where == f"session.toml: {place}"
