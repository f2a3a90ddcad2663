"""Words that have no business in the repository."""

from __future__ import annotations

import re
from typing import Final

import pytest
from repo.tree import ROOT, shown, text_files

# Written in two halves so that this file does not find itself.
_FORBIDDEN: Final = tuple(
    first + second
    for first, second in (
        ("/wo", "rk/"), ("/ro", "ot/"), ("/ho", "me/"), ("cla", "ude"), ("anthr", "opic"), ("sub", "agent"),
        ("chat", "gpt"), ("open", "ai"), ("copi", "lot"), ("llm", "-generated"), ("index", "-url"),
    )
)  # fmt: skip
_WORD: Final = re.compile("|".join(rf"(?<![A-Za-z]){re.escape(word)}" for word in _FORBIDDEN), re.IGNORECASE)


def words_in(text: str) -> list[str]:
    """Forbidden words of a text, with the line they are in."""
    return [
        f"line {number}: {found.group()}"
        for number, line in enumerate(text.splitlines(), start=1)
        if (found := _WORD.search(line))
    ]


def test_no_path_of_a_machine_and_no_word_about_tools_is_in_the_repository() -> None:
    found = {
        shown(path): words
        for path in text_files()
        if path.name not in {"tasks.py", "plotly.min.js"} and (words := words_in(_text(path.read_bytes())))
    }
    assert found == {}


@pytest.mark.parametrize("word", _FORBIDDEN)
def test_each_forbidden_word_would_be_seen(word: str) -> None:
    assert words_in(f"first line\nsecond {word} line") == [f"line 2: {word}"]


def test_lock_file_names_no_host() -> None:
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    assert "://" not in lock
    assert "--index" not in lock


def _text(content: bytes) -> str:
    return content.decode("utf-8", errors="replace")
