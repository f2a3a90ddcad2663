"""No worker outlives its server, however the server goes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pytest
from jobs_started import is_alive, soon_blocking

if TYPE_CHECKING:
    from collections.abc import Iterator

SERVER: Final = Path(__file__).parents[2] / "jobs_server.py"
ARGUMENTS: Final[dict[str, dict[str, Any]]] = {"deaf": {"seconds": 120}, "stuck": {}, "echo": {"text": "idle"}}


class Server:
    """A server in a process of its own, and what it says."""

    def __init__(self, folder: Path, kind: str, arguments: dict[str, Any]) -> None:
        self.process = subprocess.Popen(
            [sys.executable, str(SERVER), str(folder), kind, json.dumps(arguments)], stdout=subprocess.PIPE, text=True
        )
        self.workers: list[int] = []

    def hear(self, doing: str) -> None:
        """Wait until the job says what it does."""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            said = json.loads(line)
            self.workers = said["workers"]
            if said["doing"].startswith(doing):
                return
        pytest.fail("the server went before the job began")

    def close(self) -> None:
        """End everything, whatever the test found."""
        self.process.kill()
        self.process.communicate()
        for worker in self.workers:
            if is_alive(worker):
                os.kill(worker, signal.SIGKILL)


@pytest.fixture
def servers() -> Iterator[list[Server]]:
    """Servers of a test, ended with it."""
    started: list[Server] = []
    yield started
    for server in started:
        server.close()


@pytest.mark.parametrize("by", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
@pytest.mark.parametrize(("kind", "doing"), [("deaf", "not"), ("stuck", "stuck"), ("echo", "")])
def test_no_worker_is_left_when_the_server_is_ended(
    tmp_path: Path, servers: list[Server], by: signal.Signals, kind: str, doing: str
) -> None:
    server = Server(tmp_path, kind, ARGUMENTS[kind])
    servers.append(server)
    server.hear(doing)
    assert len(server.workers) == 2
    assert all(is_alive(worker) for worker in server.workers)
    time.sleep(0.5 if kind == "stuck" else 0.0)
    server.process.send_signal(by)
    assert soon_blocking(lambda: server.process.poll() is not None)
    assert soon_blocking(lambda: not any(is_alive(worker) for worker in server.workers))


def test_what_the_work_started_does_not_outlive_a_killed_server_either(tmp_path: Path, servers: list[Server]) -> None:
    mark = tmp_path / "child"
    server = Server(tmp_path, "child", {"mark": str(mark)})
    servers.append(server)
    server.hear("starting")
    assert soon_blocking(lambda: mark.exists() and mark.read_text() != "")
    child = int(mark.read_text())
    assert is_alive(child)
    server.process.kill()
    assert soon_blocking(lambda: not is_alive(child))
    assert soon_blocking(lambda: not any(is_alive(worker) for worker in server.workers))
