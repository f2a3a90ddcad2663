"""``pullbook plan`` as a tester uses it: what would do nothing is refused, and nothing is worked out in vain."""

from __future__ import annotations

import json
from math import log
from typing import TYPE_CHECKING

import pytest
from plan_cases import PLAIN
from session_folder import write_session

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


def test_earlier_sessions_of_the_bench_teach_the_plan(session: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sizes = {"pull": 0.1, "refit": 0.05, "walk": 0.05, "drift": 0.1, "shape": 0.1, "length": 400.0, "refit_shape": 0.5}
    history = session / "history.json"
    beliefs = {name: {"location": log(value), "scale": 0.2} for name, value in sizes.items()}
    history.write_text(
        json.dumps({"schema": "pullbook.history/1", "sessions": 9, "says": ["Nine of them."], "beliefs": beliefs}),
        encoding="utf-8",
    )
    told = []
    for more in ([], ["--history", str(history)]):
        assert _status(["plan", str(session), "--resolve", "1.5 %", "--json", "-", *more]) == 0
        told.append(json.loads(capsys.readouterr().out))
    plain, taught = told
    assert (plain["scatter"]["pull_percent"], taught["scatter"]["pull_percent"]) == (0.4, pytest.approx(0.1))
    assert "learnt from nine earlier sessions" in taught["scatter"]["source"]
    assert "Nine of them." in taught["assumptions"]
    assert taught["offers"][0]["minutes"] < plain["offers"][0]["minutes"], "a steadier bench needs less time"


def test_an_archive_without_sessions_teaches_no_plan_and_says_so(
    session: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = str(tmp_path / "archive.sqlite")
    other = write_session(tmp_path / "other", "ABAB")
    assert _status(["remember", str(other), "--archive", place]) == 0
    capsys.readouterr()
    assert _status(["plan", str(session), "--resolve", "3 %", "--archive", place]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "The archive has one earlier session of an engine dynamometer that tells of scatter" in said
    assert "usual values that nobody measured on this bench" in said


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
