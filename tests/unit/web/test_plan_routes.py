"""Routes about planning: they give what the command gives, and write only what somebody takes or looks at."""

from __future__ import annotations

import time
import tomllib
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from plan_cases import PLAIN
from session_folder import pull_text

from pullbook.cli.main import app

if TYPE_CHECKING:
    from pathlib import Path

    from unit_web import Asking

TERMS = '\n[plan]\nmean_torque = "180 N m"\n'
ASKED = {"resolve": "6 N m over 2500..3500 rpm", "within": "5 h"}
AIR = 'air = { temperature = "22.0 degC", pressure = "99.0 kPa", humidity = "45 %" }\n'
RUN = (("A", "a1"), ("A", "a2"), ("B", "b1"), ("B", "b2"), ("A", "a3"), ("B", "b3"))


@pytest.fixture
def own(asking: Asking) -> tuple[str, Path]:
    """A session of a test's own with two builds and no pulls, and its folder."""
    folder = asking.root / f"planned-{sum(1 for _ in asking.root.iterdir())}"
    folder.mkdir()
    (folder / "session.toml").write_text(PLAIN + TERMS, encoding="utf-8")
    return found(asking, folder), folder


@pytest.fixture(scope="module")
def shared(asking: Asking) -> tuple[str, Path]:
    """One for tests that leave its file as it is, so that it is planned once."""
    folder = asking.root / "shared"
    folder.mkdir()
    (folder / "session.toml").write_text(PLAIN + TERMS, encoding="utf-8")
    return found(asking, folder), folder


def found(asking: Asking, folder: Path) -> str:
    sessions = asking.get("/api/sessions").json()["sessions"]
    return str(next(one["id"] for one in sessions if one["name"] == folder.name))


def begin_run(folder: Path, made: int) -> None:
    """Plan six pulls, of which the first ones have files."""
    rng = np.random.default_rng(11)
    lines = "".join(f'\n[[pull]]\nbuild = "{build}"\nfile = "pulls/{name}.csv"\n{AIR}' for build, name in RUN)
    (folder / "session.toml").write_text(PLAIN + TERMS + lines, encoding="utf-8")
    (folder / "pulls").mkdir(exist_ok=True)
    for build, name in RUN[:made]:
        text = pull_text(rng, gain=9.0 if build == "B" else 0.0)
        (folder / "pulls" / f"{name}.csv").write_text(text, encoding="utf-8")


def over(asking: Asking, job: dict[str, Any]) -> dict[str, Any]:
    """The job when it is over."""
    until = time.monotonic() + 120
    while time.monotonic() < until:
        now: dict[str, Any] = asking.get(f"/api/jobs/{job['id']}").json()
        if now["state"] not in {"waiting", "running"}:
            return now
        time.sleep(0.05)
    raise AssertionError("the job did not end")


def planned(asking: Asking, session: str) -> dict[str, Any]:
    """What a plan begins with, when it is made."""
    begun: dict[str, Any] = asking.post(f"/api/sessions/{session}/plan", ASKED).json()
    assert over(asking, begun["job"])["state"] == "done", begun
    return begun


def looked(asking: Asking, session: str) -> dict[str, Any]:
    """How a look that was asked for ended."""
    begun = asking.post(f"/api/sessions/{session}/next", {"resolve": ASKED["resolve"]})
    assert begun.status_code == 202, begun.text
    return over(asking, begun.json()["job"])


def section(asking: Asking, session: str, name: str) -> str:
    """One section of a page."""
    page = asking.get(f"/s/{session}").text
    return page[page.index(f'<section id="{name}"') :].partition("</section>")[0]


def text_of(folder: Path) -> str:
    return (folder / "session.toml").read_text(encoding="utf-8")


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
    for words in (*orders, plan["assumptions"][0].split("(")[0], ASKED["resolve"]):
        assert words in page
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


def test_a_look_is_that_of_the_command_and_is_written_into_the_session(
    asking: Asking, own: tuple[str, Path], tmp_path: Path
) -> None:
    session, folder = own
    begin_run(folder, made=4)
    address = f"/api/sessions/{session}/next"
    early = asking.client.get(address, params={"resolve": ASKED["resolve"]})
    assert (early.status_code, early.json()["remedy"]) == (404, "look first")
    assert "looks" not in text_of(folder)
    assert "A look is written into session.toml" in asking.get(f"/s/{session}").text
    assert looked(asking, session)["state"] == "done"
    assert tomllib.loads(text_of(folder))["plan"]["looks"] == ["4 of 6"]
    seen = asking.client.get(address, params={"resolve": ASKED["resolve"]})
    options = ["--next", "--resolve", ASKED["resolve"], "--json", str(tmp_path / "next.json")]
    app(args=["plan", str(folder), *options], standalone_mode=False)
    assert seen.content == (tmp_path / "next.json").read_bytes()
    assert tomllib.loads(text_of(folder))["plan"]["looks"] == ["4 of 6"]
    part = section(asking, session, "what-next")
    assert "4 of 6 planned pulls made" in part
    assert section(asking, session, "what-next") == part


def test_a_look_that_was_taken_out_of_the_file_is_written_again_and_another_pull_asks_for_another(
    asking: Asking, own: tuple[str, Path]
) -> None:
    session, folder = own
    begin_run(folder, made=4)
    text = text_of(folder)
    looked(asking, session)
    (folder / "session.toml").write_text(text, encoding="utf-8")
    assert "Look now" in asking.get(f"/s/{session}").text
    assert looked(asking, session)["state"] == "done"
    assert tomllib.loads(text_of(folder))["plan"]["looks"] == ["4 of 6"]
    rng = np.random.default_rng(12)
    (folder / "pulls" / "a3.csv").write_text(pull_text(rng), encoding="utf-8")
    assert "Look now" in asking.get(f"/s/{session}").text
    assert looked(asking, session)["state"] == "done"
    assert tomllib.loads(text_of(folder))["plan"]["looks"] == ["4 of 6", "5 of 6"]


def test_a_look_at_a_session_without_a_run_order_says_how_to_get_one(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    job = looked(asking, session)
    assert job["state"] == "failed"
    assert job["error"]["remedy"] == "press Take this order under a plan first"
    assert text_of(folder) == PLAIN + TERMS
