from __future__ import annotations

import json
import os
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Final

import pytest
from attacks.notebook_client import Client, files_of
from browser.served import Served
from session_folder import HEADER, pull_entry

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.slow

SECRET: Final = "rpm,torque\n1234.5678,SECRET-OF-THE-MACHINE\n"
PATHS: Final = (
    "/s/..", "/s/../..", "/s/%2e%2e", "/s/..%2f..%2foutside", "/s/%2e%2e%2foutside", "/s/%252e%252e%252foutside",
    "/s/demo/../../outside", "/s//etc/passwd", "/s/%2fetc%2fpasswd", "/s/..%5c..%5coutside", "/s/C:%5cWindows",
    "/s/a%00b", "/s/%ff%fe", "/s/" + "a" * 5_000, "/assets/../settings.py", "/assets/0123456789ab/../../settings.py",
    "/assets/0123456789ab/%2e%2e/%2e%2e/settings.py", "/assets/0123456789ab//etc/passwd",
    "/assets/0123456789ab/notebook/../../../settings.py", "/api/results/..%2f..%2foutside/findings",
    "/api/results/../../outside", "/api/results/0123/..%2f..%2fsecret.csv", "/api/sessions/..%2foutside",
    "/api/sessions/%2e%2e/findings", "/api/jobs/..%2f..", "/api/jobs/%00", "http://evil.example/s/demo",
    "//evil.example/",
    "/s/outside", "/secret.csv", "/s/demo/report/..%2f..%2f..%2fsecret.csv", "/s/demo/pulls/a.csv",
    "/.pullbook/history", "/s/{id}/report/../../../secret.csv", "/s/{id}/report/%2e%2e/%2e%2e/%2e%2e/secret.csv",
    "/s/{id}/draft-report/..%2f..%2fsession.toml", "/s/{id}/draft-report//etc/passwd", "/s/{id}/../../secret.csv",
    "/s/{id}/pulls/a.csv", "/api/sessions/{id}%2f..%2f..", "/api/sessions/{id}/../../../secret.csv",
)  # fmt: skip
NAMES: Final = (
    "../../../evil.csv", "/etc/evil.csv", "..\\..\\evil.csv", "C:\\evil.csv", "NUL", "con.csv", "aux.xlsx", ".bashrc",
    ".pullbook/history/x", "session.toml",
    "a\x00b.csv", "a\nb.csv", "a/b/c.csv", "%2e%2e%2fevil.csv", "x" * 900 + ".csv",
    "..", ".", "", " ", "…/evil.csv", "evil.csv.", "evil.csv:stream", "🏎.csv", "\u202evsc.exe", "-rf", "$(touch x).csv",
)  # fmt: skip


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("paths")
    session = folder / "sessions" / "demo"
    (session / "pulls").mkdir(parents=True)
    (folder / "secret.csv").write_text(SECRET)
    (folder / "outside").mkdir()
    (folder / "outside" / "session.toml").write_text(HEADER.replace("Two headers", "SECRET-OF-THE-MACHINE"))
    (session / "pulls" / "a.csv").write_text("Time [s],RPM\n0,1000\n")
    (session / "pulls" / "link.csv").symlink_to(folder / "secret.csv")
    (folder / "sessions" / "linked").symlink_to(folder / "outside")
    pulls = [pull_entry("A", name) for name in ("../../secret.csv", str(folder / "secret.csv"), "pulls/link.csv")]
    (session / "session.toml").write_text(HEADER + "\n".join(pulls))
    return folder


@pytest.fixture(scope="module")
def client(place: Path) -> Iterator[Client]:
    with Served(place / "sessions", place / "home") as server:
        yield Client(server.port)


def session_of(client: Client) -> str:
    return next(str(one["id"]) for one in client.sessions() if one["name"] == "demo")


def outside(place: Path) -> dict[str, int]:
    """Files that nobody may write: everything but the session and the server's own home."""
    return {name: size for name, size in files_of(place).items() if not name.startswith(("sessions/demo/", "home/"))}


@pytest.mark.parametrize("path", PATHS)
def test_no_path_leads_out_of_the_served_sessions(client: Client, path: str) -> None:
    reply = client.ask(path.replace("{id}", session_of(client)))
    assert 300 <= reply.status < 500
    assert b"SECRET-OF-THE-MACHINE" not in reply.body
    assert b"root:" not in reply.body
    assert b"Traceback" not in reply.body


