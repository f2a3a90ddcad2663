"""Jobs: long work in worker processes, with progress, cancel and results that are kept by their content.

The server asks for a `Task` and gets a `Job` at once. Two who ask for the same key share one job; a result that is kept
is a job that is done. Everything here runs in the event loop of the server and never waits for the work.
"""

from __future__ import annotations

import asyncio
import secrets
import sys
from typing import TYPE_CHECKING, Final

from pullbook.errors import PullbookError
from pullbook.web.jobs_book import Book
from pullbook.web.jobs_news import News
from pullbook.web.jobs_pool import Place
from pullbook.web.jobs_queue import Queue
from pullbook.web.jobs_records import Job, State, Task
from pullbook.web.jobs_results import Results
from pullbook.web.jobs_run import Run

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.web.cache import Cache
    from pullbook.web.jobs_frames import Head
    from pullbook.web.jobs_news import Listener
    from pullbook.web.jobs_queue import Part

__all__ = ["Job", "Jobs", "State", "Task"]

_AGAIN: Final = "run it again; if it ends there again, close other programs or leave that file out"
_STOPPED: Final = "the server is stopping"


class Jobs:
    """The workers of a server and what they do.

    Parameters
    ----------
    cache : Cache
        Where results are kept.
    workers : int
        Processes that work side by side.
    work : str
        Module that has the kinds of work.

    Examples
    --------
    ::

        jobs = Jobs(Cache())
        await jobs.start()
        job = jobs.submit(Task(kind="page", arguments={"folder": folder}, key=key, session=id))
        job = await jobs.wait(job)
        files = await jobs.files(job)       # {"findings.json": b"..."}
        await jobs.stop()
    """

    def __init__(self, cache: Cache, *, workers: int = 2, work: str = "pullbook.web.work") -> None:
        self.cache = cache
        self._workers = workers
        self._work = work
        self._book = Book()
        self._queue = Queue()
        self._news = News()
        self._places: list[Place] = []
        self._results = Results(cache)
        self._stopping = False
        self._waiting: asyncio.TimerHandle | None = None

    async def start(self, *, later: float = 0.0) -> None:
        """Start the workers; they get ready in the background, and work may be asked for at once.

        Parameters
        ----------
        later : float
            How long they may wait for work before they start, so that they do not take the processor from the first
            answer of the server. [s]
        """
        if later > 0.0:
            self._waiting = asyncio.get_running_loop().call_later(later, self._open)
        else:
            self._open()

    def _open(self) -> None:
        """Start the workers, unless they were, or the server is about to end."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None
        if self._places or self._stopping:
            return
        command = (sys.executable, "-P", "-m", "pullbook.web.worker", self._work, str(self.cache.folder))
        self._places = [Place(self, command) for _ in range(self._workers)]

    async def stop(self) -> None:
        """Cancel what is not over and end the workers; none is left when this returns."""
        self._stopping = True
        self._open()
        for run in self._book:
            if not run.job.state.is_over:
                self._over(run, State.CANCELLED, doing=_STOPPED)
        await asyncio.gather(self._results.settled(), *(place.close() for place in self._places))
        self._places = []
        self._news.close()

    def submit(self, task: Task, *, again: bool = True) -> Job:
        """Ask for work.

        Parameters
        ----------
        task : Task
            The work.
        again : bool
            Whether this begins what was stopped or failed for a reason outside of the files; a look does not.

        Returns
        -------
        Job
            The job that has this key already, running, kept, failed, stopped or dead; else a new one.

        Raises
        ------
        BusyError
            If there is too much to do already.
        """
        run = self._book.of_key(task.key)
        if run is None:
            run = Run.of(task, secrets.token_hex(8), self._work)
            is_kept = bool(task.key) and self.cache.has(task.key)
            self._book.add(run, waits=not is_kept)
            if is_kept:
                self._over(run, State.DONE)
            else:
                self._begin(run)
        elif (again and run.may_begin_again) or (run.job.state is State.DONE and not self._results.is_there(run)):
            self._begin(run)
        if task.waited_for and not run.task.waited_for:
            run.hurry()
            self.free()
        return run.job

    def job(self, identity: str) -> Job | None:
        """Job of an id as it is now; None where there is none, or it is forgotten."""
        run = self._book.get(identity)
        return run.job if run else None

    def jobs(self, session: str = "") -> tuple[Job, ...]:
        """All jobs that are remembered, oldest first; of one session where it is named."""
        return tuple(run.job for run in self._book if not session or run.job.session == session)

    def cancel(self, identity: str) -> Job | None:
        """End a job: at once where it waits, within a second where it runs; its state as `job` gives it."""
        run = self._book.get(identity)
        if run is None or run.job.state.is_over:
            return self.job(identity)
        self._queue.drop(lambda part: part.job == identity)
        places = [place for place in self._places if place.part is not None and place.part.job == identity]
        for place in places:
            place.cancel()
        run.cancelling = True
        if not places:
            self._over(run, State.CANCELLED)
        return run.job

    def retry(self, identity: str) -> Job | None:
        """Run a job again that is over and has no result, under its old id; its state as `job` gives it."""
        run = self._book.get(identity)
        if run is not None and run.job.state.is_over and run.job.state is not State.DONE:
            self._begin(run)
        return self.job(identity)

    async def wait(self, job: Job | str) -> Job:
        """Job as it is when it is over.

        Raises
        ------
        KeyError
            If there is no such job.
        """
        run = self._book[job if isinstance(job, str) else job.id]
        while not run.job.state.is_over:  # it may be begun again before this one hears that it was over
            await run.over.wait()
        return run.job

    async def files(self, job: Job | str) -> Mapping[str, bytes]:
        """Files of a job, waiting for them; a kept result that was damaged is made again.

        Raises
        ------
        PullbookError
            If the job failed, died or was cancelled, or its result was not kept and is forgotten.
        KeyError
            If there is no such job.
        """
        run = self._book[job if isinstance(job, str) else job.id]
        for _ in range(2):
            await self.wait(run.job)
            if run.job.state is not State.DONE:
                raise run.as_error()
            found = await self._results.of(run)
            if found is not None:
                return found
            if not run.task.key:
                break
            if run.job.state.is_over:
                self._begin(run)
        raise PullbookError("the result is no longer there", where=run.job.kind, remedy="ask for it again")

    def listen(self, session: str = "") -> Listener:
        """Asynchronous iterator of jobs: first those that are not over, then each whenever it changes.

        Parameters
        ----------
        session : str
            Id of a session; empty for all.
        """
        return self._news.listener(session, (job for job in self.jobs() if not job.state.is_over))

    def _begin(self, run: Run) -> None:
        if self._stopping:
            self._over(run, State.CANCELLED, doing=_STOPPED)
            return
        if self._waiting is not None:
            self._open()
        for part in run.begin(self._workers):
            self._queue.add(part)
        self._news.tell(run.job)
        self.free()

    def free(self) -> None:
        """Give work to the workers that have none; one worker is left to what is urgent."""
        for place in self._places:
            if place.is_free:
                slow = sum(other.part is not None and not other.part.urgent for other in self._places)
                part = self._queue.take(slow=slow < max(1, self._workers - 1))
                if part is None:
                    return
                place.give(part)

    def moved(self, part: Part) -> None:
        """Take note that a part was begun or is further."""
        run = self._book.get(part.job)
        if run is not None and run.move(part):
            self._news.tell(run.job)

    def ended(self, part: Part, head: Head, files: Mapping[str, bytes] | None) -> None:
        """Take note that a part has ended."""
        run = self._book.get(part.job)
        if run is None or not run.has(part):
            return
        state = State(head["state"])
        if state is State.DONE:
            if run.take(part, files):
                self._over(run, State.DONE)
                if part.weight:
                    self._results.keep(run)
            elif run.cancelling:
                self._give_up(run, State.CANCELLED)
            return
        self._give_up(run, state, error=head.get("error"), final=bool(head.get("final")))

    def lost(self, part: Part, how: str) -> None:
        """Take note that a worker is gone."""
        run = self._book.get(part.job)
        if run is None or not run.has(part):
            return
        if run.cancelling:
            self._give_up(run, State.CANCELLED)
        elif part.begun:
            self._give_up(run, State.DIED, error={"what": how, "where": part.doing, "value": "", "remedy": _AGAIN})
        else:
            self._queue.add(part, first=True)

    def hopeless(self, how: str) -> None:
        """Give up what waits, because no worker begins anything."""
        error = {"what": how, "where": "", "value": "", "remedy": "close other programs, then start pullbook again"}
        for identity in {part.job for part in self._queue.drop(lambda _: True)}:
            self._give_up(self._book[identity], State.FAILED, error=error)

    def _give_up(self, run: Run, state: State, *, error: Mapping[str, str] | None = None, final: bool = False) -> None:
        """End a job that one of its parts has spoilt, and the other parts with it."""
        identity = run.job.id
        self._queue.drop(lambda part: part.job == identity)
        for place in self._places:
            if place.part is not None and place.part.job == identity:
                place.cancel()
        run.is_final = final
        self._over(run, State.CANCELLED if run.cancelling and state is not State.DIED else state, error=error)

    def _over(
        self, run: Run, state: State, *, doing: str | None = None, error: Mapping[str, str] | None = None
    ) -> None:
        run.end(state, doing=run.job.doing if doing is None else doing, error=error)
        self._news.tell(run.job)
        self._book.tidy()
