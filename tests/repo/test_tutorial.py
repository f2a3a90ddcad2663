"""The tutorial is run from top to bottom: each command works, and prints the lines that the page shows."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import pytest
from repo.tree import ROOT

from pullbook.bench import demo_session

if TYPE_CHECKING:
    from pathlib import Path

TUTORIAL: Final = ROOT / "docs" / "tutorial.md"
_BLOCK: Final = re.compile(
    r"^```(?:console\n(?P<console>.*?)|toml\n# file: (?P<name>\S+)\n(?P<content>.*?))^```",
    flags=re.MULTILINE | re.DOTALL,
)
_NUMBER: Final = re.compile(r"\d+(?:,\d{3})*(?:\.\d+)?")
_SKIP: Final = "..."


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One command of the page, the status it ends with and the lines that it is said to print; or a file to write."""

    command: tuple[str, ...] = ()
    status: int = 0
    shown: tuple[str, ...] = ()
    file: str = ""
    content: str = ""


def steps_of(text: str) -> list[Step]:
    """Files and commands of a page in order; ``...`` stands for lines that are not shown."""
    steps = []
    for block in _BLOCK.finditer(text):
        if block["name"]:
            steps.append(Step(file=block["name"], content=block["content"]))
            continue
        for part in re.split(r"^\$ ", block["console"], flags=re.MULTILINE)[1:]:
            command, _, output = part.partition("\n")
            words, _, status = command.partition("# status ")
            lines = [line for line in output.splitlines() if line.strip() and line.strip() != _SKIP]
            steps.append(Step(command=tuple(_words(words)), status=int(status or 0), shown=tuple(lines)))
    return steps


def _words(command: str) -> list[str]:
    return [quoted or plain for quoted, plain in re.findall(r"'([^']*)'|(\S+)", command)]


def missing_lines(shown: tuple[str, ...], printed: str) -> list[str]:
    """Lines of the page that were not printed in that order.

    Where lines break does not matter, nor does the last digit of a drawn number and one step of the rpm grid.
    """
    rest = " ".join(printed.split())
    missing = []
    for line in shown:
        wanted = " ".join(line.split())
        pattern = "".join("(" + _NUMBER.pattern + ")" if _NUMBER.fullmatch(part) else re.escape(part)
                          for part in re.split(f"({_NUMBER.pattern})", wanted) if part)  # fmt: skip
        found = next((one for one in re.finditer(pattern, rest) if _is_near(wanted, one.group())), None)
        if found:
            rest = rest[found.end() :]
        else:
            missing.append(line)
    return missing


def _is_near(wanted: str, found: str) -> bool:
    pairs = zip(_NUMBER.finditer(wanted), _NUMBER.findall(found), strict=True)
    return all(
        abs(_value(one.group()) - _value(other)) <= _tolerance(one.group(), wanted[: one.start()])
        for one, other in pairs
    )


def _tolerance(text: str, before: str) -> float:
    """How far a number may be off: counts, names and sizes of parts are exact; what comes from draws is not."""
    decimals = len(text.partition(".")[2])
    if before.endswith("± "):
        return max(1.01 * 10.0**-decimals, 0.15 * _value(text))
    if _value(text) >= 1000.0:
        return 50.0
    return 1.01 * 10.0**-decimals if decimals else 0.0


def _value(text: str) -> float:
    return float(text.replace(",", ""))


def take(step: Step, folder: Path) -> None:
    """Do one step in a folder, and hold it to what the page says."""
    if step.file:
        (folder / step.file).parent.mkdir(parents=True, exist_ok=True)
        (folder / step.file).write_text(step.content, encoding="utf-8")
        return
    if step.command[:2] == ("cp", "-r"):
        shutil.copytree(folder / step.command[2], folder / step.command[3])
        return
    assert step.command[0] == "pullbook"
    done = subprocess.run(
        [sys.executable, "-m", *step.command],
        cwd=folder,
        env={**os.environ, "COLUMNS": "110", "NO_COLOR": "1", "PULLBOOK_UNITS": "metric"},
        capture_output=True,
        check=False,
        encoding="utf-8",
    )
    assert done.returncode == step.status, f"{' '.join(step.command)}\n{done.stderr}"
    assert missing_lines(step.shown, done.stdout + done.stderr) == [], f"{' '.join(step.command)}\n{done.stdout}"


@pytest.mark.slow
def test_the_tutorial_works_as_it_is_written(tmp_path: Path) -> None:
    steps = steps_of(TUTORIAL.read_text(encoding="utf-8"))
    assert sum(bool(step.shown) for step in steps) > 4
    for step in steps:
        take(step, tmp_path)


def test_the_readme_shows_what_the_demo_prints(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    block = readme.split("## What the demo prints")[1].split("```text\n")[1].split("```")[0]
    lines = tuple(line for line in block.splitlines() if line.strip() and line.strip() != _SKIP)
    assert len(lines) > 10
    for name, content in demo_session().items():
        (tmp_path / "demo" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "demo" / name).write_bytes(content)
    take(Step(command=("pullbook", "compare", "demo"), shown=lines), tmp_path)


def test_a_line_that_is_not_printed_would_be_seen() -> None:
    assert missing_lines(("a  b", "d"), "x\na\nb\nc\n") == ["d"]
    assert missing_lines(("b", "a"), "a\nb\n") == ["a"]


def test_a_drawn_number_may_differ_by_little_and_a_count_not_at_all() -> None:
    assert missing_lines(("gains 12 ± 4 N m (6.4 ± 2.1 %)",), "B gains 12 ± 5 N m (6.4 ± 2.0 %) here") == []
    assert missing_lines(("gains 12 ± 4 N m (6.4 ± 2.1 %)",), "B gains 12 ± 4 N m (6.4 ± 2.6 %) here") != []
    assert missing_lines(("gains 12 ± 4 N m",), "B gains 13 ± 4 N m") != []
    assert missing_lines(("near 5,100 rpm",), "near 5,110 rpm") == []
    assert missing_lines(("near 5,100 rpm",), "near 5,160 rpm") != []


def test_commands_and_files_are_read_in_order_with_status_and_quoted_words() -> None:
    commands = "$ pullbook correct a.csv --standard 'SAE J1349'\nline\n...\n$ pullbook compare x  # status 2\n"
    file, first, second = steps_of(f"```toml\n# file: x/session.toml\n[session]\n```\n```console\n{commands}```\n")
    assert (file.file, file.content) == ("x/session.toml", "[session]\n")
    assert first.command == ("pullbook", "correct", "a.csv", "--standard", "SAE J1349")
    assert first.shown == ("line",)
    assert (second.command, second.status) == (("pullbook", "compare", "x"), 2)
