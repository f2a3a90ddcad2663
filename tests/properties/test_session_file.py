"""Whatever is done to a session file, it is read or refused in one sentence; nothing else ever happens."""

from __future__ import annotations

import json
import math
import tomllib
from typing import TYPE_CHECKING, Any

from hypothesis import given
from hypothesis import strategies as st
from session_texts import FULL, SMALL

from pullbook.capture.session_file import parse_session
from pullbook.capture.session_file_problems import find_problems
from pullbook.errors import InputError
from pullbook.records.session import Session

if TYPE_CHECKING:
    from collections.abc import Iterator

LINES = FULL.splitlines()
Path = tuple[str | int, ...]

WORDS = (
    "",
    " ",
    "A",
    "B",
    "peak",
    "8 kW",
    "8",
    "-3 %",
    "nan kW",
    "inf kPa",
    "1e400 kW",
    "2..3 rpm",
    "..",
    "1.2.3 kPa",
    "3000 rpm",
    "9e99 rpm",
    "observed",
    "none",
    "pulls/a1.csv",
    "../x",
    "\\",
    "\u0000",
    "\u00b0C",
    "٣ kW",
    "[rpm]",
)
VALUES = st.one_of(
    st.sampled_from(WORDS),
    st.text(max_size=12),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.dates(),
    st.datetimes(),
    st.times(),
    st.lists(st.one_of(st.sampled_from(WORDS), st.integers(), st.just({"of": "A"})), max_size=3),
    st.dictionaries(
        st.sampled_from(("of", "from", "column", "unit", "speed", "power", "x")), st.sampled_from(WORDS), max_size=3
    ),
)


def outcome(text: str) -> None:
    error: InputError | None
    try:
        session = parse_session(text)
    except InputError as caught:
        error = caught
    else:
        error = None
    if error is not None:
        said = str(error)
        assert said.startswith("session.toml")
        assert "\n" not in said
        assert len(said) < 1200
        assert error.remedy
    else:
        assert isinstance(session, Session)
        assert sum(build.baseline for build in session.builds) == 1
        assert all(math.isfinite(limit.low) and limit.low < limit.high for limit in session.limits)


def paths(value: Any, path: Path = ()) -> Iterator[Path]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, below in items:
        yield (*path, key)
        yield from paths(below, (*path, key))


def toml(value: Any) -> str:
    """Value as inline TOML; written here because the standard library only reads the format."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(str(key))} = {toml(below)}" for key, below in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(toml(below) for below in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value).replace("\\ud", "\\u0d").replace("\x7f", "\\u007f")
    if isinstance(value, float):
        return repr(value) if "e" not in repr(value) or "." in repr(value) else repr(value).replace("e", ".0e")
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


def document(values: dict[str, Any]) -> str:
    return "\n".join(f"{json.dumps(key)} = {toml(value)}" for key, value in values.items())


FULL_VALUES = tomllib.loads(FULL)
PATHS = tuple(paths(FULL_VALUES))


def test_the_writer_of_this_test_writes_what_the_parser_reads() -> None:
    assert parse_session(document(FULL_VALUES)) == parse_session(FULL)
    assert len(PATHS) > 120


def mutated(path: Path, value: Any, *, drop: bool) -> dict[str, Any]:
    values: dict[str, Any] = tomllib.loads(FULL)
    place: Any = values
    for key in path[:-1]:
        place = place[key]
    if drop:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return values


@given(path=st.sampled_from(PATHS), value=VALUES)
def test_any_value_in_any_place_is_read_or_refused(path: Path, value: Any) -> None:
    outcome(document(mutated(path, value, drop=False)))


def test_any_key_dropped_is_read_or_refused() -> None:
    for path in PATHS:
        outcome(document(mutated(path, None, drop=True)))


@given(start=st.integers(0, len(FULL)), length=st.integers(0, 60), text=st.text(max_size=6))
def test_text_cut_and_pasted_anywhere_is_read_or_refused(start: int, length: int, text: str) -> None:
    outcome(FULL[:start] + text + FULL[start + length :])


@given(end=st.integers(0, len(FULL)))
def test_a_file_cut_off_anywhere_is_read_or_refused(end: int) -> None:
    outcome(FULL[:end])


@given(order=st.permutations(range(len(LINES))), count=st.integers(0, len(LINES)))
def test_lines_in_any_order_are_read_or_refused(order: list[int], count: int) -> None:
    outcome("\n".join(LINES[number] for number in order[:count]))


@given(text=st.text(max_size=80), path=st.sampled_from(PATHS))
def test_any_key_name_is_read_or_refused(text: str, path: Path) -> None:
    outcome(document(mutated((*path[:-1], text) if isinstance(path[-1], str) else path, "A", drop=False)))


@given(text=st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    outcome(text)
    outcome(SMALL + text)


def all_found(text: str) -> None:
    problems = find_problems(text)
    try:
        parse_session(text)
    except InputError as error:
        first = (error.what, error.value, error.remedy, error.where.partition(": ")[2])
        assert first in [(one.what, one.value, one.remedy, one.at or one.where.partition(": ")[2]) for one in problems]
    else:
        assert problems == ()


@given(path=st.sampled_from(PATHS), value=VALUES)
def test_any_value_in_any_place_is_among_the_problems_if_it_is_refused(path: Path, value: Any) -> None:
    all_found(document(mutated(path, value, drop=False)))


@given(paths=st.lists(st.sampled_from(PATHS), max_size=4), value=VALUES)
def test_the_first_refusal_of_several_is_among_the_problems(paths: list[Path], value: Any) -> None:
    values: dict[str, Any] = tomllib.loads(FULL)
    for path in paths:
        place: Any = values
        for key in path[:-1]:
            place = place[key] if _has(place, key) else None
        if _has(place, path[-1]):
            place[path[-1]] = value
    all_found(document(values))


def _has(place: Any, key: str | int) -> bool:
    return key in place if isinstance(place, dict) else isinstance(place, list) and key in range(len(place))


def test_any_key_dropped_is_among_the_problems_if_it_is_missed() -> None:
    for path in PATHS:
        all_found(document(mutated(path, None, drop=True)))


@given(start=st.integers(0, len(FULL)), length=st.integers(0, 60), text=st.text(max_size=6))
def test_text_cut_and_pasted_is_among_the_problems_if_it_is_refused(start: int, length: int, text: str) -> None:
    all_found(FULL[:start] + text + FULL[start + length :])
