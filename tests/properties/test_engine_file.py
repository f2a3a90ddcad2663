"""Whatever is done to an engine file, it makes a network or is refused in one sentence; nothing else ever happens."""

from __future__ import annotations

import json
import math
import tomllib
from typing import TYPE_CHECKING, Any

from hypothesis import given
from hypothesis import strategies as st

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.engine_keys import KEYS
from pullbook.engine.layouts import build_network
from pullbook.engine.templates import TEMPLATES, template_text
from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.engine.network import Network

FREE = """
[engine]
cylinders = 2
[[network.pipe]]
name = "a"
from = "port 1"
to = "m"
length = "300 mm"
diameter = "40 mm"
[[network.pipe]]
name = "b"
from = "cylinder 2"
to = "m"
length = "300 mm"
diameter = "40 mm"
[[network.pipe]]
name = "c"
to = "open"
at = "0 300 mm"
diameters = "50 60 mm"
[[network.pipe]]
name = "d"
from = "volume v"
to = "closed"
length = "300 mm"
diameter = "40 mm"
[[network.join]]
name = "m"
pipes = ["c start"]
[[network.volume]]
name = "v"
volume = "1 L"
"""
TEXTS = [*(template_text(name) for name in TEMPLATES), FREE]
Path = tuple[str | int, ...]
NAMES = sorted({key.name for keys in KEYS.values() for key in keys})
WORDS = (
    "", " ", "A", "8 mm", "-8 mm", "0 mm", "1e400 mm", "nan mm", "1e-30 mm", "8", "1 2 3 mm", "3 2 1 deg", "0 9 deg",
    "open", "closed", "port 1", "cylinder 9", "volume v", "m", "4-1", "4-2-1", "log", "individual", "x", "h",
    "reversed", "chamber", "100 %", "0.1 %", "9e9 rpm", "20 L", "\\", "\u0000", "\u0663 mm", "500 mm", "30 mm",
    "90 deg", "40 mm",
)  # fmt: skip
VALUES = st.one_of(
    st.sampled_from(WORDS),
    st.text(max_size=8),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.lists(st.one_of(st.sampled_from(WORDS), st.integers(0, 9), st.lists(st.integers(0, 5), max_size=3)), max_size=4),
    st.dictionaries(st.sampled_from(NAMES), st.one_of(st.sampled_from(WORDS), st.floats(0, 9)), max_size=3),
)


def outcome(text: str) -> None:
    error: InputError | None = None
    network: Network | None = None
    try:
        network = build_network(parse_engine(text))
    except InputError as caught:
        error = caught
    if error is not None:
        said = str(error)
        assert said.startswith("engine.toml"), said
        assert "\n" not in said
        assert len(said) < 1500
        assert error.remedy, said
    if network is not None:
        for pipe in network.pipes:
            assert math.isfinite(pipe.volume)
            assert pipe.volume > 0.0
        for cylinder in network.cylinders:
            for valve_set in cylinder.valve_sets:
                assert (valve_set.area_in >= 0.0).all()
                assert valve_set.opens_deg < valve_set.closes_deg
                assert min(valve_set.area_in.min(), valve_set.area_out.min()) == 0.0


def _places(value: object, path: Path = ()) -> Iterator[Path]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield (*path, key)
        yield from _places(inner, (*path, key))


def _written(value: Any) -> str:
    """Value in TOML."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(str(key))} = {_written(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_written, value)) + "]"
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return json.dumps(value)


def _at(data: Any, path: Path) -> Any:
    for key in path:
        data = data[key]
    return data


def test_the_writer_of_this_test_writes_what_the_parser_reads() -> None:
    for text in TEXTS:
        content = tomllib.loads(text)
        written = "\n".join(f"{json.dumps(name)} = {_written(value)}" for name, value in content.items())
        assert tomllib.loads(written) == content
        assert build_network(parse_engine(written)).pipes


@given(st.data())
def test_any_value_at_any_place_is_read_or_refused_in_one_sentence(data: st.DataObject) -> None:
    content = tomllib.loads(data.draw(st.sampled_from(TEXTS)))
    for _ in range(data.draw(st.integers(1, 2))):
        places = list(_places(content))
        *where, key = data.draw(st.sampled_from(places))
        holder = _at(content, tuple(where))
        match data.draw(st.sampled_from(("value", "away", "added"))):
            case "value":
                holder[key] = data.draw(VALUES)
            case "away":
                del holder[key]
            case _:
                if isinstance(holder, dict):
                    holder[data.draw(st.sampled_from(NAMES))] = data.draw(VALUES)
        if not list(_places(content)):
            break
    text = "\n".join(f"{json.dumps(str(name))} = {_written(value)}" for name, value in content.items())
    outcome(text)


@given(st.sampled_from(TEXTS), st.integers(0, 400), st.sampled_from(("cut", "twice", "swapped")))
def test_any_line_cut_doubled_or_swapped_is_read_or_refused_in_one_sentence(text: str, place: int, how: str) -> None:
    lines = text.splitlines()
    place %= len(lines) - 1
    match how:
        case "cut":
            lines[place] = lines[place][: len(lines[place]) // 2]
        case "twice":
            lines.insert(place, lines[place])
        case _:
            lines[place], lines[place + 1] = lines[place + 1], lines[place]
    outcome("\n".join(lines))
