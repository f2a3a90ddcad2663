"""The queue of the workers: urgent work first, and no session waits for all the work of another."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pullbook.app.content_key import Seen

__all__ = ["Part", "Queue"]


@dataclass(slots=True, kw_only=True, eq=False)
class Part:
    """What one worker does in one go: a whole job, or a share of one.

    Attributes
    ----------
    id : str
        Its own name; another one when it is run again.
    job, session, kind, key : str
        As its job has them; the key is empty where the job is divided.
    seen : tuple of Seen
        State of the files behind the key when it was made.
    urgent : bool
        Whether somebody waits for it before the page.
    arguments : mapping of str to object
        What the worker is given.
    weight : int
        Items of its share; 0 for a whole job.
    doing : str
        What is being done.
    done, total : int
        How far it is.
    begun : bool
        Whether a worker has begun it.
    files : mapping of str to bytes or None
        What it gave; None until then, and where the worker kept it.
    over : bool
        Whether it is done.
    """

    id: str
    job: str
    session: str
    kind: str
    urgent: bool
    arguments: Mapping[str, object]
    key: str = ""
    seen: tuple[Seen, ...] = ()
    weight: int = 0
    doing: str = ""
    done: int = 0
    total: int = 0
    begun: bool = False
    files: Mapping[str, bytes] | None = field(default=None, repr=False)
    over: bool = False


class Queue:
    """Parts that wait for a worker.

    Examples
    --------
    >>> queue = Queue()
    >>> for n, session in enumerate(["one", "one", "two"]):
    ...     queue.add(Part(id=str(n), job=str(n), session=session, kind="read", urgent=True, arguments={}))
    >>> [part.id for _ in range(3) if (part := queue.take(slow=True))]
    ['0', '2', '1']
    """

    def __init__(self) -> None:
        self._waiting: list[Part] = []
        self._turns: dict[str, int] = {}
        self._count = itertools.count(1)

    def __len__(self) -> int:
        return len(self._waiting)

    def add(self, part: Part, *, first: bool = False) -> None:
        """Let a part wait; `first` for one that a worker had and did not begin."""
        self._waiting.insert(0 if first else len(self._waiting), part)

    def take(self, *, slow: bool) -> Part | None:
        """Next part, and whether work that is not urgent may be taken; None where there is none to take.

        The session whose last turn is longest ago is next.
        """
        ready = [part for part in self._waiting if part.urgent or slow]
        if not ready:
            return None
        part = min(ready, key=lambda one: (not one.urgent, self._turns.get(one.session, 0)))
        self._waiting.remove(part)
        self._turns[part.session] = next(self._count)
        if not self._waiting:
            self._turns = {part.session: self._turns[part.session]}
        return part

    def drop(self, which: Callable[[Part], bool]) -> list[Part]:
        """Take out what nobody wants any more."""
        dropped = [part for part in self._waiting if which(part)]
        self._waiting = [part for part in self._waiting if not which(part)]
        return dropped
