"""Workers that die, swell or never start: the job says so, another worker comes, nothing waits for ever."""

from __future__ import annotations

import asyncio
import os
import random
import signal
import sys
from pathlib import Path

import pytest
from jobs_started import KEY, at_work, is_alive, place_ids, soon, until

from pullbook.web.jobs import State, Task
from pullbook.web.jobs_pool import death_in_words


@pytest.mark.parametrize(
    ("by", "words"),
    [
        (signal.SIGKILL, "the worker process was ended from outside, most often because memory ran out (SIGKILL)"),
        (signal.SIGTERM, "the worker process was ended from outside (SIGTERM)"),
        (signal.SIGSEGV, "the worker process crashed (SIGSEGV)"),
        (-3, "the worker process ended by itself (status 3)"),
    ],
)
def test_a_worker_that_dies_is_said_with_what_it_did_and_replaced(tmp_path: Path, by: int, words: str) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            job = await jobs.wait(jobs.submit(Task(kind="die", arguments={"by": int(by)}, key=KEY)))
            assert (job.state, job.done, job.total) == (State.DIED, 3, 7)
            assert job.error == {
                "what": words, "where": "about to die", "value": "",
                "remedy": "run it again; if it ends there again, close other programs or leave that file out",
            }  # fmt: skip
            assert not jobs.cache.has(KEY)
            echo = jobs.submit(Task(kind="echo", arguments={"text": "a new worker"}))
            assert await jobs.files(echo) == {"said.txt": b"a new worker"}

    asyncio.run(scene())


def test_a_job_whose_worker_died_is_not_begun_again_by_asking_but_by_retry(tmp_path: Path) -> None:
    async def scene() -> None:
        task = Task(kind="die", arguments={"by": 9, "once": str(tmp_path / "died")}, key=KEY)
        async with at_work(tmp_path, workers=1) as jobs:
            job = await jobs.wait(jobs.submit(task))
            assert jobs.submit(task) == job
            assert job.state is State.DIED
            jobs.retry(job.id)
            assert await jobs.files(job) == {"alive.txt": b"yes"}
            assert (await jobs.wait(job)).error is None

    asyncio.run(scene())


