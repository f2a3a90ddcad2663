"""The how-to pages about the virtual engine, and its part of the README, are run from top to bottom."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pytest
from repo.pages import change_lines, steps_of, take
from repo.tree import ROOT

if TYPE_CHECKING:
    from pathlib import Path

PAGES: Final = ("another-exhaust", "describe-your-engine", "see-the-waves")


@pytest.mark.slow
@pytest.mark.parametrize("page", PAGES)
def test_a_how_to_page_works_as_it_is_written(page: str, tmp_path: Path) -> None:
    steps = steps_of((ROOT / "docs" / "how-to" / f"{page}.md").read_text(encoding="utf-8"))
    assert sum(bool(step.shown) for step in steps) > 1
    for step in steps:
        take(step, tmp_path)


@pytest.mark.slow
def test_the_commands_of_the_readme_for_the_virtual_engine_work(tmp_path: Path) -> None:
    section = (ROOT / "README.md").read_text(encoding="utf-8").split("## The virtual engine\n")[1].split("\n## ")[0]
    steps = steps_of(section)
    assert len(steps) == 3
    for step in steps:
        take(step, tmp_path)


def test_lines_of_a_copied_file_are_changed_in_the_table_that_is_named() -> None:
    text = "[a]\nx = 1\n[[b]] # as built\nx = 1  # mm\ny = 2\n"
    assert change_lines(text, "[[b]]\nx = 3\n\n[a]\nx = 4\n") == "[a]\nx = 4\n[[b]] # as built\nx = 3\ny = 2\n"
    with pytest.raises(AssertionError, match=r"'z' stands 0 times in \[a\]"):
        change_lines(text, "[a]\nz = 3\n")


def test_a_page_may_copy_files_and_run_python() -> None:
    page = "```toml\n# copy a.toml to b/c.toml and change\n[a]\nx = 3\n```\n```python\nprint(1)\n```\n"
    copied, script = steps_of(page)
    assert (copied.source, copied.file, copied.content) == ("a.toml", "b/c.toml", "[a]\nx = 3\n")
    assert script.command == ("python", "-c", "print(1)\n")
