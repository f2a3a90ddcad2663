"""Tables of all windows: made only when they are asked for, and the same as a window asked for by name."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from session_folder import write_session

from pullbook.app.compare_builds import compare_session
from pullbook.app.ports import Silent
from pullbook.app.question import Question
from pullbook.curves.all_windows import window_places

if TYPE_CHECKING:
    from pathlib import Path


def test_nobody_who_did_not_ask_waits_for_the_tables(tmp_path: Path) -> None:
    write_session(tmp_path)
    assert compare_session(tmp_path, Question(), Silent()).windows_any == ()


def test_a_window_of_the_tables_is_that_which_the_command_gives(tmp_path: Path) -> None:
    write_session(tmp_path)
    asked = Question(windows=((3000.0, 4500.0),))
    result = compare_session(tmp_path, asked, Silent(), with_windows=True)
    (table,) = result.windows_any
    (difference,) = result.findings.differences
    wanted = next(one for one in difference.windows if (one.from_rpm, one.to_rpm) == (3000.0, 4500.0))
    (stretch,) = table.stretches
    low, high = window_places(stretch.ends_rpm.size)
    place = ((stretch.ends_rpm[low] == 3000.0) & (stretch.ends_rpm[high] == 4500.0)).nonzero()[0]
    assert (table.of, table.from_) == ("B", "A")
    assert stretch.torque[place] == pytest.approx([wanted.torque.high - wanted.torque.value])


def test_with_every_pull_kept_a_window_is_that_which_the_command_gives(tmp_path: Path) -> None:
    write_session(tmp_path)
    path = tmp_path / "session.toml"
    text = path.read_text(encoding="utf-8")
    first, rest = text.split("[[pull]]", 1)
    path.write_text(f'{first}[[pull]]\nleft_out = "the fuel ran out"{rest}', encoding="utf-8")
    result = compare_session(tmp_path, Question(windows=((3000.0, 4500.0),)), Silent(), with_windows=True)
    assert result.findings_with_all is not None
    (wanted,) = result.findings_with_all.differences[0].windows
    (table,) = result.windows_with_all
    (stretch,) = table.stretches
    low, high = window_places(stretch.ends_rpm.size)
    place = ((stretch.ends_rpm[low] == 3000.0) & (stretch.ends_rpm[high] == 4500.0)).nonzero()[0]
    assert stretch.torque[place] == pytest.approx([wanted.torque.high - wanted.torque.value])
    assert compare_session(tmp_path, Question(), Silent()).windows_with_all == ()
