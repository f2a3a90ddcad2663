"""``pullbook plan`` as a tester uses it: what would do nothing is refused, and nothing is worked out in vain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from plan_cases import PLAIN

from pullbook.cli.main import _status

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def session(tmp_path: Path) -> Path:
    folder = tmp_path / "s"
    folder.mkdir()
    (folder / "session.toml").write_text(PLAIN, encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    "given", [["--within", "3 h"], ["--odds", "90"], ["--rehearse"], ["--write", "run"], ["--offer", "surest"]]
)
def test_what_is_about_offers_is_refused_in_the_middle_of_a_session(
    session: Path, given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert _status(["plan", str(session), "--next", *given]) == 2
    assert f"{given[0]}: this does nothing with --next; leave it out." in capsys.readouterr().err
    assert (session / "session.toml").read_text(encoding="utf-8") == PLAIN


def test_an_offer_that_is_not_written_is_refused(session: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _status(["plan", str(session), "--offer", "surest"]) == 2
    said = capsys.readouterr()
    assert "add --write FOLDER" in said.err
    assert said.out == ""


@pytest.mark.parametrize("name", ["run-sheet.html", "session.toml"])
def test_a_file_in_the_way_is_told_before_the_plan_is_made(
    session: Path, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    goal = tmp_path / "run"
    goal.mkdir()
    (goal / name).write_text("mine", encoding="utf-8")
    assert _status(["plan", str(session), "--write", str(goal)]) == 2
    said = capsys.readouterr()
    assert "a file is in the way; choose another folder" in said.err
    assert "--replace" not in said.err  # plan has no such option
    assert said.out == ""
    assert [path.read_text(encoding="utf-8") for path in goal.iterdir()] == ["mine"]
