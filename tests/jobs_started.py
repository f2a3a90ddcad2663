"""Workers for tests: started in a folder of the test, and ended with it."""

from __future__ import annotations

import asyncio
import os
import time
from contextlib import asynccontextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.web.cache import Cache
from pullbook.web.jobs import Job, Jobs, State

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

__all__ = ["KEY", "at_work", "is_alive", "place_ids", "soon", "soon_blocking", "until"]

KEY: Final = "0123456789abcdef" * 4
_PATIENCE: Final = 60.0  # s; a busy machine must not fail a test
_WHOLE: Final = 150.0  # s
_TESTS: Final = str(Path(__file__).parent)


@asynccontextmanager
async def at_work(folder: Path, *, workers: int = 2, work: str = "jobs_cases") -> AsyncIterator[Jobs]:
    """Jobs that are started, with the kinds of work of the tests."""
    before = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = os.pathsep.join([_TESTS, *([before] if before else [])])
    jobs = Jobs(Cache(folder / "cache"), workers=workers, work=work)
    await jobs.start()
    try:
        async with asyncio.timeout(_WHOLE):
            yield jobs
    finally:
        await jobs.stop()
        if before is None:
            del os.environ["PYTHONPATH"]
        else:
            os.environ["PYTHONPATH"] = before


async def until(jobs: Jobs, job: Job, state: State, doing: str = "") -> Job:
    """Job as soon as it is in a state, and has said what it does."""
    async with asyncio.timeout(_PATIENCE):
        while True:
            now = jobs.job(job.id)
            if now is not None and now.state is state and now.doing.startswith(doing):
                return now
            await asyncio.sleep(0.005)


async def soon(condition: Callable[[], bool]) -> bool:
    """Whether something becomes true before patience ends."""
    end = time.monotonic() + _PATIENCE
    while not condition():
        if time.monotonic() > end:
            return False
        await asyncio.sleep(0.01)
    return True


def soon_blocking(condition: Callable[[], bool]) -> bool:
    """Do the same where there is no loop."""
    return asyncio.run(soon(condition))


def place_ids(jobs: Jobs) -> list[int]:
    """Processes that are ready for work now."""
    return [identity for place in jobs._places if (identity := place.process_id)]


def is_alive(process_id: int) -> bool:
    """Whether a process is there and no zombie."""
    try:
        status = Path(f"/proc/{process_id}/stat").read_text(encoding="utf-8", errors="replace")
    except (FileNotFoundError, ProcessLookupError):
        return False
    return status.rpartition(")")[2].split()[0] != "Z"
