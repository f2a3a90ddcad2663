"""Book of the runs: by id and by key, and no more of them than can be of use."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.web.jobs_run import Run

__all__ = ["Book"]

_REMEMBERED: Final = 1000  # jobs that are over
_HELD: Final = 64_000_000  # byte of results that are not kept on the disk


class Book:
    """All runs that are remembered, oldest first."""

    def __init__(self) -> None:
        self._runs: dict[str, Run] = {}
        self._by_key: dict[str, Run] = {}

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

    def add(self, run: Run) -> None:
        """Enter a run."""
        self._runs[run.job.id] = run
        if run.task.key:
            self._by_key[run.task.key] = run

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
