"""Places that edits put something into are found again where later edits have moved them."""

from __future__ import annotations

import pytest

from pullbook.capture.session_edit import Edit
from pullbook.capture.session_edit_track import edited_places

VALUES = {"pull": [{"file": f"{number}.csv"} for number in range(1, 6)], "session": {"windows": ["a", "b", "c"]}}
SET = Edit("set", "pull[3].which", 2)


@pytest.mark.parametrize(
    ("edits", "places"),
    [
        ([SET], [("pull", 3, "which")]),
        ([SET, Edit("remove", "pull[1]")], [("pull", 2, "which")]),
        ([SET, Edit("remove", "pull[4]")], [("pull", 3, "which")]),
        ([SET, Edit("remove", "pull[3]")], []),
        ([SET, Edit("move", "pull[3]", 5)], [("pull", 5, "which")]),
        ([SET, Edit("move", "pull[1]", 5)], [("pull", 2, "which")]),
        ([SET, Edit("move", "pull[5]", 1)], [("pull", 4, "which")]),
        ([SET, Edit("move", "pull[1]", 2)], [("pull", 3, "which")]),
        ([SET, Edit("add", "pull[3]", {})], [("pull", 4, "which"), ("pull", 3)]),
        ([SET, Edit("add", "pull", {})], [("pull", 3, "which"), ("pull", 6)]),
        ([SET, Edit("add", "build", {})], [("pull", 3, "which"), ("build", 1)]),
        ([Edit("add", "session.windows", "d"), Edit("remove", "session.windows[1]")], [("session", "windows", 3)]),
        ([Edit("unset", "session.windows"), Edit("rename", "build[1]", "B")], [("session", "windows")]),
    ],
)
def test_a_place_is_told_as_it_is_numbered_in_the_end(edits: list[Edit], places: list[tuple[object, ...]]) -> None:
    assert [place for place, _ in edited_places(VALUES, edits)] == places


def test_only_what_is_added_is_told_as_such() -> None:
    assert [added for _, added in edited_places(VALUES, [SET, Edit("add", "pull", {})])] == [False, True]
