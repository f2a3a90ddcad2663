"""Routes about planning: they give what the command gives, and write only what somebody takes or looks at."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from plan_cases import PLAIN
from planned_web import ASKED, TERMS, begin_run, over, section, text_of, write_builds
from session_folder import pull_text

from pullbook.cli.main import app

if TYPE_CHECKING:
    from pathlib import Path

    from unit_web import Asking


@pytest.fixture
def own(asking: Asking) -> tuple[str, Path]:
    """A session of a test's own with two builds and no pulls, and its folder."""
    return write_builds(asking, f"planned-{sum(1 for _ in asking.root.iterdir())}")


@pytest.fixture(scope="module")
def shared(asking: Asking) -> tuple[str, Path]:
    """One for tests that leave its file as it is, so that it is planned once."""
    return write_builds(asking, "shared")


def planned(asking: Asking, session: str) -> dict[str, Any]:
    """What a plan begins with, when it is made."""
    begun: dict[str, Any] = asking.post(f"/api/sessions/{session}/plan", ASKED).json()
    assert over(asking, begun["job"])["state"] == "done", begun
    return begun


def test_a_plan_is_that_of_the_command_byte_for_byte(asking: Asking, shared: tuple[str, Path], tmp_path: Path) -> None:
    session, folder = shared
    options = ["--resolve", ASKED["resolve"], "--within", ASKED["within"]]
    app(args=["plan", str(folder), *options, "--json", str(tmp_path / "plan.json")], standalone_mode=False)
    answer = asking.client.get(f"/api/sessions/{session}/plan", params=ASKED)
    assert answer.content == (tmp_path / "plan.json").read_bytes()
    assert text_of(folder) == PLAIN + TERMS


def test_the_page_shows_what_was_planned_and_a_reload_the_same(asking: Asking, shared: tuple[str, Path]) -> None:
    session, _ = shared
    planned(asking, session)
    plan = asking.client.get(f"/api/sessions/{session}/plan", params=ASKED).json()
    page = section(asking, session, "plan")
    orders = [", ".join(f"{step['build']} {step['pulls']}" for step in offer["steps"]) for offer in plan["offers"]]
    shown = page.replace("\u00a0", " ")  # a build and its pulls stay on one line
    for words in (*orders, plan["assumptions"][0].split("(")[0], ASKED["resolve"]):
        assert words in shown
    assert page.count("Take this order<") == len(plan["offers"])
    assert section(asking, session, "plan") == page


def test_the_run_sheet_of_an_offer_is_a_page_of_its_own(asking: Asking, shared: tuple[str, Path]) -> None:
    session, _ = shared
    key = planned(asking, session)["key"]
    sheet = asking.get(f"/s/{session}/run-sheet/{key}/1?units=us")
    assert "Run order" in sheet.text
    assert "pulls/01-" in sheet.text
    assert "Air temperature, °F" in sheet.text
    assert "Air temperature, °C" in asking.get(f"/s/{session}/run-sheet/{key}/1").text
    assert sheet.headers["content-security-policy"] == asking.get("/").headers["content-security-policy"]
    for wrong in (f"{key}/9", f"{'0' * 64}/1", "..%2f..%2fsession/1"):
        assert asking.get(f"/s/{session}/run-sheet/{wrong}").status_code == 404


def test_an_order_that_is_taken_is_written_into_the_session_and_the_plan_stays_on_the_page(
    asking: Asking, own: tuple[str, Path]
) -> None:
    session, folder = own
    planned(asking, session)
    plan = asking.client.get(f"/api/sessions/{session}/plan", params=ASKED).json()
    revision = asking.get(f"/api/sessions/{session}").json()["revision"]
    answer = asking.post(f"/api/sessions/{session}/take-order", {**ASKED, "offer": "surest", "revision": revision})
    assert answer.status_code == 200, answer.text
    offer = plan["offers"][-1]
    wanted = [step["build"] for step in offer["steps"] for _ in range(step["pulls"])]
    assert [pull["build"] for pull in tomllib.loads(text_of(folder))["pull"]] == wanted
    assert "# Fitting 1:" in text_of(folder)
    assert text_of(folder).startswith(PLAIN)
    page = asking.get(f"/s/{session}").text
    assert "This is the run order now" in page
    assert "Without a file yet: 01-" in page
    assert "There is no such file" not in page
    # Another one takes its place, and the first one again leaves the file as it was.
    text = text_of(folder)
    for name in ("cheapest", "surest"):
        revision = asking.get(f"/api/sessions/{session}").json()["revision"]
        body = {**ASKED, "offer": name, "revision": revision}
        assert asking.post(f"/api/sessions/{session}/take-order", body).status_code == 200
    assert text_of(folder) == text


