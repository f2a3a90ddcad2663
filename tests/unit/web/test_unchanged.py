"""An answer that was overtaken by a change of the files is asked for again, and in the end it is said."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

import pytest

from pullbook.errors import PullbookError
from pullbook.web.jobs_records import Job, State, Task
from pullbook.web.jobs_run import Run
from pullbook.web.unchanged import FILES_CHANGED, ChangedError, while_unchanged

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable


def overtaken(times: int, asked: list[int]) -> Callable[[], Awaitable[str]]:
    """Asks in vain so many times."""

    async def ask() -> str:
        asked.append(len(asked))
        if len(asked) <= times:
            raise ChangedError("files changed")
        return "there"

    return ask


def test_an_answer_that_is_overtaken_is_asked_for_again() -> None:
    asked: list[int] = []
    assert asyncio.run(while_unchanged(overtaken(3, asked))) == "there"
    assert len(asked) == 4


def test_files_that_never_rest_are_told() -> None:
    asked: list[int] = []
    with pytest.raises(ChangedError):
        asyncio.run(while_unchanged(overtaken(100, asked)))
    assert len(asked) == 5


def test_what_else_fails_is_not_asked_for_again() -> None:
    asked: list[int] = []

    async def ask() -> str:
        asked.append(1)
        raise PullbookError("the disk is on fire")

    with pytest.raises(PullbookError, match="on fire"):
        asyncio.run(while_unchanged(ask))
    assert len(asked) == 1


def test_a_job_that_was_overtaken_is_told_from_one_that_failed() -> None:
    job = Job(id="1", kind="page", session="s", key="k", state=State.FAILED, error=dict(FILES_CHANGED))
    task = Task(kind="page", arguments={}, key="k", session="s")
    run = Run(task=task, kind=None, job=job)  # type: ignore[arg-type] # how it is done does not matter here
    assert isinstance(run.as_error(), ChangedError)
    run.is_final = True
    assert not isinstance(run.as_error(), ChangedError)
