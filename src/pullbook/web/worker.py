"""A worker: a process of its own that does one piece of long work after the other, and ends when the server has gone.

It is started by `pullbook.web.jobs_pool` as ``python -m pullbook.web.worker MODULE CACHE [PIPE]``, reads frames from
its standard input and answers on what was its standard output. It holds nothing that could be lost: a result is kept
whole or not at all.
"""

from __future__ import annotations

import os
import queue
import signal
import sys
import threading
import time
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.app.content_key import still_as_seen
from pullbook.errors import InputError, RefusalError, SimulationError
from pullbook.web.cache import Cache
from pullbook.web.error_form import error_form
from pullbook.web.jobs_frames import packed, read_frame_blocking
from pullbook.web.unchanged import FILES_CHANGED

if TYPE_CHECKING:
    from collections.abc import Mapping
    from io import FileIO

    from pullbook.web.jobs_frames import Head
    from pullbook.web.jobs_kind import Kind

__all__ = ["Worker", "main"]

_EVERY: Final = 0.05  # s between two messages about progress
_MOST_MEMORY: Final = 1_000_000_000  # byte
_OF_THE_INPUT: Final = (InputError, RefusalError, SimulationError)  # running it again would say the same


class _Voice:
    """The way back to the server; one frame at a time, whoever speaks."""

    def __init__(self, stream: FileIO) -> None:
        self._stream = stream
        self._lock = threading.Lock()

    def say(self, head: Mapping[str, object], files: Mapping[str, bytes] | None = None) -> None:
        data = memoryview(packed(head, files))
        with self._lock:
            while data:
                data = data[self._stream.write(data) :]


class _Watched:
    """Progress of one piece of work: passed on at most 20 times a second, the last word always."""

    def __init__(self, voice: _Voice, part: str) -> None:
        self.cancelled = False
        self._voice = voice
        self.part = part
        self._lock = threading.Lock()
        self._unsaid: tuple[str, int, int] | None = None
        self._said_at = -_EVERY

    def step(self, doing: str, done: int, total: int) -> None:
        """Pass on how far the work is, or end it."""
        if self.cancelled:
            raise KeyboardInterrupt
        with self._lock:
            self._unsaid = (doing, done, total)
        self.pass_on()

    def pass_on(self) -> None:
        """Say what has not been said, if it is time."""
        with self._lock:
            now = time.monotonic()
            if self._unsaid is None or now - self._said_at < _EVERY:
                return
            doing, done, total = self._unsaid
            self._unsaid, self._said_at = None, now
        with suppress(OSError):  # the reader of the input notices that the server has gone
            self._voice.say({"is": "progress", "part": self.part, "doing": doing, "done": done, "total": total})


