"""Places for workers: in each lives one process at a time, and another one as soon as it has gone.

A worker is a fresh interpreter with a pipe to it and a pipe from it, in a process group of its own. When the server
is gone, however that came, the pipes end and the worker with them; nothing has to be cleaned up by anybody.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Final, Protocol

from pullbook.web.jobs_frames import files_of, packed, read_frame

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.web.jobs_frames import Head
    from pullbook.web.jobs_queue import Part

__all__ = ["Overseer", "Place", "death_in_words"]

_COOPERATIVE: Final = 1.0  # s that cancelled work has to end by itself
_FAREWELL: Final = 1.0  # s that a worker has to end when the server stops
_FIRST_PAUSE: Final = 0.1  # s before a worker is started again that ended before it began anything
_LONGEST_PAUSE: Final = 30.0  # s
_HOPELESS: Final = 3  # starts in a row that came to nothing
_BUFFER: Final = 1 << 20
# Workers share the machine by being several; threads of linear algebra inside each would only wait for one another.
_ONE_THREAD: Final = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")


class Overseer(Protocol):
    """What a place tells."""

    def free(self) -> None:
        """A worker has nothing to do."""
        ...

    def moved(self, part: Part) -> None:
        """A part was begun, or is further than it was."""
        ...

    def ended(self, part: Part, head: Head, files: Mapping[str, bytes] | None) -> None:
        """A part has ended: done, failed or cancelled."""
        ...

    def lost(self, part: Part, how: str) -> None:
        """The worker is gone, and with it what it did; `how` in words."""
        ...

    def hopeless(self, how: str) -> None:
        """Worker after worker ends before it begins anything."""
        ...


class Place:
    """A place for a worker.

    Parameters
    ----------
    overseer : Overseer
        Is told what happens.
    command : sequence of str
        What starts a worker.
    """

    def __init__(self, overseer: Overseer, command: Sequence[str]) -> None:
        self.part: Part | None = None
        self._overseer = overseer
        self._command = command
        self._process: asyncio.subprocess.Process | None = None
        self._begun_anything = False
        self._misfires = 0
        self._task = asyncio.create_task(self._keep())

    @property
    def is_free(self) -> bool:
        """Whether a worker is here and has nothing to do."""
        return self._process is not None and self.part is None

    @property
    def process_id(self) -> int | None:
        """Id of the process that is here now."""
        return self._process.pid if self._process else None

    def give(self, part: Part) -> None:
        """Give the worker something to do."""
        self.part = part
        self._write({
            "is": "run", "part": part.id, "kind": part.kind, "arguments": dict(part.arguments), "key": part.key,
            "seen": part.seen,
        })  # fmt: skip

    def cancel(self) -> None:
        """Ask the work here to end, and end the process where it does not."""
        if self.part is not None:
            self._write({"is": "cancel", "part": self.part.id})
            asyncio.get_running_loop().call_later(_COOPERATIVE, self._end_if_still, self.part)

    async def close(self) -> None:
        """End the worker, and let none come after it."""
        self._task.cancel()
        await asyncio.wait([self._task])

    def _write(self, head: Head) -> None:
        if self._process is not None and self._process.stdin is not None:
            self._process.stdin.write(packed(head))

    def _end_if_still(self, part: Part) -> None:
        if self.part is part and self._process is not None:
            _kill(self._process)

    async def _keep(self) -> None:
        while True:
            try:
                how = await self._one_life()
            except OSError as error:
                how = f"no worker process can be started ({error.strerror})"
            self._misfires = 0 if self._begun_anything else self._misfires + 1
            part, self.part = self.part, None
            if part is not None:
                self._overseer.lost(part, how)
            if self._misfires >= _HOPELESS:
                self._overseer.hopeless(how)
            if self._misfires:
                await asyncio.sleep(min(_LONGEST_PAUSE, _FIRST_PAUSE * 2.0**self._misfires))

    async def _one_life(self) -> str:
        """Start a worker and hear it until it has gone; how it went, in words."""
        self._begun_anything = False
        process, life_line = await _started(self._command)
        try:
            if process.stdout is not None:
                while (frame := await read_frame(process.stdout)) is not None:
                    self._heard(process, *frame)
        finally:
            self._process = None
            await _farewell(process)
            if life_line is not None:
                os.close(life_line)
        return death_in_words(process.returncode or 0)

    def _heard(self, process: asyncio.subprocess.Process, head: Head, body: bytes) -> None:
        if head["is"] == "ready":
            self._process = process
            self._overseer.free()
            return
        part = self.part
        if part is None or head["part"] != part.id:
            return
        if head["is"] == "end":
            self.part = None
            self._overseer.ended(part, head, files_of(head, body) if "files" in head else None)
            self._overseer.free()
            return
        part.begun = self._begun_anything = True
        if head["is"] == "progress":
            part.doing, part.done, part.total = head["doing"], head["done"], head["total"]
        self._overseer.moved(part)


def death_in_words(status: int) -> str:
    """How a process went, from its exit status.

    Examples
    --------
    >>> death_in_words(-9)
    'the worker process was ended from outside, most often because memory ran out (SIGKILL)'
    >>> death_in_words(-11)
    'the worker process crashed (SIGSEGV)'
    >>> death_in_words(3)
    'the worker process ended by itself (status 3)'
    """
    try:
        name = signal.Signals(-status).name if status < 0 else ""
    except ValueError:
        name = f"signal {-status}"
    if name == "SIGKILL":
        return f"the worker process was ended from outside, most often because memory ran out ({name})"
    if name in {"SIGTERM", "SIGHUP", "SIGINT", "SIGQUIT"}:
        return f"the worker process was ended from outside ({name})"
    if name:
        return f"the worker process crashed ({name})"
    return f"the worker process ended by itself (status {status})"


async def _started(command: Sequence[str]) -> tuple[asyncio.subprocess.Process, int | None]:
    """Process of a worker, and the end of a pipe that the worker does not survive."""
    pipe = () if sys.platform == "win32" else os.pipe()
    try:
        process = await asyncio.create_subprocess_exec(
            *command, *map(str, pipe[:1]), stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
            limit=_BUFFER, env=_ONE_THREAD | os.environ, start_new_session=True, pass_fds=pipe[:1],
        )  # fmt: skip
    except BaseException:
        for end in pipe[1:]:
            os.close(end)
        raise
    finally:
        for end in pipe[:1]:
            os.close(end)
    return process, next(iter(pipe[1:]), None)


def _kill(process: asyncio.subprocess.Process) -> None:
    """End a worker and every process that it has started."""
    with suppress(OSError):
        if sys.platform == "win32":
            process.kill()
        else:
            os.killpg(process.pid, signal.SIGKILL)


async def _farewell(process: asyncio.subprocess.Process) -> None:
    """See a worker off: it ends when its pipe does, and is ended where it does not."""
    if process.stdin is not None:
        process.stdin.close()
    try:
        async with asyncio.timeout(_FAREWELL):
            await process.wait()
    except TimeoutError:
        pass
    finally:
        _kill(process)
    await process.wait()
