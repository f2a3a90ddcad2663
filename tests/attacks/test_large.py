from __future__ import annotations

import asyncio
import resource
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pytest
from attacks.asking import answer_to
from attacks.bombs import BOMBS
from attacks.notebook_client import Client, files_of
from browser.served import Served
from session_folder import HEADER

from pullbook.web.application import make_routes
from pullbook.web.guard import TOKEN_HEADER, guarded
from pullbook.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterator

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="memory is asked of Linux"),
]

MB: Final = 1_000_000
TEN_GB: Final = 10_000_000_000


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("large")
    (folder / "sessions" / "demo" / "pulls").mkdir(parents=True)
    (folder / "sessions" / "demo" / "session.toml").write_text(HEADER)
    with Served(folder / "sessions", folder / "home") as running:
        yield running


@pytest.fixture(scope="module")
def client(server: Served) -> Client:
    return Client(server.port)


def most_memory(pid: int) -> int:
    """Most memory that a process ever had. [byte]"""
    lines = Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM:")) * 1024


@pytest.mark.parametrize("name", list(BOMBS))
def test_a_bomb_in_a_spreadsheet_is_refused_in_a_sentence_and_in_bounded_memory(
    server: Served, client: Client, name: str
) -> None:
    (session,) = client.sessions()
    bomb = BOMBS[name]()
    assert len(bomb) < 20 * MB
    reply = client.upload(session["id"], name, bomb)
    assert reply.status == 201
    began = time.monotonic()
    job = client.finished(reply.form["job"]["id"])
    assert job["state"] in {"done", "failed"}
    assert time.monotonic() - began < 60.0
    card = next(one for one in client.ask(f"/api/sessions/{session['id']}/files").form["files"]
                if one["file"] == reply.form["name"])["card"]  # fmt: skip
    told = str(job["error"] or card)
    assert any(word in told for word in ("unpacks to more than", "damaged", "no table", "empty", "no numbers")), told
    assert most_memory(server.pid) < 250 * MB
    assert all(most_memory(pid) < 700 * MB for pid in server.workers())
    assert client.ask("/").status == 200


async def zeros(size: int) -> AsyncIterator[bytes]:
    piece = bytes(MB)
    for _ in range(size // MB):
        yield piece


@pytest.mark.parametrize("announced", [True, False])
def test_ten_gigabytes_leave_nothing_behind_in_the_session(tmp_path: Path, *, announced: bool) -> None:
    folder = tmp_path / "demo"
    (folder / "pulls").mkdir(parents=True)
    (folder / "session.toml").write_text(HEADER)
    settings = Settings(root=tmp_path, port=8420, token="known", most_upload=20 * MB)
    app = guarded(make_routes(settings), settings)
    headers = {TOKEN_HEADER: "known"}
    if announced:
        headers |= {"content-length": str(TEN_GB), "transfer-encoding": "-"}

    async def sent() -> tuple[int, dict[str, object]]:
        listed = await answer_to(app, "/api/sessions")
        found: list[dict[str, str]] = listed.form["sessions"]  # type: ignore[assignment] # as the route describes it
        path = f"/api/sessions/{found[0]['id']}/files?name=a.csv"
        answer = await answer_to(app, path, "POST", headers=headers, body=zeros(TEN_GB))
        return answer.status, answer.form

    status, form = asyncio.run(sent())
    assert status == 413
    assert form["where"] == "body"
    assert {name for name in files_of(tmp_path) if "lock" not in name} == {"demo/session.toml"}


def test_a_thousand_pages_asked_for_at_once_are_served_or_turned_away_in_bounded_memory(
    server: Served, client: Client
) -> None:
    before = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(4_096, before[1]), before[1]))
    (session,) = client.sessions()
    paths = ("/", "/api/sessions", f"/s/{session['id']}", "/api/token")

    async def one(number: int) -> int:
        reader, writer = await asyncio.open_connection("127.0.0.1", server.port)
        path = paths[number % len(paths)]
        writer.write(f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nConnection: close\r\n\r\n".encode())
        answer = await reader.read()
        writer.close()
        return int(answer.split(None, 2)[1])

    async def every() -> list[int]:
        return list(await asyncio.gather(*(one(number) for number in range(1_000))))

    try:
        statuses = asyncio.run(every())
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, before)
    assert set(statuses) <= {200, 503}
    assert statuses.count(200) > 100
    assert most_memory(server.pid) < 300 * MB
    assert client.ask("/").status == 200