def test_an_idle_worker_that_is_killed_costs_nobody_a_job(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            for text in ("one", "two", "three"):
                assert await soon(lambda: len(place_ids(jobs)) == 1)
                victim = place_ids(jobs)[0]
                os.kill(victim, signal.SIGKILL)  # the server has not noticed when the job comes
                assert await jobs.files(jobs.submit(Task(kind="echo", arguments={"text": text})))
                assert place_ids(jobs) != [victim]

    asyncio.run(scene())


def test_every_part_of_a_divided_job_ends_when_one_worker_dies(tmp_path: Path) -> None:
    async def scene() -> None:
        names = [str(number) for number in range(40)]
        async with at_work(tmp_path) as jobs:
            job = jobs.submit(Task(kind="count", arguments={"names": names, "pause": 0.1}))
            await until(jobs, job, State.RUNNING, "reading")
            os.kill(place_ids(jobs)[0], signal.SIGKILL)
            died = await jobs.wait(job)
            assert died.state is State.DIED
            assert died.error is not None
            assert died.error["where"].startswith("reading")
            assert await soon(lambda: len(place_ids(jobs)) == 2 and all(place.is_free for place in jobs._places))

    asyncio.run(scene())


def test_workers_killed_at_random_moments_never_leave_half_a_result(tmp_path: Path) -> None:
    chance = random.Random(11)  # noqa: S311 - moments, not secrets

    async def scene() -> None:
        died = 0
        # One worker, because one that is ended again and again while it has nothing to do counts as one that cannot
        # start, and what waits is given up.
        async with at_work(tmp_path, workers=1) as jobs:
            for number in range(12):
                key = f"{number:064x}"
                job = jobs.submit(Task(kind="big", arguments={"size": 4_000_000}, key=key))
                await asyncio.sleep(chance.uniform(0.0, 0.35))
                for victim in place_ids(jobs):
                    os.kill(victim, signal.SIGKILL)
                job = await jobs.wait(job)
                died += job.state is State.DIED
                assert job.state in {State.DIED, State.DONE}
                assert jobs.cache.has(key) is (job.state is State.DONE) or job.state is State.DIED
                jobs.retry(job.id)
                assert len((await jobs.files(job))["big.bin"]) == 4_000_000
        assert died > 0

    asyncio.run(scene())


def test_no_process_that_the_work_started_is_left_when_its_worker_is_ended(tmp_path: Path) -> None:
    async def scene() -> None:
        mark = tmp_path / "child"
        async with at_work(tmp_path, workers=1) as jobs:
            job = jobs.submit(Task(kind="child", arguments={"mark": str(mark)}))
            assert await soon(lambda: mark.exists() and mark.read_text() != "")
            child = int(mark.read_text())
            assert is_alive(child)
            jobs.cancel(job.id)
            assert (await jobs.wait(job)).state is State.CANCELLED
            assert await soon(lambda: not is_alive(child))

    asyncio.run(scene())


def test_work_that_lets_nobody_in_can_be_cancelled_too(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            job = jobs.submit(Task(kind="stuck"))
            await until(jobs, job, State.RUNNING, "stuck")
            await asyncio.sleep(0.5)
            jobs.cancel(job.id)
            async with asyncio.timeout(5):
                assert (await jobs.wait(job)).state is State.CANCELLED

    asyncio.run(scene())


def test_a_worker_that_has_swollen_makes_room_for_a_fresh_one_after_its_work(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            seen = []
            for size in (1_000, 1_100_000_000, 1_000, 1_000):
                job = jobs.submit(Task(kind="swell", arguments={"size": size}))
                seen.append((await jobs.files(job))["process.txt"])
            assert seen[0] == seen[1] != seen[2] == seen[3]

    asyncio.run(scene())


def test_a_worker_of_a_large_server_is_not_taken_for_a_swollen_one(tmp_path: Path) -> None:
    async def scene() -> None:
        assert len(b"x" * 1_100_000_000) > 1e9  # what the system still counts as ours, and as that of each new process
        async with at_work(tmp_path, workers=1) as jobs:
            seen = [
                (await jobs.files(jobs.submit(Task(kind="swell", arguments={"size": 1_000}))))["process.txt"]
                for _ in range(3)
            ]
            assert len(set(seen)) == 1

    asyncio.run(scene())


def _first_to_go(process: int) -> int:
    return int(Path(f"/proc/{process}/oom_score_adj").read_text(encoding="ascii"))


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux chooses whom to end")
def test_a_worker_is_ended_before_the_server_where_memory_runs_out(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            assert await soon(lambda: len(place_ids(jobs)) == 1)
            assert _first_to_go(place_ids(jobs)[0]) == 500 > _first_to_go(os.getpid())

    asyncio.run(scene())


def test_jobs_fail_with_a_reason_where_no_worker_begins_anything(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1, work="jobs_broken_cases") as jobs:
            job = await jobs.wait(jobs.submit(Task(kind="echo", arguments={"text": "never"})))
            assert job.state is State.FAILED
            assert job.error is not None
            assert job.error["what"] == "the worker process ended by itself (status 7)"
            assert job.error["remedy"] == "close other programs, then start pullbook again"

    asyncio.run(scene())


def test_a_result_that_the_disk_does_not_take_is_given_all_the_same(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    async def scene() -> None:
        (tmp_path / "cache").write_text("a file where the folder should be")
        async with at_work(tmp_path, workers=1) as jobs:
            task = Task(kind="echo", arguments={"text": "held"}, key=KEY)
            assert await jobs.files(jobs.submit(task)) == {"said.txt": b"held"}
            assert jobs.submit(task).state is State.DONE
            names = Task(kind="count", arguments={"names": ["a", "b"]}, key=KEY[::-1])
            assert (await jobs.files(jobs.submit(names)))["cards.json"].startswith(b'[["a"')

    asyncio.run(scene())
    assert "a result cannot be kept" in capfd.readouterr().err


def test_a_death_by_a_signal_without_a_name_is_said_by_its_number() -> None:
    assert death_in_words(-250) == "the worker process crashed (signal 250)"
