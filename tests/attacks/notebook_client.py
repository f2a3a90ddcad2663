"""A client of a real notebook that may ask for anything, and a look at what lies on the disk."""

from __future__ import annotations

import http.client
import json
import os
import time
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

__all__ = ["Client", "Reply", "files_of"]

_PATIENCE = 120.0  # s; a busy machine works slowly


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What the notebook replied."""

    status: int
    body: bytes
    headers: dict[str, str]

    @property
    def text(self) -> str:
        return self.body.decode()

    @property
    def form(self) -> dict[str, Any]:
        return dict(json.loads(self.body))


class Client:
    """Asks a notebook as one of its own pages would, unless told otherwise."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.token = str(self.ask("/api/token").form["token"])

    def ask(self, path: str, method: str = "GET", body: bytes | Iterable[bytes] | None = None, **headers: str) -> Reply:
        """One request; the path is sent as it is."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=_PATIENCE)
        try:
            own = {"X-Pullbook-Token": getattr(self, "token", ""), "Origin": f"http://127.0.0.1:{self.port}"}
            connection.request(
                method, path, body, {**own, **{name.replace("_", "-"): v for name, v in headers.items()}}
            )
            answer = connection.getresponse()
            return Reply(status=answer.status, body=answer.read(), headers=dict(answer.getheaders()))
        finally:
            connection.close()

    def sessions(self) -> list[dict[str, Any]]:
        """Sessions as the list tells them."""
        return list(self.ask("/api/sessions").form["sessions"])

    def send_json(self, path: str, value: object, method: str = "POST") -> Reply:
        """Send a value to a route."""
        return self.ask(path, method, json.dumps(value).encode(), Content_Type="application/json")

    def upload(self, session: str, name: str, content: bytes) -> Reply:
        """Hand a file over."""
        return self.ask(f"/api/sessions/{session}/files?name={quote(name, safe='')}", "POST", content)

    def finished(self, job: str) -> dict[str, Any]:
        """State of a job when it is over."""
        until = time.monotonic() + _PATIENCE
        while time.monotonic() < until:
            found = self.ask(f"/api/jobs/{job}").form
            state = found.get("job", found)
            if state["state"] not in {"waiting", "running"}:
                return dict(state)
            time.sleep(0.05)
        raise AssertionError("the job is not over")


def files_of(folder: Path) -> dict[str, int]:
    """Every file below a folder, with its length; one that goes away meanwhile is passed over."""
    found: dict[str, int] = {}
    for name in os.walk(folder):
        for file in name[2]:
            path = folder / name[0] / file
            with suppress(FileNotFoundError):
                if path.is_file():
                    found[path.relative_to(folder).as_posix()] = path.lstat().st_size
    return found
