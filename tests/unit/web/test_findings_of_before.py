"""While a new comparison is made the page shows the one before, marked; what was drawn up before is not made public."""

from __future__ import annotations

import re
import time
from typing import TYPE_CHECKING, Final

import pytest
from starlette.testclient import TestClient
from unit_web import Asking, write_session

from pullbook.web.application import make_app
from pullbook.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

_PATIENCE: Final = 60.0  # s


def session_of(asking: Asking, folder: Path) -> str:
    """Id of a session that is compared already, and was shown so."""
    listed = asking.get("/api/sessions").json()["sessions"]
    session = next(str(one["id"]) for one in listed if one["name"] == folder.name)
    assert asking.get(f"/api/sessions/{session}/findings").status_code == 200
    assert shown(asking.get(f"/s/{session}").text) == "now"
    return session


@pytest.fixture
def folder(asking: Asking, request: pytest.FixtureRequest) -> Path:
    """A session of a test's own; no other has the same content."""
    made = write_session(asking.root, request.node.name[5:70])
    change(made, "title = ", f"notes = {made.name!r}\ntitle = ")
    return made


def change(folder: Path, old: str, new: str) -> None:
    path = folder / "session.toml"
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")


def shown(page: str) -> str:
    found = re.search(r'data-shown="(\w*)"', page)
    assert found is not None
    return found[1]


def key_of(page: str) -> str:
    found = re.search(r'data-key="(\w*)"', page)
    assert found is not None
    return found[1]


