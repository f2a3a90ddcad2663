"""Jobs: asked for once, shared, kept, told."""

from __future__ import annotations

import asyncio
import json
import time
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from jobs_started import KEY, at_work, place_ids, soon, until

from pullbook.errors import PullbookError
from pullbook.web.jobs import Job, State, Task

if TYPE_CHECKING:
    from pathlib import Path


def test_work_is_done_in_another_process_and_gives_its_files(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path) as jobs:
            job = jobs.submit(Task(kind="echo", arguments={"text": "hello"}, session="s-1"))
            assert (job.kind, job.session, job.state) == ("echo", "s-1", State.WAITING)
            assert (await jobs.wait(job)).state is State.DONE
            assert await jobs.files(job) == {"said.txt": b"hello"}

    asyncio.run(scene())


def test_what_a_library_prints_does_not_get_between_the_frames(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            for text in ("one", "two"):  # each prints a line as well
                job = jobs.submit(Task(kind="echo", arguments={"text": text}))
                assert await jobs.files(job) == {"said.txt": text.encode()}

    asyncio.run(scene())


def test_two_that_ask_for_the_same_key_share_one_job(tmp_path: Path) -> None:
    async def scene() -> None:
        log = tmp_path / "log"
        task = Task(kind="echo", arguments={"text": "once", "log": str(log)}, key=KEY)
        async with at_work(tmp_path) as jobs:
            first, second = jobs.submit(task), jobs.submit(task)
            assert first.id == second.id
            await jobs.wait(first)
            assert jobs.submit(task).state is State.DONE
            assert len(log.read_text().splitlines()) == 1

    asyncio.run(scene())


def test_a_result_with_a_key_outlives_the_server(tmp_path: Path) -> None:
    async def ask() -> tuple[Job, bytes]:
        async with at_work(tmp_path) as jobs:
            job = jobs.submit(
                Task(kind="echo", arguments={"text": "kept", "log": str(tmp_path / "log")}, key=KEY, session="s")
            )
            return job, (await jobs.files(job))["said.txt"]

    first, second = asyncio.run(ask()), asyncio.run(ask())
    assert (first[0].state, second[0].state) == (State.WAITING, State.DONE)
    assert first[1] == second[1] == b"kept"
    assert len((tmp_path / "log").read_text().splitlines()) == 1


def test_a_result_without_a_key_is_made_each_time(tmp_path: Path) -> None:
    async def scene() -> None:
        log = tmp_path / "log"
        async with at_work(tmp_path) as jobs:
            for _ in range(2):
                await jobs.files(jobs.submit(Task(kind="echo", arguments={"text": "again", "log": str(log)})))
        assert len(log.read_text().splitlines()) == 2

    asyncio.run(scene())


def test_a_kept_result_that_was_damaged_is_made_again(tmp_path: Path) -> None:
    async def scene() -> None:
        log = tmp_path / "log"
        task = Task(kind="echo", arguments={"text": "whole", "log": str(log)}, key=KEY)
        async with at_work(tmp_path) as jobs:
            await jobs.files(jobs.submit(task))
            packed = jobs.cache.folder / KEY / "said.txt.gz"
            packed.write_bytes(packed.read_bytes()[:-1] + b"x")  # as long as before
            assert await jobs.files(jobs.submit(task)) == {"said.txt": b"whole"}
            assert len(log.read_text().splitlines()) == 2
            packed.write_bytes(b"")
            assert jobs.submit(task).state is State.WAITING  # a wrong length is seen at once
            assert await jobs.files(jobs.submit(task)) == {"said.txt": b"whole"}

    asyncio.run(scene())


def test_an_error_of_ours_arrives_with_its_four_parts(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path) as jobs:
            job = await jobs.wait(jobs.submit(Task(kind="fail", arguments={"how": "input"})))
            assert job.state is State.FAILED
            said = {"what": "the unit is missing", "where": "pull[1]", "value": "99.2", "remedy": "write '99.2 kPa'"}
            assert job.as_json()["error"] == said
            with pytest.raises(PullbookError, match="the unit is missing") as caught:
                await jobs.files(job)
            assert caught.value.remedy == "write '99.2 kPa'"

    asyncio.run(scene())


@pytest.mark.parametrize(("how", "name"), [("defect", "ZeroDivisionError: by nothing"), ("exit", "SystemExit: 3")])
def test_a_defect_of_the_work_is_one_sentence_and_the_worker_lives(tmp_path: Path, how: str, name: str) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            job = await jobs.wait(jobs.submit(Task(kind="fail", arguments={"how": how})))
            assert job.error is not None
            assert job.error["what"] == f"this is a defect of pullbook ({name}); nothing of yours was changed"
            echo = jobs.submit(Task(kind="echo", arguments={"text": "still here"}))
            assert await jobs.files(echo) == {"said.txt": b"still here"}

    asyncio.run(scene())


@pytest.mark.parametrize(("how", "times"), [("input", 1), ("machine", 2)])
def test_asking_again_tries_again_only_where_that_may_help(tmp_path: Path, how: str, times: int) -> None:
    async def scene() -> None:
        log = tmp_path / "log"
        async with at_work(tmp_path) as jobs:
            for _ in range(2):
                await jobs.wait(jobs.submit(Task(kind="fail", arguments={"how": how, "log": str(log)}, key=KEY)))
        assert len(log.read_text().splitlines()) == times

    asyncio.run(scene())


def test_a_result_is_not_kept_where_a_file_changed_while_it_was_read(tmp_path: Path) -> None:
    from pullbook.app.content_key import content_key

    async def scene() -> None:
        (tmp_path / "session.toml").write_text("[session]\ntitle = 'before'\n")
        key = content_key(tmp_path, ["findings"])
        async with at_work(tmp_path) as jobs:
            job = await jobs.wait(jobs.submit(Task(kind="touch", arguments={"folder": str(tmp_path)}, key=key)))
            assert job.error is not None
            assert job.error["what"] == "files of the session changed while they were read"
            assert not jobs.cache.has(key)

    asyncio.run(scene())


def test_a_list_is_divided_among_all_workers_and_put_together_in_order(tmp_path: Path) -> None:
    async def scene() -> None:
        names = [f"a{number}.csv" for number in range(50)]
        async with at_work(tmp_path) as jobs:
            job = jobs.submit(Task(kind="count", arguments={"names": names, "pause": 0.02}, key=KEY))
            seen: list[int] = []
            async for state in jobs.listen():
                seen.append(state.done)
                assert state.total in {0, 50}
                if state.state.is_over:
                    break
            cards = json.loads((await jobs.files(job))["cards.json"])
            assert [card[0] for card in cards] == names
            assert len({card[1] for card in cards}) == 2
            assert seen == sorted(seen)
            assert seen[-1] == 50
        async with at_work(tmp_path) as jobs:
            assert jobs.submit(Task(kind="count", arguments={"names": names}, key=KEY)).state is State.DONE

    asyncio.run(scene())


def test_progress_is_told_at_most_20_times_a_second_and_the_last_word_arrives(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=1) as jobs:
            job = jobs.submit(Task(kind="steps", arguments={"count": 500, "pause": 0.002}))
            start = await until(jobs, job, State.RUNNING)
            began, told = time.monotonic(), 0
            async for state in jobs.listen():
                told += 1
                if state.state.is_over:
                    break
            lasted = time.monotonic() - began
            assert start.total in {0, 500}
            assert 10 < told < 20 * lasted + 5
            # A word after which nothing is said for long must not be held back.
            deaf = jobs.submit(Task(kind="deaf", arguments={"seconds": 1.0}))
            assert (await until(jobs, deaf, State.RUNNING, "not listening")).total == 1

    asyncio.run(scene())


def test_long_work_leaves_a_worker_to_what_is_urgent(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=2) as jobs:
            assert await soon(lambda: len(place_ids(jobs)) == 2)
            slow = [jobs.submit(Task(kind="slow", arguments={"count": 5000, "pause": 0.01})) for _ in range(3)]
            await until(jobs, slow[0], State.RUNNING)
            assert await jobs.files(jobs.submit(Task(kind="echo", arguments={"text": "quick"})))
            await asyncio.sleep(0.3)
            states = [job.state for job in jobs.jobs()]
            assert states == [State.RUNNING, State.WAITING, State.WAITING, State.DONE]

    asyncio.run(scene())


def test_what_nobody_waits_for_leaves_a_worker_free_until_somebody_does(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path, workers=2) as jobs:
            assert await soon(lambda: len(place_ids(jobs)) == 2)
            work = {"count": 5000, "pause": 0.01}
            tasks = [Task(kind="steps", arguments=work, key=KEY[:-1] + end, waited_for=False) for end in "012"]
            listed = [jobs.submit(task) for task in tasks]
            await until(jobs, listed[0], State.RUNNING)
            await asyncio.sleep(0.3)
            assert [job.state for job in jobs.jobs()] == [State.RUNNING, State.WAITING, State.WAITING]
            assert jobs.submit(replace(tasks[2], waited_for=True)).id == listed[2].id
            await until(jobs, listed[2], State.RUNNING)
            assert [job.state for job in jobs.jobs()] == [State.RUNNING, State.WAITING, State.RUNNING]

    asyncio.run(scene())


def test_whoever_listens_hears_first_what_is_not_over_and_only_its_session(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path) as jobs:
            mine = jobs.submit(Task(kind="echo", arguments={"text": "mine"}, session="mine"))
            jobs.submit(Task(kind="echo", arguments={"text": "other"}, session="other"))
            heard: list[Job] = []
            async for state in jobs.listen("mine"):
                heard.append(state)
                if state.state.is_over:
                    break
            assert {state.id for state in heard} == {mine.id}
            assert heard[0].state is State.WAITING
            assert json.loads(json.dumps(heard[-1].as_json()))["state"] == "done"

    asyncio.run(scene())


def test_a_kind_that_nobody_knows_and_arguments_that_no_json_carries_are_refused_at_once(tmp_path: Path) -> None:
    async def scene() -> None:
        async with at_work(tmp_path) as jobs:
            with pytest.raises(KeyError):
                jobs.submit(Task(kind="no such kind"))
            with pytest.raises(TypeError):
                jobs.submit(Task(kind="echo", arguments={"text": tmp_path}))
            assert jobs.jobs() == ()

    asyncio.run(scene())
