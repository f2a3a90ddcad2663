"""The tutorial is run from top to bottom: each command works, and prints the lines that the page shows."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import pytest
from repo.tree import ROOT

if TYPE_CHECKING:
    from pathlib import Path

TUTORIAL: Final = ROOT / "docs" / "tutorial.md"
_BLOCK: Final = re.compile(r"^```console\n(.*?)^```", flags=re.MULTILINE | re.DOTALL)
_FILE: Final = re.compile(r"^```toml\n# file: (\S+)\n(.*?)^```", flags=re.MULTILINE | re.DOTALL)
_SKIP: Final = "..."


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One command of the page, the status it ends with, and the lines that it is said to print."""

    command: tuple[str, ...]
    status: int
    shown: tuple[str, ...]


def steps_of(text: str) -> list[Step]:
    """Commands of a page in order; ``...`` stands for lines that are not shown."""
    steps = []
    for block in _BLOCK.findall(text):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, _, output = part.partition("\n")
            words, _, status = command.partition("# status ")
            lines = [line for line in output.splitlines() if line.strip() and line.strip() != _SKIP]
            steps.append(Step(command=tuple(_words(words)), status=int(status or 0), shown=tuple(lines)))
    return steps


def _words(command: str) -> list[str]:
    return [quoted or plain for quoted, plain in re.findall(r"'([^']*)'|(\S+)", command)]


def missing_lines(shown: tuple[str, ...], printed: str) -> list[str]:
    """Lines of the page that were not printed, in their order; blanks do not matter."""
    there = iter([" ".join(line.split()) for line in printed.splitlines()])
    return [line for line in shown if " ".join(line.split()) not in there]


@pytest.mark.slow
def test_the_tutorial_works_as_it_is_written(tmp_path: Path) -> None:
    text = TUTORIAL.read_text(encoding="utf-8")
    for name, content in _FILE.findall(text):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(content, encoding="utf-8")
    steps = steps_of(text)
    assert len(steps) > 4
    for step in steps:
        assert step.command[0] == "pullbook"
        done = subprocess.run(
            [sys.executable, "-m", *step.command],
            cwd=tmp_path,
            env={**os.environ, "COLUMNS": "110", "NO_COLOR": "1", "PULLBOOK_UNITS": "metric"},
            capture_output=True,
            check=False,
            encoding="utf-8",
        )
        assert done.returncode == step.status, f"{' '.join(step.command)}\n{done.stderr}"
        assert missing_lines(step.shown, done.stdout + done.stderr) == [], f"{' '.join(step.command)}\n{done.stdout}"


def test_a_line_that_is_not_printed_would_be_seen() -> None:
    assert missing_lines(("a  b", "d"), "x\na b\nc\n") == ["d"]
    assert missing_lines(("b", "a"), "a\nb\n") == ["a"]


def test_commands_are_read_with_their_status_and_quoted_words() -> None:
    commands = "$ pullbook correct a.csv --standard 'SAE J1349'\nline\n...\n$ pullbook compare x  # status 2\n"
    page = f"```console\n{commands}```\n"
    first, second = steps_of(page)
    assert first.command == ("pullbook", "correct", "a.csv", "--standard", "SAE J1349")
    assert first.shown == ("line",)
    assert (second.command, second.status) == (("pullbook", "compare", "x"), 2)
