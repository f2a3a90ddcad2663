"""A server with workers and no page, for tests that end it: ``python jobs_server.py FOLDER KIND ARGUMENTS``.

It writes the ids of its workers to its standard output, one line for each state of the job, and waits.
"""

from __future__ import annotations

import asyncio
import json
import signal
import sys
from pathlib import Path

from jobs_started import at_work, place_ids, soon

from pullbook.web.jobs import Task


async def serve(folder: Path, kind: str, arguments: dict[str, object]) -> None:
    """Start two workers, let one work, and wait to be ended."""
    async with at_work(folder) as jobs:
        await soon(lambda: len(place_ids(jobs)) == 2)
        jobs.submit(Task(kind=kind, arguments=arguments))
        async for job in jobs.listen():
            say({"workers": place_ids(jobs), "state": job.state, "doing": job.doing})


def say(line: dict[str, object]) -> None:
    """Write a line for the test."""
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    # What a shell starts in the background is told to pass these over.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
    asyncio.run(serve(Path(sys.argv[1]), sys.argv[2], json.loads(sys.argv[3])))