def said(page: str) -> str:
    """The line at the head of the findings, as text; empty where there is none."""
    found = re.search(r'<section id="findings-pending" class="before".*?</section>', page, re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", found[0])) if found else ""


def until(asking: Asking, session: str, wanted: str) -> str:
    begun = time.monotonic()
    while time.monotonic() - begun < _PATIENCE:
        page = asking.get(f"/s/{session}").text
        if shown(page) == wanted:
            return page
        time.sleep(0.05)
    raise AssertionError(f"the page did not come to show {wanted}")


def test_the_findings_of_before_stay_on_the_page_and_are_marked_until_the_new_ones_are_there(
    asking: Asking, folder: Path
) -> None:
    session = session_of(asking, folder)
    before = asking.get(f"/s/{session}").text
    change(folder, "title = ", 'question = "Is it the header?"\ntitle = ')
    page = asking.get(f"/s/{session}").text
    assert shown(page) == "before"
    assert key_of(page) == key_of(before)
    assert 'id="curves"' in page
    assert "Changed since then: the question . They are being computed anew." in said(page)
    assert "<progress" in page
    assert "data-cancel" in page
    assert "before: in the findings" in page, "the run sheet says of when its judgement is"
    after = until(asking, session, "now")
    assert key_of(after) != key_of(before)
    assert said(after) == ""
    assert "before: in the findings" not in after


def test_a_page_without_an_earlier_comparison_shows_none(asking: Asking, folder: Path) -> None:
    listed = asking.get("/api/sessions").json()["sessions"]
    session = next(one["id"] for one in listed if one["name"] == folder.name)
    page = asking.get(f"/s/{session}").text
    assert shown(page) == "none"
    assert said(page) == ""
    assert 'id="findings-pending"' in page
    until(asking, session, "now")


def test_what_was_compared_for_the_list_alone_is_known_as_the_one_before(asking: Asking, folder: Path) -> None:
    def line() -> dict[str, object]:
        listed = asking.get("/api/sessions").json()["sessions"]
        return dict(next(one for one in listed if one["name"] == folder.name))

    begun = time.monotonic()
    while line()["open"] == "being compared":
        assert time.monotonic() - begun < _PATIENCE
        time.sleep(0.05)
    change(folder, "title = ", 'question = "Was it?"\ntitle = ')
    assert shown(asking.get(f"/s/{line()['id']}").text) == "before"


def test_a_page_that_is_opened_after_a_new_start_shows_the_one_before_as_well(asking: Asking, folder: Path) -> None:
    session = session_of(asking, folder)
    change(folder, "title = ", 'question = "And now?"\ntitle = ')
    settings = Settings(root=asking.root, port=8420)
    headers = {"X-Pullbook-Token": settings.token}
    with TestClient(make_app(settings), base_url="http://127.0.0.1:8420", headers=headers) as client:
        page = client.get(f"/s/{session}").text
    assert shown(page) == "before"
    assert "the question" in said(page)


def test_a_refused_comparison_says_why_and_takes_the_findings_of_before_away(asking: Asking, folder: Path) -> None:
    session = session_of(asking, folder)
    path = folder / "session.toml"
    lines = path.read_text("utf-8").splitlines()
    path.write_text("\n".join(line for line in lines if not line.startswith("air")) + "\n", "utf-8")
    page = until(asking, session, "none")
    assert "of the inlet air is not known" in page
    assert 'id="curves"' not in page
    assert "before: in the findings" not in page


def test_after_a_stop_the_findings_of_before_stay_and_say_that_there_are_no_others(
    asking: Asking, folder: Path
) -> None:
    session = session_of(asking, folder)
    change(folder, "title = ", 'question = "Stopped?"\ntitle = ')
    page = asking.get(f"/s/{session}").text
    job = re.search(r'data-cancel="(\w+)"', page)
    assert job is not None
    asking.client.delete(f"/api/jobs/{job[1]}")
    begun = time.monotonic()
    while asking.get(f"/api/jobs/{job[1]}").json()["state"] != "cancelled":
        assert time.monotonic() - begun < _PATIENCE
        time.sleep(0.02)
    page = asking.get(f"/s/{session}").text
    assert shown(page) == "before"
    assert "of the session as it stands there are none" in said(page)
    assert "data-retry" in page


def test_what_a_page_shows_stays_when_another_question_is_asked_and_a_new_page_shows_nothing_of_it(
    asking: Asking, folder: Path
) -> None:
    session = session_of(asking, folder)
    key = key_of(asking.get(f"/s/{session}").text)
    assert shown(asking.get(f"/s/{session}?standard=ISO+1585").text) == "none"
    page = asking.client.get(f"/s/{session}?units=us", headers={"X-Pullbook-Shown": key}).text
    assert shown(page) == "before"
    assert key_of(page) == key
    assert "Changed since then: the units ." in said(page)


def test_a_page_never_shows_the_findings_of_another_session(asking: Asking, folder: Path) -> None:
    key = key_of(asking.get(f"/s/{session_of(asking, folder)}").text)
    other = write_session(asking.root, "another session")
    change(other, "title = ", "notes = 'another'\ntitle = ")
    session = next(one["id"] for one in asking.get("/api/sessions").json()["sessions"] if one["name"] == other.name)
    for said_key in (key, "0" * 64, "no key", "../" + key):
        page = asking.client.get(f"/s/{session}", headers={"X-Pullbook-Shown": said_key}).text
        assert key_of(page) != key
        assert said(page) == ""


def test_a_report_that_is_not_of_the_session_as_it_stands_is_not_published(asking: Asking, folder: Path) -> None:
    session = session_of(asking, folder)
    drawn(asking, session)
    assert "What will be public" in asking.get(f"/s/{session}").text
    assert asking.post(f"/api/sessions/{session}/publish?standard=ISO+1585", {}).status_code == 422
    change(folder, "title = ", 'question = "Does it pay?"\ntitle = ')
    page = asking.get(f"/s/{session}").text
    assert "Draw it up again to publish it" in page
    assert "data-publish" not in page
    refused = asking.post(f"/api/sessions/{session}/publish", {})
    assert refused.status_code == 422
    assert "has changed since the report was drawn up" in refused.json()["what"]
    assert "draw it up again" in refused.json()["remedy"]
    assert not (folder / "report").exists()
    drawn(asking, session)
    assert "data-publish" in until(asking, session, "now")
    assert asking.post(f"/api/sessions/{session}/publish", {}).status_code == 200
    assert "Does it pay?" in (folder / "report" / "report.html").read_text("utf-8")


def drawn(asking: Asking, session: str) -> None:
    job = asking.post(f"/api/sessions/{session}/report", {"quick": True}).json()["job"]["id"]
    begun = time.monotonic()
    while (state := asking.get(f"/api/jobs/{job}").json()["state"]) in {"waiting", "running"}:
        assert time.monotonic() - begun < _PATIENCE
        time.sleep(0.05)
    assert state == "done"
