"""Asking a notebook in the process of the test, and a small session for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from session_folder import CLAIM, HEADER, pull_entry, pull_text

if TYPE_CHECKING:
    from pathlib import Path

    from httpx2 import Response
    from starlette.testclient import TestClient


@dataclass(frozen=True, slots=True)
class Asking:
    """Asks the routes as the page does."""

    client: TestClient
    root: Path

    def get(self, path: str) -> Response:
        return self.client.get(path)

    def post(self, path: str, body: object) -> Response:
        return self.client.post(path, json=body)

    def edit(self, session: str, *edits: dict[str, Any]) -> Response:
        return self.post(f"/api/sessions/{session}/edits", {"edits": list(edits)})

    def send(self, session: str, name: str, content: bytes) -> Response:
        return self.client.post(f"/api/sessions/{session}/files", params={"name": name}, content=content)

    def made(self, title: str = "Two headers") -> str:
        """Id of a new session."""
        return str(self.post("/api/sessions", {"title": title}).json()["id"])

    def text(self, session: str) -> str:
        return str(self.get(f"/api/sessions/{session}").json()["text"])


def write_session(root: Path, name: str = "ready") -> Path:
    """A session folder with two builds of two pulls and a claim."""
    rng = np.random.default_rng(7)
    folder = root / name
    (folder / "pulls").mkdir(parents=True)
    run = [("A", "a1", "09:00"), ("A", "a2", "09:06"), ("B", "b1", "10:00"), ("B", "b2", "10:06")]
    for build, file, _ in run:
        (folder / "pulls" / f"{file}.csv").write_text(pull_text(rng, gain=6.0 if build == "B" else 0.0), "utf-8")
    entries = "".join(pull_entry(build, f"pulls/{file}.csv", clock) for build, file, clock in run)
    (folder / "session.toml").write_text(HEADER + entries + CLAIM, "utf-8")
    return folder
