"""The reference page of the engine file tells every key with its unit, default and ranges, as the parser has them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.engine_key import Key, Kind
from pullbook.engine.engine_keys import KEYS
from pullbook.engine.layouts import build_network
from pullbook.engine.templates import TEMPLATES
from pullbook.engine.usual import PROPORTIONS

PAGE = (Path(__file__).parents[3] / "docs" / "engine-file.md").read_text(encoding="utf-8")
SECTIONS = {
    heading.strip("`[]"): body
    for heading, body in zip(*[iter(re.split(r"^##+ (.*)$", PAGE, flags=re.MULTILINE)[1:])] * 2, strict=True)
}
WRITTEN = {kind: kind.value for kind in Kind} | {Kind.GROUPS: "list of lists"}


def _range(ends: tuple[float, float] | None) -> str:
    if ends is None:
        return ""
    return f"{ends[0]:g}" if ends[0] == ends[1] else f"{ends[0]:g} to {ends[1]:g}"


def row_of(key: Key) -> str:
    """Line of the page about a key."""
    written = {Kind.QUANTITY: key.unit, Kind.ROW: f"row, {key.unit}"}.get(key.kind) or WRITTEN[key.kind]
    absent = "nothing" if key.optional else key.says_default
    if key.kind is Kind.WORD and key.default is not None:
        absent = f'`"{absent}"`'
    words = " " + ", ".join(f'`"{word}"`' for word in key.words) + "." if key.words else ""
    ranges = f"{_range(key.usual)} | {_range(key.possible)}"
    return f"| `{key.name}` | {written} | {absent} | {ranges} | {key.says}{words} |".replace("|  |", "| |")


def lines_of(section: str) -> list[str]:
    return [line for line in SECTIONS[section].splitlines() if line.startswith("| `")]


ELSEWHERE = {"exhaust_cam", "exhaust_cam.durations", "exhaust_valves", "exhaust_port", "exhaust_port.flow"}


@pytest.mark.parametrize("table", [name for name in KEYS if name and name not in ELSEWHERE])
def test_each_table_of_the_page_has_the_rows_that_the_parser_knows_and_no_other(table: str) -> None:
    assert lines_of(table) == [row_of(key) for key in KEYS[table]]


@pytest.mark.parametrize("table", ["exhaust_cam", "exhaust_valves", "exhaust_port"])
def test_the_page_tells_where_the_exhaust_differs_from_the_intake(table: str) -> None:
    intake = {row_of(key) for key in KEYS[table.replace("exhaust", "intake")]}
    assert lines_of(table) == [row_of(key) for key in KEYS[table] if row_of(key) not in intake]
    assert KEYS["exhaust_port.flow"] == KEYS["intake_port.flow"]
    assert KEYS["exhaust_cam.durations"] == KEYS["intake_cam.durations"]


def test_the_tables_are_listed_in_the_order_of_the_parser() -> None:
    listed = re.findall(r"^\| \[`(\w+)`\]", SECTIONS["The tables"], flags=re.MULTILINE)
    assert listed == [key.name for key in KEYS[""]]


def test_each_proportion_is_on_the_page_with_its_range() -> None:
    rows = [f"| {name} | {low:g} to {high:g} {unit}".rstrip() + f" | {says}. |"
            for name, (low, high, unit, says) in PROPORTIONS.items()]  # fmt: skip
    told = [line for line in SECTIONS["Proportions"].splitlines() if line.startswith("| ") and "---" not in line]
    assert told[1:] == rows


def test_each_template_is_on_the_page() -> None:
    for name, says in TEMPLATES.items():
        assert f"`{name}`: {says}" in re.sub(r"\s+", " ", PAGE)


@pytest.mark.parametrize("number", range(3))
def test_each_whole_file_on_the_page_is_read_and_makes_a_network(number: int) -> None:
    examples = re.findall(r"```toml\n(# file.*?)```", PAGE, flags=re.DOTALL)
    assert len(examples) == 3
    spec = parse_engine(examples[number])
    assert build_network(spec).pipes
    assert spec.unusual == ()
