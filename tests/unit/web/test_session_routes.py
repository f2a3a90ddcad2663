"""Routes about sessions: the list, a new one, changes by places and as a whole, conflicts."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

import pytest
from unit_web import write_session

if TYPE_CHECKING:
    from unit_web import Asking


def test_a_new_session_is_a_file_that_a_person_could_have_written(asking: Asking) -> None:
    answer = asking.post("/api/sessions", {"title": "Länge der Rohre", "question": "Which?"})
    assert answer.status_code == 201
    name = answer.json()["name"]
    assert name == "lange-der-rohre"
    said = tomllib.loads((asking.root / name / "session.toml").read_text("utf-8"))
    assert said["session"]["title"] == "Länge der Rohre"
    assert said["session"]["question"] == "Which?"


def test_two_sessions_of_one_title_have_two_folders(asking: Asking) -> None:
    names = [asking.post("/api/sessions", {"title": "Same"}).json()["name"] for _ in range(2)]
    assert names == ["same", "same-2"]


def test_a_session_without_a_title_is_refused_and_no_folder_is_made(asking: Asking) -> None:
    before = sorted(asking.root.iterdir())
    answer = asking.post("/api/sessions", {"title": "  "})
    assert answer.status_code == 422
    assert answer.json()["where"].endswith("title")
    assert sorted(asking.root.iterdir()) == before


def test_the_list_tells_builds_pulls_and_what_stands_in_the_way(asking: Asking) -> None:
    session = asking.made("Listed")
    line = next(one for one in asking.get("/api/sessions").json()["sessions"] if one["id"] == session)
    assert (line["title"], line["builds"], line["pulls"], line["tone"]) == ("Listed", 0, 0, "open")
    assert line["open"]


def test_a_long_list_leads_to_what_stands_below_it(asking: Asking) -> None:
    ways = 'Below the table: <a href="#tested">'
    for number in range(9):
        asking.made(f"Another {number}")
    page = asking.get("/").text
    assert page.index(ways) < page.index("<table") < page.index('id="tested"') < page.index('id="new"')


def test_edits_build_a_session_up_and_the_answer_says_what_is_missing(asking: Asking) -> None:
    session = asking.made("Built up")
    answer = asking.edit(
        session,
        {"do": "add", "at": "factor", "value": {"name": "header", "levels": ["4-1", "4-2-1"]}},
        {"do": "add", "at": "build", "value": {"name": "A", "baseline": True, "levels": {"header": "4-1"}}},
        {"do": "add", "at": "build", "value": {"name": "B", "levels": {"header": "4-2-1"}}},
        {"do": "set", "at": "session.date", "value": "2026-05-04"},
    )
    assert answer.status_code == 200, answer.text
    body = answer.json()
    assert not body["finished"]
    assert all(problem["unfinished"] for problem in body["problems"])
    assert "date = 2026-05-04" in asking.text(session)
    assert [build["name"] for build in body["values"]["build"]] == ["A", "B"]


def test_a_wrong_value_is_refused_with_its_place_and_changes_nothing(asking: Asking) -> None:
    session = asking.made("Wrong value")
    before = asking.text(session)
    answer = asking.edit(session, {"do": "set", "at": "session.inertia", "value": "0.2"})
    assert answer.status_code == 422
    assert answer.json()["where"].endswith("session.inertia")
    assert answer.json()["remedy"]
    assert asking.text(session) == before


def test_one_wrong_edit_of_several_undoes_them_all(asking: Asking) -> None:
    session = asking.made("All or none")
    before = asking.text(session)
    edits = [
        {"do": "set", "at": "session.notes", "value": "kept?"},
        {"do": "set", "at": "session.standard", "value": "no such standard"},
    ]
    assert asking.edit(session, *edits).status_code == 422
    assert asking.text(session) == before


def test_a_place_that_somebody_else_changed_is_a_conflict_that_shows_both_versions(asking: Asking) -> None:
    session = asking.made("Conflict")
    asking.edit(session, {"do": "set", "at": "session.notes", "value": "of the other tab"})
    answer = asking.edit(session, {"do": "set", "at": "session.notes", "value": "mine", "was": None, "knows_was": True})
    assert answer.status_code == 409
    assert "mine" in answer.json()["yours"]
    assert "other tab" in answer.json()["theirs"]
    assert "of the other tab" in asking.text(session)


def test_other_places_that_somebody_changed_are_no_conflict(asking: Asking) -> None:
    session = asking.made("Merge")
    asking.edit(session, {"do": "set", "at": "session.notes", "value": "of the other tab"})
    answer = asking.edit(
        session, {"do": "set", "at": "session.question", "value": "mine", "was": None, "knows_was": True}
    )
    assert answer.status_code == 200
    assert answer.json()["values"]["session"]["notes"] == "of the other tab"


def test_a_place_that_moved_on_meanwhile_is_followed_or_refused_never_mistaken(asking: Asking) -> None:
    session = asking.made("Moved on")
    asking.edit(session, *({"do": "add", "at": "build", "value": {"name": name}} for name in "ABC"))
    seen = asking.get(f"/api/sessions/{session}").json()["revision"]
    asking.edit(session, {"do": "remove", "at": "build[1]"})
    edit = {"do": "set", "at": "build[3].label", "value": "the third"}
    asking.post(f"/api/sessions/{session}/edits", {"edits": [edit], "revision": seen})
    labels = {one["name"]: one.get("label") for one in asking.get(f"/api/sessions/{session}").json()["values"]["build"]}
    assert labels["B"] is None
    assert labels["C"] in {None, "the third"}


def test_the_whole_file_is_written_only_over_the_revision_that_was_edited(asking: Asking) -> None:
    session = asking.made("Whole file")
    first = asking.get(f"/api/sessions/{session}").json()
    asking.edit(session, {"do": "set", "at": "session.notes", "value": "meanwhile"})
    path = f"/api/sessions/{session}/text"
    stale = asking.client.put(path, json={"text": first["text"] + "# mine\n", "revision": first["revision"]})
    assert stale.status_code == 409
    assert "# mine" in stale.json()["yours"]
    assert "meanwhile" in stale.json()["theirs"]
    now = asking.get(f"/api/sessions/{session}").json()
    done = asking.client.put(path, json={"text": now["text"] + "# mine\n", "revision": now["revision"]})
    assert done.status_code == 200
    assert asking.text(session).endswith("# mine\n")


def test_a_session_that_is_not_there_is_told_and_a_page_says_it_in_words(asking: Asking) -> None:
    answer = asking.get("/api/sessions/none-00000000")
    assert answer.status_code == 404
    assert set(answer.json()) == {"what", "where", "value", "remedy"}
    page = asking.client.get("/s/none-00000000", headers={"Accept": "text/html"})
    assert page.status_code == 404
    assert "there is no such session" in page.text.lower()


def test_the_demo_is_written_once_and_stays_as_it_was_changed(asking: Asking) -> None:
    first = asking.post("/api/demo", {}).json()
    file = asking.root / first["name"] / "session.toml"
    file.write_text(file.read_text("utf-8") + "# mine\n", "utf-8")
    assert asking.post("/api/demo", {}).json() == first
    assert file.read_text("utf-8").endswith("# mine\n")


@pytest.mark.parametrize("body", [{}, {"title": 3}, {"title": "x", "more": 1}, [], {"title": "x" * 301}])
def test_a_body_of_another_form_is_refused_in_the_one_form_of_mistakes(asking: Asking, body: object) -> None:
    answer = asking.post("/api/sessions", body)
    assert answer.status_code == 422
    assert set(answer.json()) == {"what", "where", "value", "remedy"}


def test_a_folder_that_vanishes_is_told_in_one_sentence(asking: Asking) -> None:
    folder = write_session(asking.root, "vanishing")
    session = next(one["id"] for one in asking.get("/api/sessions").json()["sessions"] if one["name"] == "vanishing")
    folder.rename(folder.with_name("elsewhere"))
    answer = asking.edit(session, {"do": "set", "at": "session.notes", "value": "late"})
    assert answer.status_code == 404
    assert "renamed or moved" in answer.json()["remedy"]


def test_a_page_has_the_units_of_the_last_choice_unless_its_address_names_others(asking: Asking) -> None:
    session = asking.made("Units")
    headers = {"Cookie": "pullbook_units=us"}
    assert 'data-system="us"' in asking.client.get(f"/s/{session}", headers=headers).text
    assert 'data-system="metric"' in asking.client.get(f"/s/{session}?units=metric", headers=headers).text
    assert 'data-system="metric"' in asking.client.get(f"/s/{session}", headers={"Cookie": "pullbook_units=x"}).text
