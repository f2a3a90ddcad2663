"""Every wrong input gets one sentence with place, value and remedy, exit status 2, and nothing is written."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from session_folder import CLAIM, write_session

from pullbook.cli.main import _status

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    Change = Callable[[Path], None]


def _edit(old: str, new: str, count: int = 1) -> Change:
    def change(folder: Path) -> None:
        path = folder / "session.toml"
        text = path.read_text()
        assert old in text, f"the test's own text is out of date: {old}"
        path.write_text(text.replace(old, new, count))

    return change


def _content(data: bytes) -> Change:
    def change(folder: Path) -> None:
        (folder / "pulls/02-a.csv").write_bytes(data)

    return change


def _without(column: int) -> Change:
    def change(folder: Path) -> None:
        path = folder / "pulls/02-a.csv"
        rows = [line.split(",") for line in path.read_text().splitlines()]
        path.write_text("\n".join(",".join(row[:column] + row[column + 1 :]) for row in rows) + "\n")

    return change


def _constant_rpm(folder: Path) -> None:
    path = folder / "pulls/02-a.csv"
    head, *rows = [line.split(",") for line in path.read_text().splitlines()]
    path.write_text("\n".join(",".join(row) for row in [head, *([r[0], "3000.0", *r[2:]] for r in rows)]) + "\n")


def _truncated(folder: Path) -> None:
    path = folder / "pulls/02-a.csv"
    text = path.read_text()
    path.write_text(text[: text.rindex("\n", 0, -1) + 9])


def _too_large(folder: Path) -> None:
    # A sparse file: it has the size, and takes no room on the disk.
    with (folder / "pulls/02-a.csv").open("r+b") as stream:
        stream.truncate(2_100_000_000)


def _directory(folder: Path) -> None:
    (folder / "pulls/02-a.csv").unlink()
    (folder / "pulls/02-a.csv").mkdir()


def _add(text: str) -> Change:
    def change(folder: Path) -> None:
        path = folder / "session.toml"
        path.write_text(path.read_text() + text)

    return change


_AIR = 'air = { temperature = "22.0 degC", pressure = "99.0 kPa", humidity = "45 %" }'
_WRONG: dict[str, tuple[Change, tuple[str, ...]]] = {
    "missing unit": (_edit('"22.0 degC"', '"22.0"'), ("temperature", "22.0", "degC")),
    "bare number": (_edit('"22.0 degC"', "22.0"), ("temperature", "22.0")),
    "unknown unit": (_edit('"99.0 kPa"', '"99.0 kpascals"'), ("pressure", "kpascals", "kPa")),
    "unit of another dimension": (_edit('"99.0 kPa"', '"99.0 N m"'), ("pressure", "N m", "kPa")),
    "unknown key": (_edit("standard =", "standart ="), ("standart", "standard")),
    "unknown standard": (_edit("SAE J1349", "SAE J1394"), ("standard", "SAE J1394", "SAE J1349")),
    "build without pulls": (
        _edit('[[build]]\nname = "B"', '[[build]]\nname = "C"\nlevels = { header = "4-1" }\n\n[[build]]\nname = "B"'),
        ("C", "pull"),
    ),
    "pull without build": (_edit('build = "A"\n', ""), ("pull", "build")),
    "pull of an unknown build": (_edit('build = "A"\n', 'build = "Q"\n'), ("build", "Q", "A, B")),
    "file that is not there": (lambda folder: (folder / "pulls/02-a.csv").unlink(), ("pulls/02-a.csv", "no such file")),
    "empty file": (_content(b""), ("pulls/02-a.csv", "empty")),
    "binary file": (_content(bytes(range(256)) * 40), ("pulls/02-a.csv",)),
    "truncated in a row": (_truncated, ("pulls/02-a.csv", "301")),
    "2 GB": (_too_large, ("pulls/02-a.csv", "2.1 GB")),
    "directory in its place": (_directory, ("pulls/02-a.csv", "folder")),
    "no rpm": (_without(1), ("pulls/02-a.csv", "speed")),
    "no torque": (_without(2), ("pulls/02-a.csv", "torque")),
    "constant rpm": (_constant_rpm, ("pulls/02-a.csv", "3,?000")),
    "pressure outside physics": (_edit('"99.0 kPa"', '"990 kPa"'), ("pressure", "990")),
    "humidity outside physics": (_edit('"45 %"', '"145 %"'), ("humidity", "145")),
    "temperature outside physics": (_edit('"22.0 degC"', '"220 degC"'), ("temperature", "220")),
    "no baseline": (_edit("baseline = true\n", ""), ("baseline",)),
    "two baselines": (_edit('[[build]]\nname = "B"', '[[build]]\nname = "B"\nbaseline = true'), ("baseline",)),
    "claim about a build that was not run": (_edit('of = "B"', 'of = "C"'), ("claim", "C")),
    "two standards in one session": (
        _edit('standard = "SAE J1349"', 'standard = ["SAE J1349", "SAE J607"]'), ("standard", "SAE J607")
    ),
    "corrected to another standard without air": (
        _edit(_AIR, 'received = "SAE J607"'), ("pulls/01-a.csv|pull", "temperature|pressure|air")
    ),
    "received missing": (_edit('received = "observed"\n', ""), ("received",)),
    "file outside the folder": (_edit('"pulls/01-a.csv"', '"../other.csv"'), (r"\.\./other\.csv",)),
    "times run backwards": (_edit("T09:06", "T23:06"), ("time",)),
    "not TOML": (_edit("[session]", "[session"), ("session.toml", "line 1")),
    "two claims of one name": (_add(CLAIM), ("more-at-the-top",)),
    "claim without a number": (_edit('at_least = "2 N m"\n', ""), ("claim", "at_least")),
    "claim in the wrong unit": (_edit('"2 N m"', '"2 kW"'), ("claim", "kW", "N m")),
    "which beyond the file": (
        _edit('file = "pulls/02-a.csv"', 'file = "pulls/02-a.csv"\nwhich = 4'), ("which", "4", "1 pull")
    ),
}  # fmt: skip


def _listing(folder: Path) -> dict[str, int]:
    return {str(path.relative_to(folder)): path.stat().st_mtime_ns for path in folder.rglob("*")}


@pytest.mark.parametrize("name", _WRONG)
def test_wrong_input_gets_one_sentence_and_writes_nothing(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    change, expected = _WRONG[name]
    folder = write_session(tmp_path / "session", "AABB")
    change(folder)
    before = _listing(tmp_path)
    assert _status(["publish", str(folder), "--to", str(tmp_path / "out")]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("pullbook: ")
    assert said.err.count("\n") == 1, "one sentence on one line"
    assert "; " in said.err, "a remedy follows"
    for words in expected:
        assert re.search(words, said.err), f"{words!r} is missing in {said.err!r}"
    assert _listing(tmp_path) == before, "nothing may be written"


def test_bands_with_one_pull_a_build_and_no_history_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_session(tmp_path / "session", "AB")
    before = _listing(tmp_path)
    assert _status(["publish", str(folder), "--to", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    assert "One pull each and no history" in said
    assert "--without-bands" in said
    assert _listing(tmp_path) == before


def test_curves_without_bands_are_shown_when_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_session(tmp_path / "session", "AB")
    assert _status(["compare", str(folder), "--without-bands"]) == 0
    assert "no uncertainty can be stated" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (["compare", "nowhere"], "nowhere"),
        (["compare", "{folder}", "--of", "Q"], "Q"),
        (["compare", "{folder}", "--of", "A"], "itself"),
        (["compare", "{folder}", "--window", "3000"], "3000"),
        (["compare", "{folder}", "--window", "4000..3000"], "empty"),
        (["compare", "{folder}", "--units", "furlongs"], "furlongs"),
        (["compare", "{folder}/pulls/01-a.csv"], "session folder"),
        (["capture", "nowhere.csv"], ""),
        (["correct", "{folder}/pulls/01-a.csv", "--standard", "SAE J1349"], "temperature|pressure"),
        (["correct", "{folder}/pulls/01-a.csv", "--standard", "SAE"], "SAE"),
        (["publish", "{folder}", "--to", "{folder}/session.toml"], "in the way"),
        (["bogus"], "bogus"),
    ],
)
def test_wrong_options_get_one_sentence(
    arguments: list[str], expected: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_session(tmp_path / "session", "AABB")
    before = _listing(tmp_path)
    assert _status([part.format(folder=folder) for part in arguments]) == 2
    assert re.search(expected, capsys.readouterr().err)
    assert _listing(tmp_path) == before
