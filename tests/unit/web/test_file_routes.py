"""Routes about files: sending, reading, settling a column, saying of which build a pull is."""

from __future__ import annotations

import time
import tomllib
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from session_folder import pull_text

if TYPE_CHECKING:
    from unit_web import Asking

PULL = pull_text(np.random.default_rng(3)).encode()
# Two columns that could be the torque, and nothing that tells which.
DOUBTFUL = PULL.replace(b"Torque [Nm],Throttle [%]", b"Torque 1 [Nm],Torque 2 [Nm]")


def card(asking: Asking, session: str, name: str) -> dict[str, Any]:
    """Card of a file, when it was read."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        files = asking.get(f"/api/sessions/{session}/files").json()["files"]
        found = next(one for one in files if one["file"] == name)
        if found["card"] is not None:
            return dict(found["card"])
        time.sleep(0.05)
    raise AssertionError("the file was not read")


@pytest.fixture
def session(asking: Asking, request: pytest.FixtureRequest) -> str:
    made = asking.made(request.node.name[:40])
    asking.edit(made, {"do": "add", "at": "build", "value": {"name": "A", "baseline": True}},
                {"do": "add", "at": "build", "value": {"name": "B"}})  # fmt: skip
    return made


def test_a_file_is_stored_byte_for_byte_and_read(asking: Asking, session: str) -> None:
    answer = asking.send(session, "run 1.csv", PULL)
    assert answer.status_code == 201
    name = answer.json()["name"]
    assert name.startswith("pulls/")
    folder = next(path for path in asking.root.iterdir() if (path / name).is_file())
    assert (folder / name).read_bytes() == PULL
    read = card(asking, session, name)
    assert [pull["which"] for pull in read["pulls"]] == [1]
    assert {channel["channel"] for channel in read["tables"][0]["channels"]} >= {"speed", "torque", "throttle"}


def test_the_same_file_again_is_not_stored_again(asking: Asking, session: str) -> None:
    first = asking.send(session, "a.csv", PULL).json()
    again = asking.send(session, "b.csv", PULL).json()
    assert not first["already"]
    assert again["already"]
    assert again["name"] == first["name"]


def test_a_pull_of_a_build_becomes_a_line_of_the_run_order(asking: Asking, session: str) -> None:
    name = asking.send(session, "a.csv", PULL).json()["name"]
    answer = asking.post(f"/api/sessions/{session}/assign", {"file": name, "build": "B"})
    assert answer.status_code == 200, answer.text
    assert tomllib.loads(asking.text(session))["pull"] == [{"build": "B", "file": name}]
    again = asking.post(f"/api/sessions/{session}/assign", {"file": name, "build": "A"})
    assert again.status_code == 422
    assert "already" in again.json()["what"]


def test_a_pull_of_a_build_that_is_not_there_is_refused(asking: Asking, session: str) -> None:
    name = asking.send(session, "a.csv", PULL).json()["name"]
    before = asking.text(session)
    answer = asking.post(f"/api/sessions/{session}/assign", {"file": name, "build": "Z"})
    assert answer.status_code == 422
    assert asking.text(session) == before


def test_a_doubtful_column_is_settled_by_choosing_and_remembered_for_files_of_that_layout(
    asking: Asking, session: str
) -> None:
    name = asking.send(session, "a.csv", DOUBTFUL).json()["name"]
    asked = card(asking, session, name)
    assert asked["pulls"] == []
    choices = [choice for question in asked["questions"] for choice in question["choices"]]
    chosen = next(choice for choice in choices if choice["column"] == "Torque 2")
    refused = asking.post(f"/api/sessions/{session}/assign", {"file": name, "build": "A"})
    assert refused.status_code == 422
    answer = asking.post(f"/api/sessions/{session}/settle", {"file": name, "columns": chosen["columns"]})
    assert answer.status_code == 200, answer.text
    settled = card(asking, session, name)
    assert settled["already"]["torque"]["column"] == "Torque 2"
    assert asking.post(f"/api/sessions/{session}/assign", {"file": name, "build": "A"}).status_code == 200
    # The session needs no memory: the choice stands in its file.
    assert tomllib.loads(asking.text(session))["pull"][0]["columns"]["torque"] == {"column": "Torque 2", "unit": "N m"}
    # Another file of the layout is read at once.
    other = asking.send(session, "b.csv", DOUBTFUL.replace(b"100.0", b"99.5", 1)).json()["name"]
    assert len(card(asking, session, other)["pulls"]) == 1


def test_a_choice_of_a_file_in_the_run_order_is_written_into_its_line_alone(asking: Asking, session: str) -> None:
    content = PULL.replace(b"Torque [Nm]", b"Torque one [Nm]").replace(b"Throttle [%]", b"Torque two [Nm]")
    name = asking.send(session, "c.csv", content).json()["name"]
    asking.edit(session, {"do": "add", "at": "pull", "value": {"build": "A", "file": name}})
    rules = {"torque": {"column": "Torque one", "unit": "N m"}}
    answer = asking.post(f"/api/sessions/{session}/settle", {"file": name, "columns": rules, "remember": False})
    assert answer.status_code == 200, answer.text
    assert tomllib.loads(asking.text(session))["pull"][0]["columns"] == rules
    other = asking.send(session, "d.csv", content.replace(b"100.0", b"99.0", 1)).json()["name"]
    assert card(asking, session, other)["already"] == {}


@pytest.mark.parametrize("name", ["../../evil.csv", "/etc/passwd", "C:\\temp\\a.csv", "a\x00b.csv", "x" * 400, "."])
def test_no_name_of_a_file_leads_out_of_the_pulls(asking: Asking, session: str, name: str) -> None:
    content = PULL + f"# {name!r}\n".encode()
    stored = asking.send(session, name, content).json()["name"]
    listed = asking.get("/api/sessions").json()["sessions"]
    folder = asking.root / next(one["name"] for one in listed if one["id"] == session)
    assert stored.count("/") == 1
    assert (folder / stored).resolve().parent == (folder / "pulls").resolve()
    assert {path.name for path in asking.root.parent.iterdir()} <= {"cache", "config", "sessions"}


def test_an_empty_file_is_refused_and_nothing_is_left(asking: Asking, session: str) -> None:
    answer = asking.send(session, "a.csv", b"")
    assert answer.status_code == 422
    assert "empty" in answer.json()["what"]
    assert asking.get(f"/api/sessions/{session}/files").json()["files"] == []


def test_a_file_that_the_session_does_not_have_is_told(asking: Asking, session: str) -> None:
    answer = asking.post(f"/api/sessions/{session}/assign", {"file": "pulls/none.csv", "build": "A"})
    assert answer.status_code == 404
    assert answer.json()["where"] == "file"


def test_an_answer_that_was_wrong_can_be_asked_for_again(asking: Asking, session: str) -> None:
    name = asking.send(session, "again.csv", DOUBTFUL.replace(b"Torque 1", b"Torque 3")).json()["name"]
    choice = card(asking, session, name)["questions"][0]["choices"][0]["columns"]
    asking.post(f"/api/sessions/{session}/settle", {"file": name, "columns": choice})
    assert card(asking, session, name)["already"] == choice
    answer = asking.post(f"/api/sessions/{session}/ask-again", {"file": name})
    assert answer.status_code == 200
    assert card(asking, session, name)["questions"]


def test_a_file_that_was_sent_by_mistake_is_put_aside_and_one_in_the_run_order_is_not(
    asking: Asking, session: str
) -> None:
    name = asking.send(session, "wrong.csv", PULL + b"16,6500,150,100\n").json()["name"]
    card(asking, session, name)
    answer = asking.post(f"/api/sessions/{session}/put-aside", {"file": name})
    assert answer.json() == {"kept": ".pullbook/removed/wrong.csv"}
    assert asking.get(f"/api/sessions/{session}/files").json()["files"] == []
    again = asking.send(session, "wrong.csv", PULL + b"16,6500,150,100\n").json()
    assert not again["already"]
    asking.post(f"/api/sessions/{session}/assign", {"file": again["name"], "build": "A"})
    refused = asking.post(f"/api/sessions/{session}/put-aside", {"file": again["name"]})
    assert (refused.status_code, refused.json()["remedy"]) == (422, "take them out of the run order first")
    gone = asking.post(f"/api/sessions/{session}/put-aside", {"file": "../secret"})
    assert gone.status_code == 422