class Worker:
    """The two threads of a worker: one listens to the server, the main one works.

    Parameters
    ----------
    kinds : mapping of str to Kind
        What it can do.
    cache : Cache
        Where results are kept.
    source, goal : FileIO
        From the server, and to it.
    """

    def __init__(self, kinds: Mapping[str, Kind], cache: Cache, *, source: FileIO, goal: FileIO) -> None:
        self._kinds = kinds
        self._cache = cache
        self._source = source
        self._voice = _Voice(goal)
        self._inbox: queue.SimpleQueue[Head] = queue.SimpleQueue()
        self._watched: _Watched | None = None
        self._early: set[str] = set()  # cancelled before they began

    def serve(self, warm: tuple[str, ...]) -> None:
        """Work until the server has gone; import what will be needed while there is nothing to do."""
        threading.Thread(target=self._listen, daemon=True).start()
        threading.Thread(target=self._remind, daemon=True).start()
        self._voice.say({"is": "ready"})
        for module in warm:
            while not self._inbox.empty():
                self._work(self._inbox.get())
            import_module(module)
        while True:
            self._work(self._inbox.get())

    def _listen(self) -> None:
        while (frame := read_frame_blocking(self._source)) is not None:
            head = frame[0]
            if head["is"] == "run":
                self._inbox.put(head)
            else:
                self._cancel(head["part"])
        _end()

    def _remind(self) -> None:
        while True:
            time.sleep(_EVERY)
            if (watched := self._watched) is not None:
                watched.pass_on()

    def _cancel(self, part: str) -> None:
        self._early.add(part)
        if (watched := self._watched) is not None:
            watched.cancelled = watched.cancelled or watched.part == part

    def _work(self, head: Head) -> None:
        part = head["part"]
        self._watched = _Watched(self._voice, part)
        self._watched.cancelled = part in self._early
        self._voice.say({"is": "started", "part": part})
        outcome, files = self._outcome(head)
        self._watched = None
        self._early.discard(part)
        self._voice.say({"is": "end", "part": part, **outcome}, files)
        if _is_swollen():
            _end()

    def _outcome(self, head: Head) -> tuple[dict[str, object], Mapping[str, bytes] | None]:
        """How one piece of work ended, and its files where they are not kept."""
        try:
            made = self._kinds[head["kind"]].run(self._watched, **head["arguments"])
            files = {str(name): bytes(data) for name, data in made.items()}
            if not still_as_seen(head["seen"]):
                return {"state": "failed", "error": FILES_CHANGED, "final": False}, None
            kept = bool(head["key"]) and self._keep(head["key"], files)
        except KeyboardInterrupt:
            return {"state": "cancelled"}, None
        except BaseException as error:  # noqa: BLE001 - a defect in the work must not end the worker
            return {"state": "failed", "error": error_form(error), "final": isinstance(error, _OF_THE_INPUT)}, None
        return {"state": "done"}, None if kept else files

    def _keep(self, key: str, files: Mapping[str, bytes]) -> bool:
        """Keep a result; where the disk does not take it, say so, and let the server hold it in memory."""
        try:
            self._cache.put(key, files)
        except OSError as error:
            sys.stderr.write(f"pullbook: a result cannot be kept in {self._cache.folder} ({error.strerror}).\n")
            return False
        return True


def _is_swollen() -> bool:
    """Whether this process has taken so much memory that a fresh one should take its place.

    Linux is asked for the memory of this program: what `getrusage` says there began with that of the server, which the
    process had between fork and exec, so that every worker of a large server would end after each piece of work.
    """
    if sys.platform == "linux":
        lines = Path("/proc/self/status").read_text(encoding="ascii", errors="replace").splitlines()
        most = next((int(line.split()[1]) * 1024 for line in lines if line.startswith("VmHWM:")), 0)
    elif sys.platform == "darwin":
        import resource

        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    else:
        most = 0
    return most > _MOST_MEMORY


def _end_with(life_line: int) -> None:
    """Have the system end this process, and all that it has started, when the other end of a pipe is closed.

    That is for work which lets no other thread of the process run, so that nobody here could notice. Nothing is ever
    written into that pipe; the signal of its end, SIGIO, ends every process of the group that does not catch it.
    """
    if sys.platform != "win32" and os.getpgrp() == os.getpid():
        import fcntl

        os.set_inheritable(life_line, False)  # noqa: FBT003 - as the standard library has it
        with suppress(OSError):  # a system that cannot do this leaves the end of the input
            fcntl.fcntl(life_line, fcntl.F_SETOWN, -os.getpgrp())
            fcntl.fcntl(life_line, fcntl.F_SETFL, fcntl.fcntl(life_line, fcntl.F_GETFL) | os.O_ASYNC)


def _end() -> None:
    """End at once, with every process that the work has started."""
    if sys.platform != "win32" and os.getpgrp() == os.getpid():
        os.killpg(os.getpid(), signal.SIGKILL)
    os._exit(0)


def main() -> None:
    """Run a worker on the pipes that the server made."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which then ends its workers
    if sys.platform == "linux":
        with suppress(OSError):  # where memory runs out, this process goes, and not the server
            Path("/proc/self/oom_score_adj").write_text("500", encoding="ascii")
    source = os.fdopen(os.dup(0), "rb", buffering=0)
    goal = os.fdopen(os.dup(1), "wb", buffering=0)
    # What a library prints must not get between the frames, and what it reads must not take them.
    with Path(os.devnull).open("rb") as nothing:
        os.dup2(nothing.fileno(), 0)
    os.dup2(2, 1)
    module, cache, *life_line = sys.argv[1:]
    for number in life_line:
        _end_with(int(number))
    work = import_module(module)
    Worker(work.KINDS, Cache(Path(cache)), source=source, goal=goal).serve(work.WARM)


if __name__ == "__main__":
    main()
