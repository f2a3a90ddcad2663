"""Pulls of files, as lines of the run order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from session_folder import pull_text, write_session

from pullbook.app.edit_session import apply_edits, open_draft
from pullbook.app.layouts import remember
from pullbook.app.load_session import load_session
from pullbook.app.ports import Silent
from pullbook.app.pull_edits import edits_for, edits_for_all, edits_in_time, times_fit
from pullbook.app.session_files import cards, file_card
from pullbook.capture.session_edit import Edit
from pullbook.quantities.channels import Channel

if TYPE_CHECKING:
    from pathlib import Path

TWO_TORQUES = "RPM,Torque [Nm],Drehmoment [lb-ft]\n" + "".join(
    f"{n},{100 + n / 100:.2f},{60 + n / 100:.2f}\n" for n in range(2000, 6000, 50)
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PULLBOOK_CONFIG_HOME", str(tmp_path / "settings"))
    return write_session(tmp_path / "s", "AB")


def _card(name: str, time: str = "", pulls: int = 1) -> dict[str, Any]:
    return {"file": name, "time": time, "columns": {}, "pulls": [{"which": n} for n in range(1, pulls + 1)]}


def test_the_pulls_of_a_file_become_lines_of_the_run_order() -> None:
    card: dict[str, Any] = {
        "file": "pulls/a.csv", "pulls": [{"which": 1}, {"which": 2}],
        "columns": {"torque": {"column": "M", "unit": "lb ft"}, "speed": {"column": "N", "unit": ""}},
    }  # fmt: skip
    edits = edits_for(
        card, "B", columns={"load_signal": {"column": "M", "unit": "V"}}, said={"received": "SAE J1349", "air": {}}
    )
    rules = {"speed": {"column": "N"}, "load_signal": {"column": "M", "unit": "V"}}
    assert [edit["value"] for edit in edits] == [
        {"build": "B", "file": "pulls/a.csv", "which": n, "received": "SAE J1349", "columns": rules} for n in (1, 2)
    ]
    assert {(edit["do"], edit["at"]) for edit in edits} == {("add", "pull")}
    assert [edit["value"]["which"] for edit in edits_for(card, "B", which=[2])] == [2]


def test_a_remembered_standard_is_written_out_unless_another_is_said() -> None:
    card = _card("a.csv") | {"received": "SAE J1349"}
    said = [edits_for(card, "A", said=words)[0]["value"]["received"] for words in ({}, {"received": "observed"})]
    assert said == ["SAE J1349", "observed"]


def test_files_that_state_their_times_are_added_in_that_order_with_them() -> None:
    late, early = _card("b.csv", "2026-05-04T09:20:00", pulls=2), _card("c.csv", "2026-05-04T09:12:00")
    edits = [edit["value"] for edit in edits_for_all([late, early], "A", {"session": {"date": "2026-05-04"}})]
    assert [(value["file"], value["time"]) for value in edits] == [
        ("c.csv", "2026-05-04T09:12:00"), ("b.csv", "2026-05-04T09:20:00"), ("b.csv", "2026-05-04T09:20:00"),
    ]  # fmt: skip


def test_files_of_which_one_states_no_time_keep_their_order_without_times() -> None:
    edits = edits_for_all([_card("b.csv", "2026-05-04T09:20:00"), _card("a.csv")], "A", {})
    assert [edit["value"] for edit in edits] == [{"build": "A", "file": "b.csv"}, {"build": "A", "file": "a.csv"}]


@pytest.mark.parametrize(
    ("values", "fits"),
    [
        ({}, True),
        ({"pull": [{"time": "2026-05-04T09:00:00"}]}, True),
        ({"pull": [{"time": "2026-05-04T10:00:00"}]}, False),
        ({"pull": [{"time": "2026-05-04T09:00:00+02:00"}]}, False),
        ({"pull": [{"file": "a.csv"}]}, False),
        ({"session": {"date": "2026-05-05"}}, False),
        ({"session": {"date": "2026-05-05"}, "pull": [{"time": "2026-05-04T09:00:00"}]}, True),
        ({"session": 3, "pull": None}, True),
    ],
)
def test_times_are_written_only_where_the_session_can_take_them(values: dict[str, Any], *, fits: bool) -> None:
    assert times_fit([_card("a.csv", "2026-05-04T09:12:00")], values) is fits


def test_the_edits_of_a_card_make_a_session_that_loads_without_any_memory(folder: Path) -> None:
    name = "pulls/one.csv"
    (folder / name).write_text(TWO_TORQUES)
    remember(file_card(folder, name)["layout_id"], {"torque": {"column": "Drehmoment", "unit": "lb ft"}})
    (card,) = cards(folder, [name], Silent())
    text = (folder / "session.toml").read_text().replace("time = ", "# time = ")
    (folder / "session.toml").write_text(text)
    apply_edits(folder, [Edit(**edit) for edit in edits_for(card, "A")])
    pull = load_session(folder, Silent()).pulls[-1]
    assert pull.channels[Channel.TORQUE][0] == pytest.approx(80 * 1.3558, rel=1e-3)


def test_files_with_times_make_a_run_order_with_times(folder: Path) -> None:
    for number, clock in ((1, "18:30"), (2, "18:20")):
        text = f"Date: 2026-05-04\nStart time: {clock}\n" + pull_text(np.random.default_rng(number))
        (folder / f"pulls/late {number}.csv").write_text(text)
    found = cards(folder, ["pulls/late 1.csv", "pulls/late 2.csv"], Silent())
    edits = edits_for_all(found, "B", open_draft(folder).values)
    draft = apply_edits(folder, [Edit(**edit) for edit in edits])
    run: Any = draft.values["pull"]
    assert [str(entry["time"]) for entry in run[-2:]] == ["2026-05-04T18:20:00", "2026-05-04T18:30:00"]
    assert [entry.file for entry in load_session(folder, Silent()).session.pulls][-2:] == [
        "pulls/late 2.csv", "pulls/late 1.csv",
    ]  # fmt: skip


def test_the_next_pull_of_a_file_gets_the_rules_of_the_first(folder: Path) -> None:
    speeds = (*range(2000, 6000, 10), *range(6000, 2000, -10))  # a pull up and a pull down
    rows = "".join(f"{n},{100 + n / 100:.2f},{60 + n / 100:.2f}\n" for n in speeds)
    name = "pulls/twice.csv"
    (folder / name).write_text(TWO_TORQUES.partition("\n")[0] + "\n" + rows)
    text = (folder / "session.toml").read_text().replace("time = ", "# time = ")
    (folder / "session.toml").write_text(text)
    chosen = {"torque": {"column": "Drehmoment", "unit": "lb ft"}}
    remember(file_card(folder, name)["layout_id"], chosen)
    for which in (1, 2):
        (card,) = cards(folder, [name], Silent())
        assert len(card["pulls"]) == 2
        apply_edits(folder, [Edit(**edit) for edit in edits_for(card, "A", which=[which])])
    assert [entry.columns[0].column for entry in load_session(folder, Silent()).session.pulls[-2:]] == 2 * [
        "Drehmoment"
    ]


def test_a_file_that_states_its_time_is_put_where_it_belongs_in_the_run_order(folder: Path) -> None:
    # The session has a pull at 09:06 and one at 09:46.
    for clock in ("09:30", "09:50", "08:00"):
        text = f"Date: 2026-05-04\nStart time: {clock}\n" + pull_text(np.random.default_rng(int(clock[:2] + clock[3:])))
        name = f"pulls/at {clock.replace(':', '-')}.csv"
        (folder / name).write_text(text)
        (card,) = cards(folder, [name], Silent())
        edits = edits_in_time(card, "B", open_draft(folder).values)
        apply_edits(folder, [Edit(**edit) for edit in edits])
    run = load_session(folder, Silent()).session.pulls
    assert [entry.file for entry in run] == [
        "pulls/at 08-00.csv", "pulls/01-a.csv", "pulls/at 09-30.csv", "pulls/02-b.csv", "pulls/at 09-50.csv",
    ]  # fmt: skip
    assert all(entry.time is not None for entry in run)


def test_several_pulls_of_a_file_keep_their_order_where_they_are_put() -> None:
    values = {"pull": [{"time": "2026-05-04T09:00:00"}, {"time": "2026-05-04T10:00:00"}]}
    edits = edits_in_time(_card("a.csv", "2026-05-04T09:30:00", pulls=2), "A", values)
    assert [(edit["at"], edit["value"]["which"]) for edit in edits] == [("pull[2]", 1), ("pull[3]", 2)]


@pytest.mark.parametrize(
    ("time", "values"),
    [
        ("", {"pull": [{"time": "2026-05-04T09:00:00"}]}),
        ("2026-05-04T09:30:00", {"pull": [{"time": "2026-05-04T09:00:00"}, {}]}),
        ("2026-05-04T09:30:00", {"session": {"date": "2026-05-05"}}),
        ("2026-05-04T08:30:00", {"session": {"date": "2026-05-05"}, "pull": [{"time": "2026-05-05T09:00:00"}]}),
        ("2026-05-04T09:30:00", {"pull": [{"time": "2026-05-04T10:00:00+02:00"}]}),
    ],
)
def test_a_time_that_the_session_cannot_take_is_left_out_and_the_pull_goes_to_the_end(
    time: str, values: dict[str, Any]
) -> None:
    (edit,) = edits_in_time(_card("a.csv", time), "A", values)
    assert edit == {"do": "add", "at": "pull", "value": {"build": "A", "file": "a.csv"}}
