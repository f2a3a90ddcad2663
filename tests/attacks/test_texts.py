from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote

import numpy as np
import pytest
from attacks.markup import active_parts
from attacks.notebook_client import Client
from browser.served import Served
from session_folder import pull_text

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.slow

SCRIPT: Final = "<script>alert(1)</script>"
HANDLER: Final = "\"><img src=x onerror='alert(1)'>"
END: Final = "</title></textarea></style></script><svg/onload=alert(1)>"
TEMPLATE: Final = "{{ 7 * 191 }}{% raw %}${7 * 191}"
EVERY: Final = (SCRIPT, HANDLER, END, TEMPLATE, "' onmouseover='alert(1)", "javascript:alert(1)", "&lt;b&gt;&#60;")


def quoted(text: str) -> str:
    """Text as a TOML string."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def session_text() -> str:
    """A session that means mischief in every text it holds."""
    head = f"""\
[session]
title = {quoted("Title " + "".join(EVERY))}
question = {quoted("Question " + "".join(EVERY))}
notes = {quoted("Notes " + "".join(EVERY))}
date = 2026-05-04
dyno = "engine"
standard = "SAE J1349"
received = "observed"

[engine]
name = {quoted("Engine " + "".join(EVERY))}

[[factor]]
name = {quoted("header" + SCRIPT)}
levels = [{quoted("one" + HANDLER)}, {quoted("two" + END)}]
change = "5 min"

[[build]]
name = {quoted("A" + SCRIPT)}
label = {quoted("Label " + HANDLER)}
baseline = true
levels = {{ {quoted("header" + SCRIPT)} = {quoted("one" + HANDLER)} }}

[[build]]
name = {quoted("B" + HANDLER)}
label = {quoted("Label " + END)}
levels = {{ {quoted("header" + SCRIPT)} = {quoted("two" + END)} }}

[[claim]]
id = {quoted("claim" + SCRIPT)}
says = {quoted("Claim " + "".join(EVERY))}
of = {quoted("B" + HANDLER)}
from = {quoted("A" + SCRIPT)}
quantity = "torque"
where = "4500..6000 rpm"
at_least = "2 N m"
"""
    pulls = ""
    for number, build in enumerate("AABBAABB"):
        name = "A" + SCRIPT if build == "A" else "B" + HANDLER
        pulls += f"""
