"""``pullbook remember --export``: a folder that anyone can check, from which the same findings follow."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from repo.tree import ROOT
from session_folder import CLAIM, write_session

from pullbook.cli.main import _status

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

RIGHTS = 'authors = ["A. Tester", "B. Tester"]\nlicence = "CC-BY-4.0"\n'
SCHEMA = json.loads((ROOT / "docs" / "archive.schema.json").read_text(encoding="utf-8"))
# Data Package, version 1 (https://specs.frictionlessdata.io/data-package/), from memory: a name is of these characters,
# there is at least one resource, and a resource has a name and a path inside the folder.
NAME = re.compile(r"[-a-z0-9._/]+")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder that is not there yet."""
    monkeypatch.setenv("PULLBOOK_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("PULLBOOK_USER", "tester")
    monkeypatch.delenv("PULLBOOK_ARCHIVE", raising=False)
    return tmp_path / "data"


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A session with a claim, authors and a licence."""
    folder = write_session(tmp_path_factory.mktemp("bench") / "headers", "ABAB", extra=CLAIM)
    path = folder / "session.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("dyno =", f"{RIGHTS}dyno =", 1), encoding="utf-8")
    return folder


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str]]:
    """Run a command; its status, and what it printed."""

    def ran(*words: str) -> tuple[int, str]:
        status = _status(list(words))
        told = capsys.readouterr()
        return status, told.out + told.err

    return ran


def told(run: Callable[..., tuple[int, str]], *words: str) -> Any:
    status, text = run("remember", *words, "--json", "-")
    assert status == 0, text
    found = json.loads(text)
    jsonschema.validate(found, SCHEMA)
    return found


def findings(run: Callable[..., tuple[int, str]], folder: Path) -> str:
    """Everything that a comparison says of a folder, to the last digit."""
    status, text = run("compare", str(folder), "--json", "-")
    assert status == 0, text
    return text


def exported(run: Callable[..., tuple[int, str]], session: Path, goal: Path) -> Path:
    name = told(run, str(session))["remembered"]["session"]
    one = told(run, "--export", str(goal), name)["exported"]
    assert [(part["session"], part["folder"]) for part in one] == [(name, str(goal))]
    return goal


def test_exported_deleted_and_imported_the_findings_are_the_same_to_the_last_digit(
    run: Callable[..., tuple[int, str]], session: Path, home: Path, tmp_path: Path
) -> None:
    before = findings(run, session)
    goal = exported(run, session, tmp_path / "open")
    kept = (goal / "findings.json").read_bytes()
    shutil.rmtree(home)
    assert told(run, str(goal))["remembered"]["outcome"] == "new"
    assert findings(run, goal) == before
    again = exported(run, goal, tmp_path / "again")
    assert (again / "findings.json").read_bytes() == kept
    assert findings(run, again) == before
    for name in ["session.toml", *(f"pulls/{path.name}" for path in (session / "pulls").iterdir())]:
        assert (again / name).read_bytes() == (session / name).read_bytes()


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="the program that checks is not on this machine")
def test_the_checksums_are_checked_by_the_usual_program(
    run: Callable[..., tuple[int, str]], session: Path, tmp_path: Path
) -> None:
    goal = exported(run, session, tmp_path / "open")
    command = ["sha256sum", "--strict", "-c", "SHA256SUMS"]
    said = subprocess.run(command, cwd=goal, capture_output=True, text=True, check=True).stdout
    files = {path.relative_to(goal).as_posix() for path in goal.rglob("*") if path.is_file()}
    assert {line.removesuffix(": OK") for line in said.splitlines()} == files - {"SHA256SUMS"}
    (goal / "README.md").write_bytes(b"something else")
    assert subprocess.run(command, cwd=goal, capture_output=True, check=False).returncode == 1


def test_the_descriptor_says_what_is_in_the_folder_who_made_it_and_what_may_be_done_with_it(
    run: Callable[..., tuple[int, str]], session: Path, tmp_path: Path
) -> None:
    goal = exported(run, session, tmp_path / "open")
    package = json.loads((goal / "datapackage.json").read_text(encoding="utf-8"))
    assert NAME.fullmatch(package["name"])
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", package["created"])
    assert package["title"] == "Two headers on a small four"
    assert package["licenses"] == [
        {"name": "CC-BY-4.0", "path": "https://creativecommons.org/licenses/by/4.0/"}
    ]  # fmt: skip
    assert [one["title"] for one in package["contributors"]] == ["A. Tester", "B. Tester"]
    named = [one["name"] for one in package["resources"]]
    assert len(set(named)) == len(named)
    assert all(NAME.fullmatch(name) for name in named)
    for one in package["resources"]:
        content = (goal / one["path"]).read_bytes()
        assert one["bytes"] == len(content)
        assert one["hash"] == f"sha256:{hashlib.sha256(content).hexdigest()}"
    data = {one["path"] for one in package["resources"]}
    assert data == {"session.toml", "findings.json", *(f"pulls/{path.name}" for path in (session / "pulls").iterdir())}
    readme = (goal / "README.md").read_text(encoding="utf-8")
    assert "sha256sum -c SHA256SUMS" in readme
    assert "A. Tester, B. Tester. Two headers on a small four. 2026-05-04" in readme


def test_without_a_licence_it_is_said_plainly(run: Callable[..., tuple[int, str]], tmp_path: Path) -> None:
    session = write_session(tmp_path / "headers", "ABAB")
    goal = exported(run, session, tmp_path / "open")
    assert "No licence was given" in (goal / "README.md").read_text(encoding="utf-8")
    assert "No licence was given" in (goal / "LICENCE.txt").read_text(encoding="utf-8")
    assert "licenses" not in json.loads((goal / "datapackage.json").read_text(encoding="utf-8"))
    _, text = run("remember", "--export", str(tmp_path / "other"), "--find", "header")
    assert "no licence was given" in text
    assert 'licence = "CC-BY-4.0"' in text


def test_a_session_without_findings_does_not_say_that_they_follow(
    run: Callable[..., tuple[int, str]], tmp_path: Path
) -> None:
    folder = write_session(tmp_path / "none", "AB")
    path = folder / "session.toml"
    text = path.read_text(encoding="utf-8").replace("[[pull]]\n", '[[pull]]\nleft_out = "the belt slipped"\n')
    path.write_text(text, encoding="utf-8")
    goal = exported(run, folder, tmp_path / "open")
    assert not (goal / "findings.json").exists()
    readme = (goal / "README.md").read_text(encoding="utf-8")
    assert "The findings follow" not in readme
    assert "Why there are no findings is told from these files alone" in readme


@pytest.mark.parametrize("what", ["changed", "gone", "without a checksum", "no checksums"])
def test_a_damaged_folder_is_refused_and_the_file_named(
    run: Callable[..., tuple[int, str]], session: Path, home: Path, tmp_path: Path, what: str
) -> None:
    goal = exported(run, session, tmp_path / "open")
    shutil.rmtree(home)
    name = sorted(path.name for path in (goal / "pulls").iterdir())[1]
    sums = (goal / "SHA256SUMS").read_text(encoding="utf-8")
    if what == "changed":
        content = bytearray((goal / "pulls" / name).read_bytes())
        content[len(content) // 2] ^= 1
        (goal / "pulls" / name).write_bytes(content)
    elif what == "gone":
        (goal / "pulls" / name).unlink()
    elif what == "without a checksum":
        rest = [line for line in sums.splitlines(keepends=True) if name not in line]
        (goal / "SHA256SUMS").write_text("".join(rest), encoding="utf-8")
    else:
        (goal / "SHA256SUMS").write_text("nothing\n", encoding="utf-8")
    status, text = run("remember", str(goal))
    assert status == 2
    assert text.count("\n") == 1
    assert ("SHA256SUMS, line 1" if what == "no checksums" else f"pulls/{name}") in text
    assert not home.exists()


def test_sessions_that_are_found_have_a_folder_each_and_an_older_export_is_replaced_when_asked(
    run: Callable[..., tuple[int, str]], session: Path, tmp_path: Path
) -> None:
    told(run, str(session))
    told(run, str(write_session(tmp_path / "other", "ABAB", seed=9)))
    done = told(run, "--export", str(tmp_path / "open"), "--find", "header")["exported"]
    assert sorted(path.name for path in (tmp_path / "open").iterdir()) == sorted(
        f"2026-05-04-two-headers-on-a-small-four-{one['session']}" for one in done
    )
    first = tmp_path / "open" / f"2026-05-04-two-headers-on-a-small-four-{done[0]['session']}"
    (first / "note of mine.txt").write_bytes(b"mine")
    before = {path: path.read_bytes() for path in first.rglob("*") if path.is_file()}
    status, text = run("remember", "--export", str(tmp_path / "open"), "--find", "header")
    assert status == 2
    assert "the folder is not empty" in text
    told(run, "--export", str(tmp_path / "open"), "--find", "header", "--replace")
    assert {path: path.read_bytes() for path in first.rglob("*") if path.is_file()} == before


@pytest.mark.parametrize("name", ["session.toml", "README.md", "SHA256SUMS"])
def test_a_file_that_no_export_wrote_is_never_replaced(
    run: Callable[..., tuple[int, str]], session: Path, tmp_path: Path, name: str
) -> None:
    kept = told(run, str(session))["remembered"]["session"]
    own = tmp_path / "own"
    own.mkdir()
    (own / "notes.txt").write_bytes(b"mine")
    (own / name).write_bytes(f"{hashlib.sha256(b'mine').hexdigest()}  notes.txt\n".encode())
    before = {path.name: path.read_bytes() for path in own.iterdir()}
    status, text = run("remember", "--export", str(own), kept, "--replace")
    assert (status, text.count("\n")) == (2, 1)
    assert f"{name}: this file is none of an export" in text
    assert {path.name: path.read_bytes() for path in own.iterdir()} == before


def test_the_folder_in_which_somebody_is_does_not_become_an_export(
    run: Callable[..., tuple[int, str]], session: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = told(run, str(session))["remembered"]["session"]
    here = tmp_path / "here" / "inside"
    here.mkdir(parents=True)
    monkeypatch.chdir(here)
    for goal in (".", "..", str(here)):
        status, text = run("remember", "--export", goal, kept)
        assert (status, text.count("\n")) == (2, 1)
        assert "this is the folder that you are in" in text
    assert here.is_dir()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--export", "out"), "one thing is needed"),
        (("--export", "out", "--find", "camshaft"), "no session answers"),
        (("--export", "out", "ffffffff"), "there is no such session"),
        (("one", "two"), "one session is remembered at a time"),
    ],
)
def test_what_is_wrong_is_one_sentence(
    run: Callable[..., tuple[int, str]], session: Path, words: tuple[str, ...], said: str
) -> None:
    told(run, str(session))
    status, text = run("remember", *words)
    assert status == 2
    assert said in text
    assert text.count("\n") == 1


@pytest.mark.skipif(sys.platform == "win32", reason="such names are for other systems")
@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="the program that checks is not on this machine")
def test_names_with_backslashes_and_line_breaks_are_checked_too(tmp_path: Path) -> None:
    from pullbook.app.checksums import named_sums, sums_text

    files = {"a\\b.csv": b"1", "two\nlines.csv": b"2", "plain name.csv": b"3"}
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    (tmp_path / "SHA256SUMS").write_bytes(sums_text(files))
    subprocess.run(["sha256sum", "--strict", "-c", "SHA256SUMS"], cwd=tmp_path, capture_output=True, check=True)
    assert set(named_sums(tmp_path)) == set(files)
