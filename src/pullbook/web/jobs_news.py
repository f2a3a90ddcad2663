"""News of the jobs: whoever listens gets the latest state of each job, however slowly it listens."""

from __future__ import annotations

import asyncio
import weakref
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Self

    from pullbook.web.jobs_records import Job

__all__ = ["Listener", "News"]


class Listener:
    """One that listens, from the moment it is made: an asynchronous iterator of jobs.

    A state that was overtaken by a newer one of the same job before it was asked for is passed over, so that a slow
    listener holds no more than one state of each job.

    Parameters
    ----------
    session : str
        Id of the session whose jobs are of interest; empty for all.
    current : iterable of Job
        What is told first.
    """

    def __init__(self, session: str, current: Iterable[Job]) -> None:
        self._session = session
        self._pending: dict[str, Job] = {}
        self._awake = asyncio.Event()
        self._closed = False
        for job in current:
            self.tell(job)

    def tell(self, job: Job) -> None:
        """Take a state."""
        if not self._session or job.session == self._session:
            self._pending[job.id] = job
            self._awake.set()

    def close(self) -> None:
        """Let it end once what it holds has been asked for."""
        self._closed = True
        self._awake.set()

    def __aiter__(self) -> Self:
        return self

    async def __anext__(self) -> Job:
        while not self._pending:
            if self._closed:
                raise StopAsyncIteration
            self._awake.clear()
            await self._awake.wait()
        return self._pending.pop(next(iter(self._pending)))


class News:
    """Everybody who listens; one that nobody holds any more is forgotten."""

    def __init__(self) -> None:
        self._listeners: weakref.WeakSet[Listener] = weakref.WeakSet()

    def listener(self, session: str, current: Iterable[Job]) -> Listener:
        """Give a new listener."""
        listener = Listener(session, current)
        self._listeners.add(listener)
        return listener

    def tell(self, job: Job) -> None:
        """Tell all a new state."""
        for listener in tuple(self._listeners):
            listener.tell(job)

    def close(self) -> None:
        """Let all end."""
        for listener in tuple(self._listeners):
            listener.close()