@pytest.mark.parametrize(
    "identity", ["..", "../outside", "%2e%2e%2foutside", "outside", "demo/../../outside", "\x00", ""]
)
@pytest.mark.parametrize("route", ["edits", "settle", "assign", "compare", "report", "publish"])
def test_no_id_leads_a_change_out_of_the_served_sessions(
    client: Client, place: Path, route: str, identity: str
) -> None:
    before = outside(place)
    reply = client.send_json(f"/api/sessions/{identity.replace(chr(0), '%00')}/{route}", {"edits": []})
    assert 400 <= reply.status < 500
    assert outside(place) == before


@pytest.mark.parametrize("name", NAMES)
def test_an_offered_name_never_becomes_a_path(client: Client, place: Path, name: str) -> None:
    before = outside(place)
    content = f"Time [s],RPM,Torque [Nm]\n{NAMES.index(name)},1000,10\n".encode()
    reply = client.upload(session_of(client), name, content)
    assert reply.status in {201, 422}
    if reply.status == 201:
        stored = PurePosixPath(reply.form["name"])
        assert stored.parts[0] == "pulls"
        assert len(stored.parts) == 2
        assert stored.name.isascii()
        assert stored.stem.upper() not in {"NUL", "CON", "AUX"}
        assert not stored.name.startswith((".", "-"))
        assert (place / "sessions" / "demo" / stored).read_bytes() == content
    assert outside(place) == before


def test_a_file_that_the_session_names_outside_of_itself_is_not_read(client: Client) -> None:
    session = session_of(client)
    for path in (f"/api/sessions/{session}/files", f"/s/{session}", f"/api/sessions/{session}"):
        assert b"SECRET-OF-THE-MACHINE" not in client.ask(path).body
    for card in client.ask(f"/api/sessions/{session}/files").form["files"]:
        told = client.finished(card["job"]["id"]) if card["job"] else card["card"]
        assert "1234.5678" not in json.dumps(told)
        assert "SECRET" not in json.dumps(told)


@pytest.mark.parametrize(
    "file", ["../../secret.csv", "{place}/secret.csv", "pulls/../../../secret.csv", "pulls/link.csv"]
)
def test_a_route_that_takes_a_file_takes_only_those_of_the_session(client: Client, place: Path, file: str) -> None:
    session = session_of(client)
    named = file.format(place=place)
    for route, body in (
        ("settle", {"file": named, "rules": {"torque": "torque"}, "remember": False}),
        ("assign", {"file": named, "build": "A"}),
    ):
        reply = client.send_json(f"/api/sessions/{session}/{route}", body)
        assert 400 <= reply.status < 500
        assert b"SECRET-OF-THE-MACHINE" not in reply.body


def test_a_folder_that_is_a_link_to_elsewhere_is_not_served(client: Client) -> None:
    assert "SECRET-OF-THE-MACHINE" not in client.ask("/").text
    names = {one["name"] for one in client.sessions()}
    assert "demo" in names
    assert "linked" not in names


def test_a_title_never_becomes_a_path(client: Client, place: Path) -> None:
    before = set(outside(place))
    made = []
    for title in ("../../../evil", "/etc/evil", "..\\evil", "a\x00b", ".", "NUL", "x" * 300):
        reply = client.send_json("/api/sessions", {"title": title})
        assert reply.status in {201, 200, 422}
        made.append(reply.status)
    new = set(outside(place)) - before
    assert 201 in made or 200 in made
    assert all(PurePosixPath(name).parts[0] == "sessions" and len(PurePosixPath(name).parts) == 3 for name in new)
    assert all(name.endswith("/session.toml") for name in new)
    assert not any(os.path.lexists(path) for path in (place / "evil", place.parent / "evil", Path("/etc/evil")))


@pytest.mark.parametrize("linked", ["pulls", ".pullbook", "report"])
def test_a_folder_of_a_session_that_leads_elsewhere_is_never_written_to(
    client: Client, place: Path, linked: str
) -> None:
    session, elsewhere = place / "sessions" / f"with {linked}", place / "elsewhere" / linked
    session.mkdir()
    elsewhere.mkdir(parents=True)
    (session / "session.toml").write_text(HEADER)
    (session / linked).symlink_to(elsewhere)
    identity = next(one["id"] for one in client.sessions() if one["name"] == session.name)
    replies = [
        client.upload(identity, "a.csv", b"Time [s],RPM\n0,1000\n"),
        client.send_json(
            f"/api/sessions/{identity}/edits", {"edits": [{"do": "set", "at": "session.title", "value": "T"}]}
        ),
        client.send_json(f"/api/sessions/{identity}/publish", {}),
    ]
    assert all(reply.status in {200, 201} or 400 <= reply.status < 500 for reply in replies)
    assert any(reply.status >= 400 for reply in replies)
    assert list(elsewhere.iterdir()) == []
