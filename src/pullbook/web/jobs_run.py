"""Run: a job from the inside, with its parts and what they gave."""

from __future__ import annotations

import asyncio
import itertools
import json
from dataclasses import dataclass, field, replace
from importlib import import_module
from typing import TYPE_CHECKING, Final

from pullbook.app.content_key import seen_behind
from pullbook.errors import InputError, PullbookError
from pullbook.web.jobs_queue import Part
from pullbook.web.jobs_records import Job, State
from pullbook.web.unchanged import FILES_CHANGED, ChangedError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Self

    from pullbook.web.jobs_kind import Kind
    from pullbook.web.jobs_records import Task

__all__ = ["Run", "joined"]

_SHARES: Final = 4  # parts for each worker, so that one slow file does not leave a worker idle for long
_ids: Final = itertools.count(1)


@dataclass(slots=True, kw_only=True, eq=False)
class Run:
    """A job and its parts.

    Attributes
    ----------
    task : Task
        What was asked for.
    kind : Kind
        How it is done.
    job : Job
        Its state for everybody else.
    parts : list of Part
        What the workers are given.
    over : asyncio.Event
        Set while the job is over.
    files : mapping of str to bytes or None
        Result that is held in memory because it is not kept on the disk.
    cancelling : bool
        Whether somebody has ended it.
    is_final : bool
        Whether it failed for a reason in what was asked, so that running it again would say the same.
    """

    task: Task
    kind: Kind
    job: Job
    parts: list[Part] = field(default_factory=list)
    over: asyncio.Event = field(default_factory=asyncio.Event)
    files: Mapping[str, bytes] | None = None
    cancelling: bool = False
    is_final: bool = False

    @classmethod
    def of(cls, task: Task, identity: str, work: str) -> Self:
        """Run of a task.

        Raises
        ------
        KeyError
            If there is no such kind.
        TypeError, ValueError
            If the arguments are no plain data.
        """
        json.dumps(dict(task.arguments), allow_nan=False)
        kind: Kind = import_module(work).KINDS[task.kind]
        return cls(task=task, kind=kind, job=Job(id=identity, kind=task.kind, session=task.session, key=task.key))

    @property
    def may_begin_again(self) -> bool:
        """Whether asking again is worth another try."""
        return self.job.state is State.CANCELLED or (self.job.state is State.FAILED and not self.is_final)

    def as_error(self) -> PullbookError:
        """Give the error of a run that is over without a result."""
        said = self.job.error
        if said is None:
            return PullbookError("the work was cancelled", where=self.job.kind, remedy="run it again")
        failed = ChangedError if said == FILES_CHANGED else PullbookError
        kind = InputError if self.is_final else failed  # what was asked or given is wrong, or the work failed
        return kind(said["what"], where=said["where"], value=said["value"], remedy=said["remedy"])

    @property
    def _is_urgent(self) -> bool:
        return self.kind.urgent and self.task.waited_for

    def hurry(self) -> None:
        """Take note that somebody waits for it now."""
        self.task = replace(self.task, waited_for=True)
        for part in self.parts:
            part.urgent = self._is_urgent

    def begin(self, workers: int) -> list[Part]:
        """Parts to be done, from the start."""
        self.over.clear()
        self.files, self.cancelling, self.is_final = None, False, False
        self.job = replace(self.job, state=State.WAITING, doing="", done=0, total=0, error=None)
        items = self.task.arguments.get(self.kind.split) if self.kind.split else None
        if not isinstance(items, list | tuple) or len(items) < 2:
            self.parts = [self._part(self.task.arguments)]
            return self.parts
        size = -(-len(items) // (workers * _SHARES))
        shares = [items[start : start + size] for start in range(0, len(items), size)]
        self.parts = [
            self._part({**self.task.arguments, self.kind.split: list(share)}, weight=len(share)) for share in shares
        ]
        return self.parts

    def _part(self, arguments: Mapping[str, object], weight: int = 0) -> Part:
        task = self.task
        return Part(
            id=str(next(_ids)), job=self.job.id, session=task.session, kind=task.kind, urgent=self._is_urgent,
            arguments=arguments, key="" if weight else task.key, seen=seen_behind(task.key), weight=weight,
        )  # fmt: skip

    def has(self, part: Part) -> bool:
        """Whether a part is one of those that are being done now."""
        return not self.job.state.is_over and part in self.parts

    def move(self, part: Part) -> bool:
        """Take note of progress; whether anything changed."""
        if not self.has(part):
            return False
        before = self.job
        if part.weight:
            done = sum(one.weight if one.over else one.weight * one.done // max(1, one.total) for one in self.parts)
            total = sum(one.weight for one in self.parts)
        else:
            done, total = part.done, part.total
        self.job = replace(before, state=State.RUNNING, doing=part.doing or before.doing, done=done, total=total)
        return self.job != before

    def take(self, part: Part, files: Mapping[str, bytes] | None) -> bool:
        """Take what a part gave; whether it was the last one."""
        part.over, part.files = True, files
        if not all(one.over for one in self.parts):
            self.move(part)
            return False
        self.files = joined([one.files or {} for one in self.parts]) if part.weight else files
        return True

    def end(self, state: State, *, doing: str, error: Mapping[str, str] | None) -> None:
        """Set the last state."""
        done = self.job.total if state is State.DONE else self.job.done
        self.job = replace(self.job, state=state, doing=doing, done=done, error=error)
        self.parts = []
        self.over.set()


def joined(results: list[Mapping[str, bytes]]) -> dict[str, bytes]:
    """Files of a divided job: lists in JSON, one after the other.

    Examples
    --------
    >>> joined([{"cards.json": b"[1, 2]"}, {"cards.json": b"[3]"}])
    {'cards.json': b'[1, 2, 3]'}
    """
    names = dict.fromkeys(name for result in results for name in result)
    return {
        name: json.dumps([one for result in results for one in json.loads(result.get(name, b"[]"))]).encode()
        for name in names
    }
