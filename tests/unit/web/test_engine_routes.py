"""Routes about the virtual engine: they give what the commands give, and run nothing that nobody asked for."""

from __future__ import annotations

import json
import time
from typing import TYPE_CHECKING, Any

import pytest
from unit_web import write_session

from pullbook.cli.main import app
from pullbook.engine.templates import template_text

if TYPE_CHECKING:
    from pathlib import Path

    from unit_web import Asking

SPEEDS = "3000:4000:1000"


@pytest.fixture(scope="module")
def session(asking: Asking) -> str:
    """A session with findings and two engine files that differ in one pipe."""
    folder = write_session(asking.root, "with-engines")
    (folder / "engines").mkdir()
    text = template_text("single")
    (folder / "engines" / "a.toml").write_text(text, encoding="utf-8")
    (folder / "engines" / "b.toml").write_text(_longer(text), encoding="utf-8")
    return _id(asking, "with-engines")


@pytest.fixture
def own(asking: Asking) -> tuple[str, Path]:
    """A session of a test's own, without engine files, and its folder."""
    name = f"own-{sum(1 for _ in asking.root.iterdir())}-"
    folder = write_session(asking.root, name)
    return _id(asking, name), folder


def _longer(text: str) -> str:
    line = next(line for line in text.splitlines() if line.startswith("name = "))
    return text.replace(line, 'name = "another single"', 1)


def _id(asking: Asking, name: str) -> str:
    sessions = asking.get("/api/sessions").json()["sessions"]
    return str(next(one["id"] for one in sessions if one["id"].startswith(name)))


def over(asking: Asking, job: dict[str, Any]) -> dict[str, Any]:
    """The job when it is over."""
    until = time.monotonic() + 180
    while time.monotonic() < until:
        now: dict[str, Any] = asking.get(f"/api/jobs/{job['id']}").json()
        if now["state"] not in {"waiting", "running"}:
            return now
        time.sleep(0.05)
    raise AssertionError("the job did not end")


def test_engine_files_are_listed_with_their_builds(asking: Asking, session: str) -> None:
    found = asking.get(f"/api/sessions/{session}/engine").json()
    assert [(one["file"], one["build"]) for one in found["engines"]] == [
        ("engines/a.toml", "A"),
        ("engines/b.toml", "B"),
    ]
    assert {one["name"] for one in found["examples"]} == {"inline-four", "v8-cross-plane", "single"}


def test_a_check_is_that_of_the_command(asking: Asking, session: str, tmp_path: Path) -> None:
    path = asking.root / "with-engines" / "engines" / "a.toml"
    app(args=["engine", "check", str(path), "--json", str(tmp_path / "check.json")], standalone_mode=False)
    answer = asking.get(f"/api/sessions/{session}/engine/engines-a/check")
    assert answer.content == (tmp_path / "check.json").read_bytes()


@pytest.mark.slow
def test_a_curve_is_run_when_it_is_asked_for_and_is_that_of_the_command(
    asking: Asking, session: str, tmp_path: Path
) -> None:
    path = asking.root / "with-engines" / "engines" / "a.toml"
    address = f"/api/sessions/{session}/engine/engines-a/simulation?rpm={SPEEDS}"
    early = asking.get(address)
    assert (early.status_code, early.json()["remedy"]) == (404, "run it first")
    body = {"engines": ["engines-a", "engines-b"], "rpm": SPEEDS}
    jobs = asking.post(f"/api/sessions/{session}/engine-runs", body).json()["jobs"]
    assert [over(asking, job)["state"] for job in jobs] == ["done", "done"]
    app(args=["simulate", str(path), "--rpm", SPEEDS, "--json", str(tmp_path / "s.json")], standalone_mode=False)
    assert asking.get(address).content == (tmp_path / "s.json").read_bytes()
    again = asking.post(f"/api/sessions/{session}/engine-runs", body).json()["jobs"]
    assert [job["state"] for job in again] == ["done", "done"]
    page = shown(asking, session, "chart-engine")
    assert "computed, not measured" in page
    assert "B\u2212A computed" in page
    assert asking.get(f"/api/sessions/{session}/engine").json()["asked"]["engines"] == ["engines-a", "engines-b"]


