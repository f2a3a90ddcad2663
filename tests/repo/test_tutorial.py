"""The tutorial is run from top to bottom: each command works, and prints the lines that the page shows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pytest
from repo.pages import SKIP, Step, missing_lines, steps_of, take
from repo.tree import ROOT

from pullbook.bench import demo_session

if TYPE_CHECKING:
    from pathlib import Path

TUTORIAL: Final = ROOT / "docs" / "tutorial.md"


@pytest.mark.slow
def test_the_tutorial_works_as_it_is_written(tmp_path: Path) -> None:
    steps = steps_of(TUTORIAL.read_text(encoding="utf-8"))
    assert sum(bool(step.shown) for step in steps) > 4
    for step in steps:
        take(step, tmp_path)


def test_the_readme_shows_what_the_demo_prints(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    block = readme.split("## What the demo prints")[1].split("```text\n")[1].split("```")[0]
    lines = tuple(line for line in block.splitlines() if line.strip() and line.strip() != SKIP)
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
