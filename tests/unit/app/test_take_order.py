"""An order of a plan becomes the run order of its session, whole or not at all."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

import pytest
from plan_cases import PLAIN

from pullbook.app.edit_session import open_draft
from pullbook.app.plan_asked import PlanAsked, keep_plan_asked, read_plan_asked
from pullbook.app.plan_content import plan_basis, pulls_there
from pullbook.app.take_order import take_order
from pullbook.capture.session_planned import PlannedEntry
from pullbook.errors import ConflictError, InputError, RefusalError

if TYPE_CHECKING:
    from pathlib import Path

ORDER = [
    PlannedEntry(build="A", file="pulls/01-A.csv", remark="Fitting 1: A, as the engine stands"),
    PlannedEntry(build="B", file="pulls/02-B.csv", remark="Fitting 2: B, change runners"),
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "session.toml").write_text(PLAIN, encoding="utf-8")
    return tmp_path


def test_what_a_plan_rests_on_is_the_same_before_and_after_an_order_is_taken(folder: Path) -> None:
    before = open_draft(folder)
    basis = plan_basis(folder, before.values)
    after = take_order(folder, ORDER, revision=before.revision)
    assert [pull["file"] for pull in tomllib.loads(after.text)["pull"]] == ["pulls/01-A.csv", "pulls/02-B.csv"]
    assert pulls_there(folder, after.values) == (0, 2)
    assert plan_basis(folder, after.values) == basis
    changed = open_draft(folder).text.replace("50 min", "60 min")
    (folder / "session.toml").write_text(changed, encoding="utf-8")
    assert plan_basis(folder, open_draft(folder).values) != basis


def test_the_former_text_is_kept(folder: Path) -> None:
    take_order(folder, ORDER, revision=open_draft(folder).revision)
    kept = list((folder / ".pullbook" / "history").iterdir())
    assert [path.read_text(encoding="utf-8") for path in kept] == [PLAIN]


def test_an_order_is_refused_where_it_would_take_a_pull_out_or_the_text_is_another(folder: Path) -> None:
    with pytest.raises(ConflictError) as stale:
        take_order(folder, ORDER, revision="0123456789abcdef")
    assert stale.value.theirs == PLAIN
    taken = take_order(folder, ORDER, revision=open_draft(folder).revision)
    (folder / "pulls").mkdir()
    (folder / "pulls" / "01-A.csv").write_text("made", encoding="utf-8")
    with pytest.raises(RefusalError, match="were made already"):
        take_order(folder, ORDER[:1], revision=taken.revision)
    assert open_draft(folder).text == taken.text


def test_a_file_that_is_there_is_not_taken_for_a_planned_pull(folder: Path) -> None:
    (folder / "pulls").mkdir()
    (folder / "pulls" / "02-B.csv").write_text("of before", encoding="utf-8")
    with pytest.raises(InputError, match=r"pulls/02-B\.csv"):
        take_order(folder, ORDER, revision=open_draft(folder).revision)
    assert open_draft(folder).text == PLAIN


def test_what_was_asked_is_kept_and_what_cannot_be_meant_is_as_if_nobody_had_asked(folder: Path) -> None:
    asked = PlanAsked(resolve="6 N m", within="2 days", of="B", from_="A", odds=90.0)
    keep_plan_asked(folder, asked)
    assert read_plan_asked(folder) == asked
    huge = '{"odds": 1' + 400 * "0" + "}"
    for text in ("{", "[]", '{"odds": "80"}', '{"resolve": 3}', '{"other": "x"}', '{"odds": true}', huge):
        (folder / ".pullbook" / "plan.json").write_text(text, encoding="utf-8")
        assert read_plan_asked(folder) == PlanAsked()