def shown(asking: Asking, session: str, wanted: str) -> str:
    """Page of a session when it has what is wanted."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        page = asking.get(f"/s/{session}").text
        if wanted in page:
            return page
        time.sleep(0.1)
    raise AssertionError(f"{wanted} is not on the page")


@pytest.mark.slow
def test_waves_are_drawn_at_one_speed_for_light_and_dark(asking: Asking, session: str) -> None:
    answer = asking.post(f"/api/sessions/{session}/engine/engines-a/waves", {"at_rpm": 4000})
    job = over(asking, answer.json()["job"])
    assert job["state"] == "done"
    for look in ("light", "dark"):
        picture = asking.get(f"/api/results/{job['key']}/waves-{look}.png")
        assert picture.headers["content-type"] == "image/png"
        assert picture.content[:4] == b"\x89PNG"
    page = shown(asking, session, "waves-light.png")
    assert "Waves that come to the exhaust port of cylinder 1" in page


def test_looking_at_a_page_runs_nothing(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    (folder / "engine.toml").write_text(template_text("single"), encoding="utf-8")
    (folder / ".pullbook").mkdir(exist_ok=True)
    (folder / ".pullbook" / "engine.json").write_text('{"engines": ["engine.toml"], "rpm": "2000:3000:500"}')
    page = asking.get(f"/s/{session}").text
    assert "engine.toml has not been computed as it stands now" in page
    assert "Check it and draw its pipes" in page


def test_a_session_without_engine_files_is_offered_one(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    page = asking.get(f"/s/{session}").text
    assert "data-engine-make" in page
    assert "data-engine-run" not in page
    made = asking.post(f"/api/sessions/{session}/engine", {"like": "inline-four"})
    assert (made.status_code, made.json()["file"]) == (201, "engine.toml")
    assert (folder / "engine.toml").read_text(encoding="utf-8") == template_text("inline-four")
    other = asking.post(f"/api/sessions/{session}/engine", {"like": "engine", "build": "B"})
    assert other.json()["file"] == "engines/b.toml"
    assert "data-engine-run" in asking.get(f"/s/{session}").text


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({"like": "inline-for"}, "--like"),
        ({"like": "single", "build": "Z"}, "build"),
        ({"like": "../engine"}, "--like"),
    ],
)
def test_an_engine_file_is_made_of_what_is_known_alone(
    asking: Asking, own: tuple[str, Path], body: dict[str, str], where: str
) -> None:
    session, folder = own
    answer = asking.post(f"/api/sessions/{session}/engine", body)
    assert (answer.status_code, answer.json()["where"]) == (422, where)
    assert not (folder / "engine.toml").exists()


def test_a_text_that_cannot_be_run_is_not_written(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    text = template_text("single")
    (folder / "engine.toml").write_text(text, encoding="utf-8")
    now = asking.get(f"/api/sessions/{session}/engine/engine").json()
    assert now["text"] == text
    wrong = text.replace("[engine]", "[engine]\nbananas = 3", 1)
    answer = _put(asking, session, wrong, now["revision"])
    assert answer.status_code == 422
    assert "bananas" in answer.text
    assert str(folder) not in answer.text
    assert (folder / "engine.toml").read_text(encoding="utf-8") == text


def test_a_sound_text_is_written_and_a_stale_one_is_not(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    text = template_text("single")
    (folder / "engine.toml").write_text(text, encoding="utf-8")
    revision = asking.get(f"/api/sessions/{session}/engine/engine").json()["revision"]
    done = _put(asking, session, "# mine\n" + text, revision)
    assert done.status_code == 200
    assert (folder / "engine.toml").read_text(encoding="utf-8") == "# mine\n" + text
    stale = _put(asking, session, "# other\n" + text, revision)
    assert stale.status_code == 409
    assert (stale.json()["yours"], stale.json()["theirs"]) == ("# other\n" + text, "# mine\n" + text)


def _put(asking: Asking, session: str, text: str, revision: str) -> Any:
    body = {"text": text, "revision": revision}
    return asking.client.put(f"/api/sessions/{session}/engine/engine", json=body)


def test_a_wrong_engine_file_is_refused_by_its_name_in_the_session(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    (folder / "engine.toml").write_text("[engine]\nbore = 3\n", encoding="utf-8")
    answer = asking.get(f"/api/sessions/{session}/engine/engine/check")
    assert answer.status_code == 422
    assert answer.json()["where"].startswith("engine.toml")
    assert str(asking.root) not in answer.text


@pytest.mark.parametrize("rpm", ["fast", "2000:6500:1", "100:3000:100", "nan"])
def test_speeds_that_cannot_be_run_are_refused_and_nothing_is_remembered(
    asking: Asking, own: tuple[str, Path], rpm: str
) -> None:
    session, folder = own
    (folder / "engine.toml").write_text(template_text("single"), encoding="utf-8")
    answer = asking.post(f"/api/sessions/{session}/engine-runs", {"engines": ["engine"], "rpm": rpm})
    assert (answer.status_code, answer.json()["where"]) == (422, "rpm")
    assert not (folder / ".pullbook" / "engine.json").exists()


@pytest.mark.parametrize("engine", ["nothing", "..%2Fsession", "session", "engines%2Fa"])
def test_an_engine_that_is_not_there_is_said_to_be_missing(asking: Asking, session: str, engine: str) -> None:
    for rest in ("", "/check", "/simulation"):
        answer = asking.get(f"/api/sessions/{session}/engine/{engine}{rest}")
        assert answer.status_code == 404
        assert set(answer.json()) >= {"what", "where", "value", "remedy"}


def test_markup_in_an_engine_file_is_shown_as_text(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    (folder / "engines").mkdir()
    text = template_text("single")
    line = next(line for line in text.splitlines() if line.startswith("name = "))
    (folder / "engines" / "<b>x.toml").write_text(text.replace(line, 'name = "<script>alert(1)</script>"'), "utf-8")
    engine = asking.get(f"/api/sessions/{session}/engine").json()["engines"][0]["id"]
    job = over(asking, asking.post(f"/api/sessions/{session}/engine/{engine}/check", {}).json()["job"])
    page = asking.get(f"/s/{session}").text
    assert "&lt;script&gt;alert(1)" in page
    assert "<script>alert" not in page
    assert "<b>x.toml" not in page
    drawing = asking.get(f"/api/results/{job['key']}/drawing-light.svg")
    assert drawing.headers["content-type"].startswith("image/svg+xml")
    assert b"<script" not in drawing.content


def test_the_routes_are_described(asking: Asking) -> None:
    paths = asking.get("/api/openapi.json").json()["paths"]
    own = {path: set(methods) for path, methods in paths.items() if "/engine" in path}
    first = "/api/sessions/{session}/engine"
    assert own == {
        first: {"get", "post"}, f"{first}/{{engine}}": {"get", "put"}, f"{first}/{{engine}}/check": {"get", "post"},
        f"{first}/{{engine}}/simulation": {"get"}, f"{first}/{{engine}}/waves": {"post"}, f"{first}-runs": {"post"},
    }  # fmt: skip
    assert json.dumps(paths).count('"engine"') >= len(own)


@pytest.mark.parametrize("editable", [True, False], ids=["tester", "guest"])
def test_a_guest_reads_of_an_engine_and_is_offered_nothing_to_press(editable: bool) -> None:  # noqa: FBT001 - a case
    from pullbook.web.templating import environment

    card = {"id": "engine", "file": "engine.toml", "build": "A", "found": None, "key": "", "job": None, "chosen": True}
    ends = ("2000", "3000", "500")
    part = {"cards": [card], "examples": [], "open_builds": ["B"], "may_be_main": False, "ends": ends, "fine": False,
            "at_rpm": "5000", "runs": None, "waves": None, "stamp": "x"}  # fmt: skip
    context = {"labels": {}, "sections": {}, "editable": editable}
    page = environment().get_template("engine.html.j2").render(engine_part=part, **context)
    assert "Build A" in page
    assert ("<form" in page, "<button" in page) == (editable, editable)
    empty = environment().get_template("engine.html.j2").render(engine_part={**part, "cards": []}, **context)
    assert ('id="engine"' in empty) is editable
