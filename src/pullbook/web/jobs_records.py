"""Task, Job and their states: what is asked of the workers, and what anybody may know about it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Job", "State", "Task"]


class State(StrEnum):
    """Where a job is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"
    DIED = "died"

    @property
    def is_over(self) -> bool:
        """Whether nothing more happens unless somebody asks."""
        return self not in {State.WAITING, State.RUNNING}


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """Work that is asked for.

    Attributes
    ----------
    kind : str
        Name of the kind, as in `pullbook.web.work.KINDS`.
    arguments : mapping of str to object
        Plain data that JSON can carry.
    key : str
        Name of what the result rests on, as `pullbook.app.content_key` makes it; empty for a result that is not kept.
        Where the files behind the key change before the work is done, the job fails and nothing is kept.
    session : str
        Id of the session, so that one does not wait for all the work of another.
    waited_for : bool
        Whether somebody looks at the place where the result will be; other work lets it go first, and leaves one worker
        free for it.
    """

    kind: str
    arguments: Mapping[str, object] = field(default_factory=dict)
    key: str = ""
    session: str = ""
    waited_for: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A job as it is at one moment.

    Attributes
    ----------
    id : str
        Its own name; a job that is run again keeps it.
    kind, session, key : str
        As its task has them.
    state : State
        Where it is.
    doing : str
        What is being done, in words.
    done, total : int
        How far it is; both 0 where that is not known yet.
    error : mapping of str to str or None
        ``what``, ``where``, ``value`` and ``remedy`` of what went wrong.
    """

    id: str
    kind: str
    session: str = ""
    key: str = ""
    state: State = State.WAITING
    doing: str = ""
    done: int = 0
    total: int = 0
    error: Mapping[str, str] | None = None

    def as_json(self) -> dict[str, object]:
        """Give the same as plain data."""
        return {
            "id": self.id, "kind": self.kind, "session": self.session, "key": self.key, "state": self.state.value,
            "doing": self.doing, "done": self.done, "total": self.total,
            "error": dict(self.error) if self.error else None,
        }  # fmt: skip
