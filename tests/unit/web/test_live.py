"""The line to an open page: a change on the disk is told within a second, and every job of the session."""

from __future__ import annotations

import time
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from unit_web import write_session

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.testclient import WebSocketTestSession
    from unit_web import Asking


@contextmanager
def opened(asking: Asking, session: str) -> Iterator[WebSocketTestSession]:
    """The line of a page; this client cancels the other end when it leaves, where a browser says goodbye."""
    address = f"ws://127.0.0.1:8420/api/live?session={session}"
    with (
        suppress(CancelledError),
        asking.client.websocket_connect(address, headers={"Origin": "http://127.0.0.1:8420"}) as line,
    ):
        yield line


def test_a_change_by_another_program_is_told_within_a_second(asking: Asking) -> None:
    folder = write_session(asking.root, "watched")
    session = next(one["id"] for one in asking.get("/api/sessions").json()["sessions"] if one["name"] == "watched")
    asking.get(f"/api/sessions/{session}/findings")
    with opened(asking, session) as line:
        hello = line.receive_json()
        assert hello["hello"]
        assert hello["token"] == asking.client.headers["X-Pullbook-Token"]
        time.sleep(0.5)
        file = folder / "session.toml"
        began = time.monotonic()
        file.write_text(file.read_text("utf-8") + "# by hand\n", "utf-8")
        while (heard := line.receive_json()) != {"changed": session}:
            assert "job" in heard
        assert time.monotonic() - began < 1.0


def test_the_jobs_of_a_session_are_told_to_its_pages_and_to_no_others(asking: Asking) -> None:
    folder = write_session(asking.root, "at work")
    session = next(one["id"] for one in asking.get("/api/sessions").json()["sessions"] if one["name"] == folder.name)
    with opened(asking, session) as line:
        line.receive_json()
        asking.post(f"/api/sessions/{session}/compare?window=2500..3000", {})
        states: list[str] = []
        while "done" not in states:
            heard = line.receive_json()
            if "job" in heard:
                assert heard["job"]["session"] == session
                states += [heard["job"]["state"]] if heard["job"]["kind"] == "page" else []
        assert states[-1] == "done"
