"""Whatever edits are made in whatever order, what they do not touch stays byte for byte, and nothing is lost."""

from __future__ import annotations

import tomllib
from collections import Counter
from typing import TYPE_CHECKING, Any

from hypothesis import given
from hypothesis import strategies as st
from properties.test_session_file import FULL_VALUES, PATHS, VALUES, document
from session_texts import FULL, NOTED, SMALL

from pullbook.capture.session_draft import read_draft
from pullbook.capture.session_edit import Edit, edit_session
from pullbook.capture.session_edit_places import place_text, read_place
from pullbook.capture.session_edit_sound import demand_sound
from pullbook.capture.session_file import parse_session
from pullbook.capture.session_file_problems import find_problems
from pullbook.errors import InputError
from pullbook.quantities.toml_statements import cut

if TYPE_CHECKING:
    from properties.test_session_file import Path

DOTTED = """\
session.title = "One header"
session.standard = "none"
session.received = "observed"
build = [{ name = "A", baseline = true }, { name = "B" }]
pull = [{ build = "A", file = "a.csv" }, { build = "B", file = "b.csv", air.pressure = "99 kPa" }]
"""
TEXTS = st.sampled_from(
    (FULL, SMALL, NOTED, DOTTED, NOTED.replace("\n", "\r\n"), "\ufeff" + FULL, document(FULL_VALUES))
)
WORDS = st.one_of(
    st.sampled_from(("A", "B", "C", "99 kPa", "46 %", "3", "'''", '"""', "#", "a\nb", "é", "]")), st.text()
)
PULLS = st.fixed_dictionaries({"build": WORDS, "file": WORDS}, optional={"time": WORDS, "which": st.integers()})
KEYS = ("name", "id", "build", "file", "of", "from", "left_out", "label", "air.pressure", "air", "columns", "levels")


def counted(path: Path) -> str:
    return place_text(tuple(step + 1 if isinstance(step, int) else step for step in path))


LISTED = st.sampled_from(("session.windows", "factor[1].levels", "engine.friction"))
IN_LISTS = st.sampled_from(("session.windows[1]", "factor[1].levels[2]", "engine.friction[1]"))


def edits_of() -> st.SearchStrategy[Edit]:
    lists = st.sampled_from(("pull", "build", "claim", "factor"))
    entries = st.builds("{}[{}]".format, lists, st.integers(1, 6))
    any_place = st.one_of(
        st.sampled_from(PATHS).map(counted), st.builds("{}.{}".format, entries, st.sampled_from(KEYS))
    )
    return st.one_of(
        st.builds(Edit, st.just("set"), any_place, st.one_of(VALUES, WORDS)),
        st.builds(Edit, st.just("unset"), any_place),
        st.builds(Edit, st.just("add"), st.one_of(lists, entries), PULLS),
        st.builds(Edit, st.just("add"), LISTED, WORDS),
        st.builds(Edit, st.just("remove"), st.one_of(entries, IN_LISTS)),
        st.builds(Edit, st.just("move"), entries, st.integers(0, 6)),
        st.builds(Edit, st.just("rename"), st.one_of(entries, st.just("factor[1].levels[1]")), WORDS),
    )  # fmt: skip


def tried(text: str, edit: Edit) -> tuple[str, InputError | None]:
    try:
        return edit_session(text, [edit]), None
    except InputError as error:
        return text, error


@given(text=TEXTS, edits=st.lists(edits_of(), min_size=1, max_size=5))
def test_any_edits_are_made_or_refused_and_the_result_is_read_or_its_problems_are_named(
    text: str, edits: list[Edit]
) -> None:
    for edit in edits:
        text, refusal = tried(text, edit)
        if refusal is not None:
            assert refusal.remedy
            assert "\n" not in str(refusal)
            assert "cannot be edited" not in refusal.what
        assert tomllib.loads(text.removeprefix("\ufeff")) is not None
    problems = find_problems(text)
    if not problems:
        parse_session(text)
    assert all(problem.line or not problem.at for problem in problems)


def untouched(text: str, edit: Edit) -> list[str]:
    """Headers and keys that do not stand at, above or below the place of an edit."""
    place = read_place(edit.at)
    return [
        one.text
        for one in cut(text)
        if one.path and one.path[: len(place)] != place and place[: len(one.path)] != one.path
    ]


@given(text=st.sampled_from((FULL, SMALL, NOTED)), edit=edits_of())
def test_statements_that_an_edit_does_not_touch_stay_byte_for_byte(text: str, edit: Edit) -> None:
    after, _ = tried(text, edit)
    if edit.do in {"set", "unset"}:
        assert untouched(text, edit) == untouched(after, edit)
    lost = Counter(line for line in text.splitlines() if line.strip()) - Counter(after.splitlines())
    assert lost.total() <= {"add": 1, "move": 0}.get(edit.do, 99)
    remarks = {line for line in text.splitlines() if line.startswith("# ")}
    if edit.do != "remove":
        assert remarks <= set(after.splitlines())


@given(text=TEXTS, edits=st.lists(edits_of(), min_size=2, max_size=4))
def test_edits_made_together_are_those_made_one_after_the_other(text: str, edits: list[Edit]) -> None:
    single: str | None = text
    for edit in edits:
        if single is not None:
            single = None if tried(single, edit)[1] else tried(single, edit)[0]
    try:
        together: str | None = edit_session(text, edits)
    except InputError:
        together = None
    assert together == single


@given(text=st.sampled_from((FULL, SMALL, NOTED)), edits=st.lists(edits_of(), min_size=1, max_size=6))
def test_edits_that_are_let_through_never_make_a_sound_session_wrong(text: str, edits: list[Edit]) -> None:
    before = read_draft(text)
    for edit in edits:
        try:
            after = read_draft(edit_session(before.text, [edit]))
            demand_sound(before, after, [edit])
        except InputError:
            continue
        before = after
        assert all(problem.unfinished for problem in before.problems)


@given(text=st.sampled_from((FULL, SMALL, NOTED)), entry=PULLS, number=st.integers(1, 4))
def test_an_entry_that_is_added_and_removed_again_leaves_the_file_as_it_was(
    text: str, entry: dict[str, Any], number: int
) -> None:
    count = len(parse_session(text).pulls)
    place = f"pull[{min(number, count)}]"
    added = edit_session(text, [Edit("add", place, entry)])
    assert edit_session(added, [Edit("remove", place)]) == text
    behind = edit_session(text, [Edit("add", "pull", entry)])
    assert edit_session(behind, [Edit("remove", f"pull[{count + 1}]")]) == text


@given(order=st.permutations(range(1, 6)))
def test_pulls_moved_anywhere_and_back_leave_the_file_as_it_was(order: list[int]) -> None:
    text = FULL
    moves = list(zip(order, reversed(order), strict=True))
    for here, there in moves:
        text = edit_session(text, [Edit("move", f"pull[{here}]", there)])
    for here, there in reversed(moves):
        text = edit_session(text, [Edit("move", f"pull[{there}]", here)])
    assert text == FULL


@given(text=st.one_of(TEXTS, st.text(alphabet="ab#=\"'[]{}\\\n\r ,.1", max_size=60)))
def test_statements_joined_are_the_file(text: str) -> None:
    try:
        tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError:
        return
    assert "".join(one.text for one in cut(text.removeprefix("\ufeff"))) == text.removeprefix("\ufeff")