[[pull]]
build = {quoted(name)}
file = {quoted(file_name(number))}
time = 2026-05-04T{9 + number:02d}:00:00
air = {{ temperature = "22.0 degC", pressure = "99.0 kPa", humidity = "45 %" }}
"""
    return head + pulls + f"left_out = {quoted('Reason ' + ''.join(EVERY))}\n"


def file_name(number: int) -> str:
    return f"pulls/{number}' onmouseover='alert(1) <img src=x onerror=alert(1)>.csv"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    folder = tmp_path_factory.mktemp("texts")
    session = folder / "sessions" / f"folder {SCRIPT.replace('/', '_')}"
    (session / "pulls").mkdir(parents=True)
    rng = np.random.default_rng(5)
    for number, build in enumerate("AABBAABB"):
        text = pull_text(rng, 6.0 if build == "B" else 0.0)
        hostile = text.replace("\n", f",{SCRIPT} [{HANDLER}]\n", 1).replace("\r", "")
        rows = [hostile.split("\n", 1)[0], *(f"{row},{SCRIPT}" for row in text.split("\n")[1:] if row)]
        (session / file_name(number)).write_text("\n".join(rows) + "\n")
    (session / "session.toml").write_text(session_text())
    (folder / "sessions" / "broken").mkdir()
    (folder / "sessions" / "broken" / "session.toml").write_text(f"[session]\ntitle = {quoted(SCRIPT)}\n{SCRIPT} = 1\n")
    with Served(folder / "sessions", folder / "home") as server:
        yield Client(server.port)


@pytest.fixture(scope="module")
def session(client: Client) -> str:
    return next(str(one["id"]) for one in client.sessions() if one["builds"] == 2)


@pytest.fixture(scope="module")
def compared(client: Client, session: str) -> dict[str, Any]:
    """Parts of the page, when the comparison is done."""
    reply = client.send_json(f"/api/sessions/{session}/compare", {})
    job = client.finished(reply.form["job"]["id"])
    assert job["state"] == "done", job
    return job


def texts_of(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for part in value.values():
            yield from texts_of(part)
    elif isinstance(value, list):
        for part in value:
            yield from texts_of(part)


def test_the_list_and_the_page_show_hostile_texts_and_run_none(
    client: Client, session: str, compared: dict[str, Any]
) -> None:
    assert compared["state"] == "done"
    for path in ("/", f"/s/{session}"):
        page = client.ask(path).text
        assert active_parts(page, "application/json", "text/plain") == []
        assert "&lt;script&gt;alert(1)" in page
        assert str(7 * 191) not in page
    page = client.ask(f"/s/{session}").text
    for told in ("Title ", "Question ", "Notes ", "Claim ", "Label ", "Reason ", "Engine "):
        assert told in page


def test_the_sections_that_are_put_into_an_open_page_run_nothing(
    client: Client, session: str, compared: dict[str, Any]
) -> None:
    assert compared["state"] == "done"
    reply = client.ask(f"/api/sessions/{session}/parts")
    assert reply.status == 200
    fragments = [text for text in texts_of(reply.form) if "<section" in text]
    assert fragments
    for fragment in fragments:
        assert active_parts(fragment, "application/json", "text/plain") == []


def test_a_session_that_cannot_be_read_is_told_without_running_what_it_says(client: Client) -> None:
    broken = next(one["id"] for one in client.sessions() if one["name"] == "broken")
    page = client.ask(f"/s/{broken}").text
    assert active_parts(page, "application/json", "text/plain") == []
    assert "&lt;script&gt;" in page


@pytest.mark.parametrize("text", EVERY)
def test_what_an_address_says_is_shown_and_not_run(client: Client, session: str, text: str) -> None:
    word = quote(text, safe="")
    for path in (f"/s/{word}", f"/s/{session}?of={word}", f"/s/{session}?window={word}", f"/s/{session}?units={word}",
                 f"/{word}", f"/s/{session}/report/{word}", f"/?standard={word}", f"/login?next={word}"):  # fmt: skip
        reply = client.ask(path, Accept="text/html")
        assert reply.status < 500
        if "html" in reply.headers["content-type"]:
            assert active_parts(reply.text, "application/json", "text/plain") == []
        assert str(7 * 191) not in reply.text


def test_answers_of_routes_are_never_read_as_pages(client: Client, session: str) -> None:
    for path in ("", "/findings", "/parts", "/files", "/report"):
        reply = client.ask(f"/api/sessions/{session}{path}", Accept="text/html")
        assert reply.headers["content-type"].startswith("application/json")
        assert reply.headers["x-content-type-options"] == "nosniff"


def test_an_error_repeats_a_value_only_as_data(client: Client, session: str) -> None:
    reply = client.send_json(f"/api/sessions/{session}/edits", {"edits": [{"do": "set", "at": HANDLER, "value": END}]})
    assert 400 <= reply.status < 500
    assert reply.headers["content-type"].startswith("application/json")


def test_a_report_that_is_drawn_up_runs_nothing_of_the_session(client: Client, session: str) -> None:
    reply = client.send_json(f"/api/sessions/{session}/report", {"quick": True})
    job = client.finished(reply.form["job"]["id"])
    assert job["state"] == "done", job
    shown = client.ask(f"/s/{session}/draft-report/report.html")
    assert shown.status == 200
    # The library of the charts holds such words itself; what is ours stands outside of script elements.
    bare = re.sub(r"(<script[^>]*>).*?(</script>)", r"\1\2", shown.text, flags=re.DOTALL)
    scripts = re.findall(r"<script[^>]*>", shown.text)
    assert [script for script in scripts if not re.search(r'type="(application/json|text/plain)"', script)] == [
        "<script>"
    ]
    assert [
        part for part in active_parts(bare, "application/json", "text/plain") if not part.startswith("<script {}")
    ] == []
    assert "allow-same-origin" not in shown.headers["content-security-policy"]
    assert "connect-src" not in shown.headers["content-security-policy"]
