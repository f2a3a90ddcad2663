"""A notebook server for a test: a real process on a folder, with settings and a cache of its own, to be killed."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final, Self

if TYPE_CHECKING:
    from types import TracebackType

__all__ = ["Served", "free_port"]

_PATIENCE: Final = 60.0  # s; a busy machine starts slowly
_TICK: Final = 0.02  # s


def free_port() -> int:
    """A port that nothing listens on now."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


class Served:
    """A notebook that is served to a test.

    Parameters
    ----------
    root : Path
        Folder of the sessions.
    home : Path
        Folder for settings and cache, so that nothing of the user is read or changed.
    options : str
        Further words of the command line.
    """

    def __init__(self, root: Path, home: Path, *options: str) -> None:
        self.root = root
        self.port = free_port()
        self.said: list[str] = []
        self._options = options
        self._environment = {
            **os.environ,
            "PULLBOOK_CACHE_HOME": str(home / "cache"),
            "PULLBOOK_CONFIG_HOME": str(home / "config"),
            "PULLBOOK_DATA_HOME": str(home / "data"),
            "PULLBOOK_ARCHIVE": "",
            "OMP_NUM_THREADS": "1",
            "PYTHONUNBUFFERED": "1",
        }
        self._process: subprocess.Popen[str] | None = None
        self._listener = threading.Thread()

    @property
    def address(self) -> str:
        """Address of the notebook, without a slash at its end."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def pid(self) -> int:
        """Number of the server process."""
        assert self._process is not None
        return self._process.pid

    def launch(self) -> None:
        """Start the process, without waiting for it."""
        assert self._process is None, "it runs already"
        words = (str(self.root), "--port", str(self.port), "--no-open", *self._options)
        self._process = subprocess.Popen(
            [sys.executable, "-m", "pullbook", "serve", *words],
            env=self._environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
        )  # fmt: skip
        self._listener = threading.Thread(target=self._listen, args=(self._process,), daemon=True)
        self._listener.start()

    def start(self) -> Self:
        """Start the server and wait until it says where it is."""
        before = len(self.said)
        self.launch()
        assert self._process is not None
        begun = time.monotonic()
        while time.monotonic() - begun < _PATIENCE:
            if any(line.startswith("Notebook:") for line in self.said[before:]):
                return self
            assert self._process.poll() is None, "the server ended: " + "".join(self.said)
            time.sleep(_TICK)
        raise AssertionError("the server did not start: " + "".join(self.said))

    def _listen(self, process: subprocess.Popen[str]) -> None:
        assert process.stdout is not None
        with process.stdout:
            self.said.extend(process.stdout)

    def kill(self) -> None:
        """End the server at once, as a power cut would; its workers have to notice by themselves."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """End the server as Ctrl-C does."""
        self._end(signal.SIGINT)

    def restart(self) -> None:
        """Start it again on the same port."""
        self.start()

    def _end(self, number: signal.Signals) -> None:
        if self._process is None:
            return
        self._process.send_signal(number)
        self._process.wait(_PATIENCE)
        self._process = None
        self._listener.join(_PATIENCE)  # what the server's workers still say is heard until they are gone
        assert not self._listener.is_alive(), "workers outlived the server"

    def workers(self) -> list[int]:
        """Processes that the server started, and theirs."""
        return _below(self.pid)

    def memory(self, pid: int | None = None) -> int:
        """Memory that the server process alone holds, or one of its workers; what is shared counts in part. [byte]"""
        status = Path(f"/proc/{pid or self.pid}/smaps_rollup").read_text(encoding="ascii")
        line = next(line for line in status.splitlines() if line.startswith("Pss:"))
        return int(line.split()[1]) * 1024

    def __enter__(self) -> Self:
        return self.start()

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.stop()


def _below(parent: int) -> list[int]:
    found = []
    for entry in Path("/proc").iterdir():
        if not entry.name.isdigit():
            continue
        try:
            words = (entry / "stat").read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()
        except OSError:  # it ended meanwhile
            continue
        if int(words[1]) == parent:
            found += [int(entry.name), *_below(int(entry.name))]
    return found
