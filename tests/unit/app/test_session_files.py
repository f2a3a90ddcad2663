"""Cards of the files of a session."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from builders_tables import SOURCE
from session_folder import pull_text, write_session

from pullbook.app.column_rules import column_rules, rules_for_file
from pullbook.app.layouts import Memory, remember
from pullbook.app.ports import Silent
from pullbook.app.session_files import cards, file_card, list_files
from pullbook.app.thumbnail import POINTS, thumbnail
from pullbook.errors import InputError, SessionFileError
from pullbook.quantities.channels import Channel
from pullbook.records.pull import Direction, Pull, TorqueKind

if TYPE_CHECKING:
    from pathlib import Path

TWO_TORQUES = "RPM,Torque [Nm],Drehmoment [lb-ft]\n" + "".join(
    f"{n},{100 + n / 100:.2f},{60 + n / 100:.2f}\n" for n in range(2000, 6000, 50)
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PULLBOOK_CONFIG_HOME", str(tmp_path / "settings"))
    return write_session(tmp_path / "s", "AB")


def _add(folder: Path, name: str, text: str) -> str:
    (folder / "pulls" / name).write_text(text)
    return f"pulls/{name}"


def test_files_are_listed_as_a_person_counts_and_hidden_ones_and_links_are_passed_over(folder: Path) -> None:
    for name in ("run 10.csv", "run 9.csv", ".hidden", "Zebra.txt"):
        _add(folder, name, "1")
    (folder / "pulls/folder").mkdir()
    (folder / "pulls/link.csv").symlink_to(folder / "session.toml")
    assert list_files(folder) == [
        "pulls/01-a.csv", "pulls/02-b.csv", "pulls/run 9.csv", "pulls/run 10.csv", "pulls/Zebra.txt",
    ]  # fmt: skip
    assert list_files(folder / "none") == []


def test_a_card_says_what_was_understood_and_shows_its_pull_as_a_curve(folder: Path) -> None:
    card = file_card(folder, "pulls/01-a.csv")
    assert [one["channel"] for one in card["tables"][0]["channels"]] == ["time", "speed", "torque", "throttle"]
    (pull,) = card["pulls"]
    assert (pull["which"], pull["direction"], pull["torque"]) == (1, "up", "measured")
    assert "rows" in pull["says"]
    curve = pull["curve"]
    assert len(curve["speed_rpm"]) == len(curve["torque"]) <= POINTS
    assert curve["speed_rpm"] == sorted(curve["speed_rpm"])
    # The file is 180 N m less 30 N m times ((rpm - 4500) / 2500)^2, times 1 within some per mille.
    for speed, torque in zip(curve["speed_rpm"], curve["torque"], strict=True):
        assert torque == pytest.approx(180 - 30 * ((speed - 4500) / 2500) ** 2, rel=0.02)
    assert "refused" not in card
    assert (card["questions"], card["already"], card["remarks"]) == ([], {}, [])
    json.dumps(card, allow_nan=False)


def test_a_card_has_the_weather_and_the_time_that_the_file_states(folder: Path) -> None:
    head = "Date: 04.05.2026\nStart time: 09:12:30\nBaro: 99.2 kPa\nCalibrated 2020-01-01\n"
    card = file_card(folder, _add(folder, "told.csv", head + pull_text(np.random.default_rng(1))))
    assert (card["time"], card["air"]) == ("2026-05-04T09:12:30", {"pressure": 99200.0})
    assert file_card(folder, "pulls/01-a.csv")["time"] == ""


@pytest.mark.parametrize("count", [40, 400])
def test_the_thumbnail_of_a_fall_runs_by_rising_speed_and_blanks_are_left_out(count: int) -> None:
    speed = np.linspace(6500.0, 2000.0, count)
    torque = np.where(np.arange(count) % 5 == 0, np.nan, 100.0 + speed / 100.0)
    pull = Pull(
        name="a", source=SOURCE, direction=Direction.DOWN, rows=np.arange(count),
        channels={Channel.SPEED: speed, Channel.TORQUE: torque},
    )  # fmt: skip
    curve: Any = thumbnail(pull)
    assert curve["speed_rpm"] == sorted(curve["speed_rpm"])
    assert 32 <= len(curve["torque"]) <= POINTS
    assert curve["torque"] == pytest.approx([100.0 + speed / 100.0 for speed in curve["speed_rpm"]], abs=0.1)


def test_a_pull_in_which_nothing_was_measured_has_an_empty_thumbnail() -> None:
    none = np.full(5, np.nan)
    pull = Pull(
        name="a", source=SOURCE, direction=Direction.UP, rows=np.arange(5), torque_kind=TorqueKind.RELATIVE,
        channels={Channel.SPEED: none, Channel.LOAD_SIGNAL: none},
    )  # fmt: skip
    assert thumbnail(pull) == {"speed_rpm": [], "torque": [], "unit": ""}


def test_a_doubtful_column_is_a_question_and_its_answer_makes_the_pull(folder: Path) -> None:
    name = _add(folder, "two.csv", TWO_TORQUES)
    card = file_card(folder, name)
    assert card["pulls"] == []
    assert card["refused"]["what"] == "torque could be 'Torque', 'Drehmoment'"
    (question,) = card["questions"]
    assert (question["channel"], question["needed"]) == ("torque", True)
    assert [choice["says"] for choice in question["choices"]] == ["'Torque' in N m", "'Drehmoment' in lb ft"]
    assert question["choices"][1]["columns"] == {"torque": {"column": "Drehmoment", "unit": "lb ft"}}
    answered = file_card(folder, name, question["choices"][1]["columns"])
    assert (answered["questions"], len(answered["pulls"])) == ([], 1)
    assert answered["layout_id"] == card["layout_id"]
    assert answered["pulls"][0]["curve"]["torque"][0] == pytest.approx(80 * 1.3558, rel=1e-3)


def test_a_choice_is_remembered_for_the_layout_and_told(folder: Path) -> None:
    first, second = _add(folder, "one.csv", TWO_TORQUES), _add(folder, "two.csv", TWO_TORQUES.replace("2000,", "2010,"))
    card = file_card(folder, first)
    choice = card["questions"][0]["choices"][0]["columns"]
    remember(card["layout_id"], choice)
    (again,) = cards(folder, [second], Silent())
    assert again["already"] == choice
    assert len(again["pulls"]) == 1
    (without,) = cards(folder, [second], Silent(), use_memory=False)
    assert without["questions"]


def test_a_remembered_choice_yields_to_one_that_the_session_makes(folder: Path) -> None:
    name = _add(folder, "one.csv", TWO_TORQUES)
    layout = file_card(folder, name)["layout_id"]
    memory = Memory(layouts={layout: {"torque": {"column": "Torque", "unit": "N m"}}})
    ruled = file_card(folder, name, {"torque": "Drehmoment [lb ft]"}, memory=memory)
    assert ruled["already"] == {}
    assert ruled["pulls"][0]["curve"]["torque"][0] == pytest.approx(80 * 1.3558, rel=1e-3)


def test_a_standard_is_asked_for_once_for_each_layout(folder: Path) -> None:
    name = _add(folder, "corrected.csv", TWO_TORQUES.replace("Torque", "Torque corrected").replace("Drehmoment", "xyz"))
    (card,) = cards(folder, [name], Silent())
    assert [question["channel"] for question in card["questions"]] == ["received"]
    remember(card["layout_id"], {}, received="SAE J1349")
    (card,) = cards(folder, [name], Silent())
    assert (card["questions"], card["received"]) == ([], "SAE J1349")
    text = (folder / "session.toml").read_text()
    (folder / "session.toml").write_text(text + f'\n[[pull]]\nbuild = "A"\nfile = "{name}"\nreceived = "observed"\n')
    (card,) = cards(folder, [name], Silent())
    assert (card["questions"], card["received"]) == ([], "observed")


def test_a_file_in_the_run_order_is_read_by_the_session_alone(folder: Path) -> None:
    name = _add(folder, "one.csv", TWO_TORQUES)
    remember(file_card(folder, name)["layout_id"], {"torque": {"column": "Torque", "unit": "N m"}})
    text = (folder / "session.toml").read_text()
    (folder / "session.toml").write_text(text + f'\n[[pull]]\nbuild = "A"\nfile = "{name}"\n')
    (card,) = cards(folder, [name], Silent())
    assert card["questions"], "what is not written in session.toml does not count there"
    assert card["already"] == {}


def test_a_remembered_choice_never_makes_a_readable_file_unreadable(folder: Path) -> None:
    name = "pulls/01-a.csv"
    layout = file_card(folder, name)["layout_id"]
    memory = Memory(layouts={layout: {"torque": {"column": "Power", "unit": "N m"}}})
    card = file_card(folder, name, memory=memory)
    assert (card["already"], len(card["pulls"])) == ({}, 1)


def test_a_damaged_memory_is_a_remark_and_no_more(folder: Path) -> None:
    (folder.parent / "settings").mkdir()
    (folder.parent / "settings/layouts.json").write_text("{")
    (card,) = cards(folder, [_add(folder, "new.csv", pull_text(np.random.default_rng(1)))], Silent())
    assert len(card["pulls"]) == 1
    assert "is damaged" in card["remarks"][0]


def test_columns_that_hold_nothing_do_not_change_the_layout(folder: Path) -> None:
    names = [
        _add(folder, "full.csv", "RPM,Torque [Nm],Lambda\n" + "".join(f"{n},150,0.9\n" for n in range(2000, 6000, 50))),
        _add(folder, "bare.csv", "RPM,Torque [Nm],Lambda\n" + "".join(f"{n},150,\n" for n in range(2000, 6000, 50))),
    ]
    assert len({file_card(folder, name)["layout_id"] for name in names}) == 1


@pytest.mark.parametrize("name", ["../outside.csv", "pulls/link.csv", "pulls/none.csv", "pulls"])
def test_a_file_that_is_not_in_the_session_is_refused_in_its_card(name: str, folder: Path) -> None:
    (folder.parent / "outside.csv").write_text(TWO_TORQUES)
    (folder / "pulls/link.csv").symlink_to(folder.parent / "outside.csv")
    card = file_card(folder, name)
    assert card["refused"]["what"]
    assert (card["file"], card["pulls"], card["tables"]) == (name, [], [])


def test_a_file_without_a_pull_or_with_a_cut_row_says_so_as_comparing_would(folder: Path) -> None:
    flat = _add(folder, "flat.csv", "RPM,Torque [Nm]\n" + "3000,150\n" * 50)
    assert file_card(folder, flat)["refused"]["what"].startswith("there is no full-throttle pull")
    cut = _add(folder, "cut.csv", pull_text(np.random.default_rng(1))[:-20])
    card = file_card(folder, cut)
    assert "ends in the middle" in card["refused"]["what"]


def test_a_session_file_that_is_being_written_hides_no_card(folder: Path) -> None:
    (folder / "session.toml").write_text("[session\n")
    assert len(cards(folder, list_files(folder), Silent())) == 2
    (folder / "session.toml").unlink()
    assert len(cards(folder, list_files(folder), Silent())[0]["pulls"]) == 1


def test_progress_is_told_and_may_end_the_reading(folder: Path) -> None:
    told: list[tuple[str, int, int]] = []

    class Watch:
        def step(self, doing: str, done: int, total: int) -> None:
            told.append((doing, done, total))
            if done == 1:
                raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        cards(folder, list_files(folder), Watch())
    assert told == [("reading pulls/01-a.csv", 0, 2), ("reading pulls/02-b.csv", 1, 2)]


def test_rules_of_the_session_and_of_the_pull_come_together() -> None:
    values = {
        "columns": {"torque": "Load [N m]", "speed": "N [rpm]"},
        "pull": [{"file": "a.csv", "columns": {"torque": {"column": "M", "unit": "lb ft"}}}, {"file": "b.csv"}, 3],
    }
    found = column_rules(rules_for_file(values, "a.csv"))
    assert [(rule.channel, rule.column, rule.unit) for rule in found] == [
        (Channel.SPEED, "N", "rpm"), (Channel.TORQUE, "M", "lb ft"),
    ]  # fmt: skip
    assert rules_for_file(values, "b.csv") == values["columns"]
    assert rules_for_file({"columns": 3, "pull": "x"}, "b.csv") == {}
    with pytest.raises(SessionFileError, match="unknown"):
        column_rules({"colour": "x"})
    with pytest.raises(InputError):
        column_rules({"torque": "x [V]"})


def test_a_wrong_rule_is_refused_in_the_card_of_its_file(folder: Path) -> None:
    assert "unknown" in file_card(folder, "pulls/01-a.csv", {"colour": "x"})["refused"]["what"]
    card = file_card(folder, "pulls/01-a.csv", {"torque": "Torqe [N m]"})
    assert card["refused"]["what"] == "the file has no such column"
    assert card["questions"][0]["choices"][0]["columns"] == {"torque": {"column": "Torque", "unit": "N m"}}


def test_the_modules_that_the_server_uses_import_nothing_heavy() -> None:
    program = (
        "import sys, pullbook.app.session_files, pullbook.app.layouts, pullbook.app.store_file\n"
        "import pullbook.app.pull_edits, pullbook.app.column_rules\n"
        "print([name for name in ('numpy', 'scipy', 'numba', 'jinja2') if name in sys.modules])"
    )
    said = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    assert said.strip() == "[]"


def test_every_real_file_is_a_card_that_json_can_carry(shared_data: Path, tmp_path: Path) -> None:
    files = [path for path in sorted(shared_data.glob("*/*.*")) if path.suffix != ".md"]
    assert len(files) >= 15
    (tmp_path / "pulls").mkdir()
    for path in files:
        shutil.copyfile(path, tmp_path / "pulls" / path.name)
        card = file_card(tmp_path, f"pulls/{path.name}")
        assert len(json.dumps(card, allow_nan=False)) < 30_000
        assert card["pulls"] or card["refused"]["what"]
        assert bool(card["pulls"]) != ("refused" in card)


def test_a_real_log_without_torque_is_settled_by_its_first_choice_and_its_pulls_are_found(
    shared_data: Path, tmp_path: Path
) -> None:
    # The README of the data: 'Analog #8' is the load cell in volts, not calibrated to torque.
    (tmp_path / "pulls").mkdir()
    for name in ("day-b-three-pulls.csv", "day-b-run-5.csv", "day-b-free-revs.csv"):
        shutil.copyfile(shared_data / "engine-brake-logs" / name, tmp_path / "pulls" / name)
    asked = file_card(tmp_path, "pulls/day-b-three-pulls.csv")
    choice = asked["questions"][0]["choices"][0]
    assert choice["columns"] == {"load_signal": {"column": "Analog #8", "unit": "V"}}
    memory = Memory(layouts={asked["layout_id"]: choice["columns"]})
    found = {name: file_card(tmp_path, name, memory=memory) for name in list_files(tmp_path)}
    assert {name: len(card["pulls"]) for name, card in found.items()} == {
        "pulls/day-b-free-revs.csv": 0, "pulls/day-b-run-5.csv": 1, "pulls/day-b-three-pulls.csv": 3,
    }  # fmt: skip
    curve = found["pulls/day-b-run-5.csv"]["pulls"][0]["curve"]
    assert curve["unit"] == ""
    assert max(abs(value) for value in curve["torque"]) == pytest.approx(1.0)
