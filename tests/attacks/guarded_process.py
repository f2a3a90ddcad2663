"""A server process for the tests that attack its connections: the real server and guard before a small application.

Run as a program it serves until it is told to end; the class starts and watches such a process.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final, Self

if TYPE_CHECKING:
    from types import TracebackType

__all__ = ["TOKEN", "GuardedProcess", "head", "opened_socket"]

TOKEN: Final = "known"
HEADERS_WITHIN: Final = 1.0  # s
TAKEN_WITHIN: Final = 0.6  # s
MOST_OF_ONE: Final = 100
MOST_UPLOAD: Final = 100_000_000  # byte
LARGE: Final = 50_000_000  # byte of the answer at /large


class GuardedProcess:
    """The process, used as a context.

    Parameters
    ----------
    headers_within : float
        How long its clients have for their headers. [s]
    most_of_one : int
        Connections of one address; 127.0.0.1 alone is exempt, so that 127.0.0.2 can be a stranger here. [1]

    Attributes
    ----------
    port : int
        Where it listens.
    """

    def __init__(self, headers_within: float = HEADERS_WITHIN, *, most_of_one: int = MOST_OF_ONE) -> None:
        folder = str(Path(__file__).resolve().parents[1])
        self._process = subprocess.Popen(
            [sys.executable, __file__, str(headers_within), str(most_of_one)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join([folder, os.environ.get("PYTHONPATH", "")])},
        )  # fmt: skip
        assert self._process.stdout is not None
        first = self._process.stdout.readline()
        assert first.strip().isdigit(), first + self._process.communicate()[1]
        self.port = int(first)

    def end(self, number: int) -> tuple[int, str]:
        """Send a signal; status and everything that was said since the start."""
        self._process.send_signal(number)
        said = "".join(self._process.communicate(timeout=30.0))
        return self._process.returncode, said

    def memory(self) -> int:
        """Memory in use now. [byte]"""
        return self._kilobytes("VmRSS")

    def most_memory(self) -> int:
        """Most memory that was ever in use. [byte]"""
        return self._kilobytes("VmHWM")

    def _kilobytes(self, what: str) -> int:
        lines = Path(f"/proc/{self._process.pid}/status").read_text(encoding="ascii").splitlines()
        return next(int(line.split()[1]) for line in lines if line.startswith(f"{what}:")) * 1024

    def connect(self, source: str = "127.0.0.1") -> socket.socket:
        """A connection from an address, that waits ten seconds at most."""
        return socket.create_connection(("127.0.0.1", self.port), timeout=10.0, source_address=(source, 0))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if self._process.poll() is None:
            self._process.kill()
        self._process.communicate()


def head(server: GuardedProcess, path: str = "/", method: str = "GET", *more: str) -> bytes:
    """Request line and headers."""
    lines = [f"{method} {path} HTTP/1.1", f"Host: 127.0.0.1:{server.port}", f"X-Pullbook-Token: {TOKEN}", *more]
    return "\r\n".join([*lines, "", ""]).encode()


def opened_socket(server: GuardedProcess, source: str = "127.0.0.1", **more: str) -> socket.socket:
    """A connection from an address that asked to become the WebSocket of a page."""
    connection = server.connect(source)
    lines = {
        "Upgrade": "websocket", "Connection": "Upgrade", "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==", "Origin": f"http://127.0.0.1:{server.port}", **more,
    }  # fmt: skip
    connection.sendall(head(server, "/api/live", "GET", *(f"{name}: {value}" for name, value in lines.items())))
    return connection


def _is_near(address: str) -> bool:
    return address == "127.0.0.1"


def _serve() -> None:
    from attacks.counting_app import CountingApp

    from pullbook.web.connection import Connection
    from pullbook.web.guard import guarded
    from pullbook.web.serve import listen, serve_app
    from pullbook.web.settings import Settings

    Connection.headers_within, Connection.taken_within = float(sys.argv[1]), TAKEN_WITHIN
    Connection.most_of_one, Connection.is_exempt = int(sys.argv[2]), staticmethod(_is_near)
    heard = listen("127.0.0.1", None)
    port = heard.getsockname()[1]
    settings = Settings(root=Path(), port=port, token=TOKEN, most_upload=MOST_UPLOAD)
    serve_app(guarded(CountingApp(large=LARGE), settings), heard, lambda: print(port, flush=True))  # noqa: T201 - for the class above


if __name__ == "__main__":
    _serve()
