"""Every command and every option is in the documentation, with the words that ``--help`` shows."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import pytest
import typer.main
from repo.tree import ROOT

from pullbook.cli.main import app

if TYPE_CHECKING:
    from collections.abc import Iterator

PAGE: Final = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
COMMANDS: Final = sorted(typer.main.get_command(app).commands)  # type: ignore[attr-defined] # a group has commands


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace("`", "").replace("\\|", "|")).strip()


def section_of(command: str) -> str:
    """Part of the page about one command."""
    found = re.search(rf"^## {command}\n(.*?)(?=^## |\Z)", PAGE, flags=re.MULTILINE | re.DOTALL)
    assert found, f"docs/reference/commands.md has no section '## {command}'"
    return _plain(found[1])


def options_of(command: str) -> Iterator[tuple[str, str]]:
    """Longest spelling of each option or argument, and its help."""
    for parameter in typer.main.get_command(app).commands[command].params:  # type: ignore[attr-defined] # as above
        names = [*parameter.opts, *parameter.secondary_opts]
        if "--help" not in names:
            yield (max(names, key=len) if names[0].startswith("-") else str(parameter.metavar)), parameter.help or ""


@pytest.mark.parametrize("command", COMMANDS)
def test_what_a_command_does_is_told_in_its_own_words(command: str) -> None:
    text = typer.main.get_command(app).commands[command].help  # type: ignore[attr-defined] # as above
    assert _plain(text) in section_of(command)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_option_of_a_command_is_told_with_its_help(command: str) -> None:
    section = section_of(command)
    missing = [
        f"{name}: {text}" for name, text in options_of(command) if name not in section or _plain(text) not in section
    ]
    assert missing == []


def test_the_page_tells_of_no_command_that_does_not_exist() -> None:
    assert sorted(re.findall(r"^## ([a-z]+)$", PAGE, flags=re.MULTILINE)) == COMMANDS