def test_an_order_is_not_taken_where_the_session_is_another_by_now(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    planned(asking, session)
    revision = asking.get(f"/api/sessions/{session}").json()["revision"]
    body = {**ASKED, "revision": revision}
    wrong = asking.post(f"/api/sessions/{session}/take-order", {**body, "offer": "dearest"})
    assert (wrong.status_code, wrong.json()["where"]) == (422, "offer")
    (folder / "session.toml").write_text("# mine\n" + PLAIN + TERMS, encoding="utf-8")
    stale = asking.post(f"/api/sessions/{session}/take-order", body)
    assert (stale.status_code, stale.json()["theirs"]) == (409, "# mine\n" + PLAIN + TERMS)
    (folder / "session.toml").write_text(PLAIN + TERMS.replace("180", "90"), encoding="utf-8")
    other = asking.post(f"/api/sessions/{session}/take-order", body)
    assert (other.status_code, other.json()["remedy"]) == (404, "plan it first")
    assert text_of(folder) == PLAIN + TERMS.replace("180", "90")


def test_no_order_is_taken_once_a_pull_has_been_made(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    begin_run(folder, made=1)
    text = text_of(folder)
    planned(asking, session)
    revision = asking.get(f"/api/sessions/{session}").json()["revision"]
    answer = asking.post(f"/api/sessions/{session}/take-order", {**ASKED, "revision": revision})
    assert answer.status_code == 422
    assert "were made already" in answer.json()["what"]
    assert text_of(folder) == text
    page = asking.get(f"/s/{session}").text
    assert 'id="plan"' not in page
    assert 'id="what-next"' in page


def test_a_file_of_the_name_of_a_planned_pull_is_not_taken_for_it(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    planned(asking, session)
    plan = asking.client.get(f"/api/sessions/{session}/plan", params=ASKED).json()
    name = f"01-{plan['offers'][0]['steps'][0]['build']}.csv"
    (folder / "pulls").mkdir()
    (folder / "pulls" / name).write_text("mine", encoding="utf-8")
    revision = asking.get(f"/api/sessions/{session}").json()["revision"]
    answer = asking.post(f"/api/sessions/{session}/take-order", {**ASKED, "revision": revision})
    assert (answer.status_code, answer.json()["where"]) == (422, f"pulls/{name}")
    assert text_of(folder) == PLAIN + TERMS


def test_a_file_of_any_name_takes_the_next_planned_line_of_its_build(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    begin_run(folder, made=3)
    rng = np.random.default_rng(13)
    taken = []
    for name in ("later today.csv", "the last one.csv", "one more.csv"):
        stored = asking.send(session, name, pull_text(rng).encode()).json()["name"]
        answer = asking.post(f"/api/sessions/{session}/assign", {"file": stored, "build": "B"})
        assert answer.status_code == 200, answer.text
        taken.append(stored)
    run = tomllib.loads(text_of(folder))["pull"]
    assert [pull["build"] for pull in run] == ["A", "A", "B", "B", "A", "B", "B"]  # the third has no line: it is added
    assert [run[place]["file"] for place in (3, 5, 6)] == taken
    assert run[4]["file"] == "pulls/a3.csv"
    assert run[3]["air"]["pressure"] == "99.0 kPa"


def test_a_file_with_the_name_on_the_run_sheet_finds_its_line_wherever_it_is_dropped(
    asking: Asking, own: tuple[str, Path]
) -> None:
    session, folder = own
    begin_run(folder, made=0)
    text = text_of(folder)
    for name, build in (("b1.csv", "B"), ("a2.csv", "")):
        stored = asking.send(session, name, pull_text(np.random.default_rng(len(name + build))).encode()).json()["name"]
        assert stored == f"pulls/{name}"
        if build:
            assert asking.post(f"/api/sessions/{session}/assign", {"file": stored, "build": build}).status_code == 200
    wrong = asking.post(f"/api/sessions/{session}/assign", {"file": "pulls/b1.csv", "build": "A"})
    assert (wrong.status_code, wrong.json()["remedy"]) == (422, "change its build in the run order")
    assert text_of(folder) == text


@pytest.mark.parametrize(
    ("asked", "where"),
    [
        ({"resolve": "6"}, "resolve"),
        ({"resolve": "6 N m over 1000..1500 rpm"}, "resolve"),
        ({"within": "soon"}, "within"),
        ({"odds": 20}, "odds"),
        ({"odds": "many"}, "body.odds"),
        ({"resolve": "2 %", "of": "Z"}, "of"),
        ({"of": "B"}, "of"),
    ],
)
def test_what_cannot_be_meant_is_refused_before_any_work_and_named_as_the_page_names_it(
    asking: Asking, own: tuple[str, Path], asked: dict[str, object], where: str
) -> None:
    session, folder = own
    answer = asking.post(f"/api/sessions/{session}/plan", asked)
    assert (answer.status_code, answer.json()["where"]) == (422, where)
    assert "--" not in answer.text
    assert not (folder / ".pullbook" / "plan.json").exists()


def test_newton_metres_without_a_torque_are_refused_with_the_field_that_is_missing(
    asking: Asking, own: tuple[str, Path]
) -> None:
    session, folder = own
    (folder / "session.toml").write_text(PLAIN, encoding="utf-8")
    mistake = asking.post(f"/api/sessions/{session}/plan", ASKED).json()
    assert mistake["where"] == "resolve"
    assert "Mean torque" in mistake["remedy"]
    assert asking.edit(session, {"do": "set", "at": "plan.mean_torque", "value": "180 N m"}).status_code == 200
    assert asking.post(f"/api/sessions/{session}/plan", ASKED).status_code == 202
