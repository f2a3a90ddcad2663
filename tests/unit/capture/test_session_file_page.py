"""The reference page of the session file names every key that the parser knows, and no other."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pullbook.capture.session_file import parse_session
from pullbook.capture.session_file_keys import KEYS, STANDARDS, TOP
from pullbook.quantities.channels import CHANNELS
from pullbook.records.build import Ignition, Induction
from pullbook.records.session import Dyno

PAGE = (Path(__file__).parents[3] / "docs" / "session-file.md").read_text(encoding="utf-8")
SECTIONS = {
    heading.strip("`[]"): body
    for heading, body in zip(*[iter(re.split(r"^##+ (.*)$", PAGE, flags=re.MULTILINE)[1:])] * 2, strict=True)
}
ANY_CHANNEL = {"limits", "columns"}


def first_cells(section: str) -> list[str]:
    return re.findall(r"^\| `([^`]+)` \|", SECTIONS[section], flags=re.MULTILINE)


@pytest.mark.parametrize("table", [name for name in KEYS if name and name not in ANY_CHANNEL])
def test_each_key_that_the_parser_knows_is_on_the_page_and_no_other(table: str) -> None:
    assert sorted(first_cells(table)) == sorted(KEYS[table])


def test_each_table_of_the_file_has_its_section() -> None:
    assert set(KEYS[TOP]) <= set(SECTIONS)


def test_each_channel_is_on_the_page_with_its_unit() -> None:
    cells = re.findall(r"`(\w+)` \| ([^|]+?) \|", SECTIONS["Channels"])
    assert dict(cells) == {channel.value: kind.symbol_metric for channel, kind in CHANNELS.items()}


def test_each_name_of_a_standard_is_on_the_page_and_no_other() -> None:
    names = set(re.findall(r"`([^`]+)`", SECTIONS["Correction standards"]))
    assert names == {*STANDARDS, "observed", "standard", "received"}


def test_each_word_that_can_be_chosen_is_on_the_page() -> None:
    for word in (*Induction, *Ignition, *Dyno):
        assert f'`"{word}"`' in PAGE


def test_the_whole_file_on_the_page_is_read() -> None:
    example = re.search(r"```toml\n(.*?)```", SECTIONS["A whole file"], flags=re.DOTALL)
    assert example is not None
    session = parse_session(example[1])
    assert [pull.build for pull in session.pulls] == ["A", "B", "A"]
