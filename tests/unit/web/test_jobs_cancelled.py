"""Jobs that are ended before they are done: cancelled, run again, stopped with the server."""

from __future__ import annotations

import asyncio
import json
import time
from typing import TYPE_CHECKING

import pytest
from jobs_started import KEY, at_work, until

from pullbook.errors import PullbookError
from pullbook.web.jobs import State, Task

if TYPE_CHECKING:
    from pathlib import Path


def test_work_that_is_asked_whether_it_goes_on_ends_at_once_when_cancelled(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            job = jobs.submit(Task(kind="steps", arguments={"count": 10_000, "pause": 0.01}))
            await until(jobs, job, State.RUNNING, "step")
            before = jobs._places[0].process_id
            jobs.cancel(job.id)
            assert (await jobs.wait(job)).state is State.CANCELLED
            await jobs.files(jobs.submit(Task(kind="echo", arguments={"text": "next"})))
            assert jobs._places[0].process_id == before
            with pytest.raises(PullbookError, match="cancelled"):
                await jobs.files(job)

    asyncio.run(scene())


def test_work_that_does_not_listen_is_ended_after_a_second(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            job = jobs.submit(Task(kind="deaf", arguments={"seconds": 60}))
            await until(jobs, job, State.RUNNING, "not")
            began = time.monotonic()
            jobs.cancel(job.id)
            assert (await jobs.wait(job)).state is State.CANCELLED
            assert 0.9 < time.monotonic() - began < 15.0
            echo = jobs.submit(Task(kind="echo", arguments={"text": "a new worker"}))
            assert await jobs.files(echo) == {"said.txt": b"a new worker"}

    asyncio.run(scene())


def test_a_job_that_waits_is_cancelled_at_once_and_never_begun(tmp_path: Path) -> None:
    async def scene() -> None:
        log = tmp_path / "log"
        async with at_work(tmp_path, workers=1) as jobs:
            busy = jobs.submit(Task(kind="steps", arguments={"count": 30, "pause": 0.01}))
            waits = jobs.submit(Task(kind="echo", arguments={"text": "never", "log": str(log)}, key=KEY))
            cancelled = jobs.cancel(waits.id)
            assert cancelled is not None
            assert cancelled.state is State.CANCELLED
            after = jobs.submit(Task(kind="echo", arguments={"text": "after it"}))
            assert (await jobs.wait(busy)).state is State.DONE
            assert (await jobs.wait(after)).state is State.DONE
            assert not log.exists()
            looked = jobs.submit(Task(kind="echo", arguments={"text": "now"}, key=KEY), again=False)
            assert (looked.id, looked.state) == (waits.id, State.CANCELLED), "a look begins nothing"
            assert jobs.submit(Task(kind="echo", arguments={"text": "now"}, key=KEY)).id == waits.id
            assert (await jobs.wait(waits)).state is State.DONE

    asyncio.run(scene())


def test_a_divided_job_can_be_cancelled_and_run_again(tmp_path: Path) -> None:
    async def scene() -> None:
        names = [str(number) for number in range(40)]
        async with at_work(tmp_path) as jobs:
            job = jobs.submit(Task(kind="count", arguments={"names": names, "pause": 0.05}))
            await until(jobs, job, State.RUNNING, "reading")
            jobs.cancel(job.id)
            assert (await jobs.wait(job)).state is State.CANCELLED
            again = jobs.retry(job.id)
            assert again is not None
            assert (again.id, again.state, again.done) == (job.id, State.WAITING, 0)
            assert len(json.loads((await jobs.files(job))["cards.json"])) == 40

    asyncio.run(scene())


def test_a_divided_job_is_cancelled_even_where_the_parts_that_run_are_done_first(tmp_path: Path) -> None:
    async def scene() -> None:
        names = [str(number) for number in range(8)]  # a name for each part, so that nobody asks after the pause
        async with at_work(tmp_path) as jobs:
            job = jobs.submit(Task(kind="count", arguments={"names": names, "pause": 0.4}, key=KEY))
            await until(jobs, job, State.RUNNING, "reading")
            jobs.cancel(job.id)
            async with asyncio.timeout(20):
                assert (await jobs.wait(job)).state is State.CANCELLED
            assert not jobs.cache.has(KEY)

    asyncio.run(scene())


def test_cancel_and_retry_of_what_is_not_there_or_done_change_nothing(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path) as jobs:
            assert jobs.job("no such id") is None
            assert jobs.cancel("no such id") is None
            assert jobs.retry("no such id") is None
            job = await jobs.wait(jobs.submit(Task(kind="echo", arguments={"text": "done"})))
            assert jobs.cancel(job.id) == jobs.retry(job.id) == job

    asyncio.run(scene())


def test_stopping_cancels_what_is_not_over_and_ends_all_listeners(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path) as jobs:
            job = jobs.submit(Task(kind="deaf", arguments={"seconds": 60}))
            await until(jobs, job, State.RUNNING, "not")
            listener = jobs.listen()
            began = time.monotonic()
            await jobs.stop()
            assert time.monotonic() - began < 15.0
            assert [state.state async for state in listener][-1] is State.CANCELLED
            assert (await jobs.wait(job)).state is State.CANCELLED
            assert jobs.submit(Task(kind="echo", arguments={"text": "late"})).state is State.CANCELLED

    asyncio.run(scene())


def test_a_job_can_be_asked_for_before_any_worker_is_ready_and_stopped_as_early(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path) as jobs:
            jobs.submit(Task(kind="echo", arguments={"text": "early"}))
        assert [job.state for job in jobs.jobs()] == [State.CANCELLED]

    asyncio.run(scene())
