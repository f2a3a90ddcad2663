"""Choices that are remembered by layout, in a file of the user that may be damaged, full or busy."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from pullbook.app import layouts
from pullbook.app.layouts import forget, layout_id, memory_stamp, recall, remember, remembered
from pullbook.errors import FailureError, InputError

if TYPE_CHECKING:
    from pathlib import Path

TORQUE = {"torque": {"column": "Analog #8", "unit": "lb ft"}}


def test_what_was_chosen_comes_back_for_that_layout_alone(tmp_path: Path) -> None:
    assert recall("a", tmp_path) == {}
    assert remember("a", TORQUE, tmp_path) == ""
    assert recall("a", tmp_path) == TORQUE
    assert recall("b", tmp_path) == {}


def test_a_later_choice_is_added_and_wins_and_a_column_has_one_channel(tmp_path: Path) -> None:
    remember("a", TORQUE | {"speed": {"column": "N", "unit": "rpm"}}, tmp_path)
    remember("a", {"load_signal": {"column": "Analog #8", "unit": "V"}}, tmp_path)
    assert recall("a", tmp_path) == {
        "speed": {"column": "N", "unit": "rpm"},
        "load_signal": {"column": "Analog #8", "unit": "V"},
    }


def test_the_standard_of_a_layout_is_remembered_beside_its_columns(tmp_path: Path) -> None:
    remember("a", {}, tmp_path, received="SAE J1349")
    remember("a", TORQUE, tmp_path)
    assert (recall("a", tmp_path), remembered(tmp_path).received) == (TORQUE, {"a": "SAE J1349"})
    with pytest.raises(InputError, match="known standard"):
        remember("a", {}, tmp_path, received="the best")
    forget("a", tmp_path)
    assert remembered(tmp_path).received == {}


def test_a_layout_or_all_of_them_can_be_forgotten(tmp_path: Path) -> None:
    for layout in "abc":
        remember(layout, TORQUE, tmp_path)
    forget("b", tmp_path)
    assert list(remembered(tmp_path).layouts) == ["a", "c"]
    forget(folder=tmp_path)
    assert remembered(tmp_path).layouts == {}


def test_the_memory_is_bounded_and_the_oldest_choice_goes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(layouts, "_MOST", 3)
    for layout in ("a", "b", "c", "a", "d"):
        remember(layout, TORQUE, tmp_path)
    assert list(remembered(tmp_path).layouts) == ["c", "a", "d"]


def test_it_lies_in_the_settings_of_the_user_where_nothing_else_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PULLBOOK_CONFIG_HOME", str(tmp_path / "new" / "settings"))
    remember("a", TORQUE)
    assert (tmp_path / "new/settings/layouts.json").is_file()
    assert recall("a") == TORQUE


@pytest.mark.parametrize(
    "content",
    [
        "",
        "{",
        "[]",
        "[" * 100_000,
        '{"schema": "pullbook.layouts/2", "layouts": {}}',
        '{"schema": "pullbook.layouts/1", "layouts": []}',
        '{"schema": "pullbook.layouts/1", "layouts": {"a": {"columns": {"colour": {"column": "x", "unit": ""}}}}}',
        '{"schema": "pullbook.layouts/1", "layouts": {"a": {"columns": {"torque": {"column": 3, "unit": ""}}}}}',
        '{"schema": "pullbook.layouts/1", "layouts": {"a": {"columns": {"torque": {"column": "x", "unit": "pc"}}}}}',
        '{"schema": "pullbook.layouts/1", "layouts": {"a": {"columns": {}, "received": "the best"}}}',
        '{"schema": "pullbook.layouts/1", "layouts": {"a": {"columns": {}, "received": 1}}}',
        '{"schema": "pullbook.layouts/1", "layouts": {"a": []}}',
    ],
)
def test_a_damaged_memory_is_told_of_and_kept_aside_when_the_next_choice_is_made(content: str, tmp_path: Path) -> None:
    (tmp_path / "layouts.json").write_text(content)
    assert "is damaged" in remembered(tmp_path).damaged
    assert recall("a", tmp_path) == {}
    assert "it is kept as layouts-damaged-1.json" in remember("a", TORQUE, tmp_path)
    assert (tmp_path / "layouts-damaged-1.json").read_text() == content
    assert recall("a", tmp_path) == TORQUE
    (tmp_path / "layouts.json").write_text("again")
    assert "layouts-damaged-2.json" in forget("a", tmp_path)


@pytest.mark.parametrize(
    "rules",
    [
        {"colour": {"column": "x", "unit": "N m"}},
        {"torque": {"column": "", "unit": "N m"}},
        {"torque": {"column": "x" * 500, "unit": "N m"}},
        {"torque": {"column": "x", "unit": "parsec"}},
    ],
)
def test_a_choice_that_cannot_be_meant_is_refused_and_changes_nothing(
    rules: dict[str, dict[str, str]], tmp_path: Path
) -> None:
    remember("a", TORQUE, tmp_path)
    before = (tmp_path / "layouts.json").read_bytes()
    with pytest.raises(InputError, match="a choice is a channel"):
        remember("a", rules, tmp_path)
    assert (tmp_path / "layouts.json").read_bytes() == before


def test_a_full_disk_is_one_sentence_and_the_memory_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    remember("a", TORQUE, tmp_path)

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FailureError, match="cannot be remembered"):
        remember("b", TORQUE, tmp_path)
    assert list(remembered(tmp_path).layouts) == ["a"]
    assert sorted(path.name for path in tmp_path.iterdir() if path.name != ".locks") == ["layouts.json"]


def test_programs_that_remember_at_once_lose_nothing(tmp_path: Path) -> None:
    program = (
        "import sys; from pathlib import Path; from pullbook.app.layouts import remember\n"
        "rules = {'torque': {'column': 'x', 'unit': 'N m'}}\n"
        "for number in range(8): remember(f'{sys.argv[2]}{number}', rules, Path(sys.argv[1]))"
    )
    running = [subprocess.Popen([sys.executable, "-c", program, str(tmp_path), who]) for who in "ab"]
    assert [process.wait(timeout=60) for process in running] == [0, 0]
    assert len(remembered(tmp_path).layouts) == 16


def test_the_stamp_of_the_memory_changes_with_it(tmp_path: Path) -> None:
    assert memory_stamp(tmp_path) == ""
    remember("a", TORQUE, tmp_path)
    first = memory_stamp(tmp_path)
    remember("b", TORQUE, tmp_path)
    assert len({"", first, memory_stamp(tmp_path)}) == 3


def test_the_memory_holds_any_column_name(tmp_path: Path) -> None:
    odd = {"torque": {"column": 'M\u00fcller \ud800 "x"\n= 1', "unit": ""}}
    remember("a", odd, tmp_path)
    assert recall("a", tmp_path)["torque"]["column"].startswith("M\u00fcller")
    assert json.loads((tmp_path / "layouts.json").read_bytes().decode("utf-8", "surrogatepass"))


def test_a_layout_is_its_names_its_units_their_order_and_its_kind() -> None:
    table = (("RPM", "rpm"), ("Torque", "Nm"))
    others = [
        layout_id("spreadsheet", [table]),
        layout_id("text", [table[::-1]]),
        layout_id("text", [(("RPM", "rpm"), ("Torque", "lb-ft"))]),
        layout_id("text", [table, (("RPM", "rpm"),)]),
    ]
    assert len({layout_id("text", [table]), *others}) == 5
    assert layout_id("text", [table, table]) == layout_id("text", [table]), "three runs or two, the layout is one"
