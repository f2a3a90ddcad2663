"""Book of the runs: by id and by key, and no more of them than can be of use."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.web.jobs_run import Run

__all__ = ["Book", "BusyError"]

_REMEMBERED: Final = 1000  # jobs that are over
_HELD: Final = 64_000_000  # byte of results that are not kept on the disk
_UNDER_WAY: Final = 10_000  # jobs that are not over; a folder of so many sessions may be compared at once
_OF_ONE: Final = 2_000  # those among them of one session, which may have so many files


class BusyError(FailureError):
    """So much waits for the workers that no more is taken."""


class Book:
    """All runs that are remembered, oldest first."""

    def __init__(self) -> None:
        self._runs: dict[str, Run] = {}
        self._by_key: dict[str, Run] = {}
        self._under_way: Counter[str] = Counter()  # by session; those that are over are counted till there is no room

    def __iter__(self) -> Iterator[Run]:
        return iter(tuple(self._runs.values()))

    def __getitem__(self, identity: str) -> Run:
        return self._runs[identity]

    def get(self, identity: str) -> Run | None:
        """Run of an id, or None."""
        return self._runs.get(identity)

    def of_key(self, key: str) -> Run | None:
        """Run whose result has a key, or None; the empty key belongs to nobody."""
        return self._by_key.get(key) if key else None

    def add(self, run: Run, *, waits: bool = True) -> None:
        """Enter a run.

        Raises
        ------
        BusyError
            If it waits for a worker, and too many do, of its session or of all; it is not entered.
        """
        if waits:
            self._demand_room(run.job.session)
        self._runs[run.job.id] = run
        if run.task.key:
            self._by_key[run.task.key] = run

    def _demand_room(self, session: str) -> None:
        if self._is_full(session):
            self._under_way = Counter(run.job.session for run in self if not run.job.state.is_over)
            if self._is_full(session):
                raise BusyError("the notebook has too much to do", remedy="ask again when some of it is done")
        self._under_way[session] += 1

    def _is_full(self, session: str) -> bool:
        return self._under_way[session] >= _OF_ONE or self._under_way.total() >= _UNDER_WAY

    def tidy(self) -> None:
        """Forget the oldest of what is over, and results that are held in memory beyond what is allowed."""
        over = [run for run in self if run.job.state.is_over]
        for run in over[: max(0, len(over) - _REMEMBERED)]:
            del self._runs[run.job.id]
            if self._by_key.get(run.task.key) is run:
                del self._by_key[run.task.key]
        held = 0
        for run in reversed(over):
            size = sum(map(len, run.files.values())) if run.files else 0
            if held and held + size > _HELD:
                run.files = None
            else:
                held += size
