"""Results of the runs: in the cache where they have a key, in memory where they have none or the disk refuses them."""

from __future__ import annotations

import asyncio
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.web.cache import Cache
    from pullbook.web.jobs_run import Run

__all__ = ["Results"]


class Results:
    """Where the result of a run is.

    Parameters
    ----------
    cache : Cache
        What is kept.
    """

    def __init__(self, cache: Cache) -> None:
        self._cache = cache
        self._keeping: set[asyncio.Task[None]] = set()

    def is_there(self, run: Run) -> bool:
        """Whether a run has a result."""
        return run.files is not None or (bool(run.task.key) and self._cache.has(run.task.key))

    async def of(self, run: Run) -> Mapping[str, bytes] | None:
        """Result of a run; None where it is not there, or was damaged."""
        if run.files is not None or not run.task.key:
            return run.files
        return await asyncio.to_thread(self._cache.get, run.task.key)

    def keep(self, run: Run) -> None:
        """Keep a result that the server holds, in the background, if it has a key."""
        if run.task.key and run.files is not None:
            task = asyncio.create_task(self._keep(run, run.files))
            self._keeping.add(task)
            task.add_done_callback(self._keeping.discard)

    async def settled(self) -> None:
        """Wait until everything is kept."""
        await asyncio.gather(*self._keeping)

    async def _keep(self, run: Run, files: Mapping[str, bytes]) -> None:
        try:
            await asyncio.to_thread(self._cache.put, run.task.key, files)
        except OSError as error:
            sys.stderr.write(f"pullbook: a result cannot be kept in {self._cache.folder} ({error.strerror}).\n")
            return
        if run.files is files:
            run.files = None
