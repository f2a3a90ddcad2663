"""Another archive is merged in: what it has beside goes in with its history, what both have stays as it is.

An event is known by its ``uid``, a revision by the hash of its files, a session by a revision or more than half of the
files of pulls in common. Who did something, and when, stays; the number of an event is that of the archive it is in.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import func, insert, select

from pullbook.records.archive_answer import Merged
from pullbook.remember.blobs import known
from pullbook.remember.drawn import draw
from pullbook.remember.events import seal
from pullbook.remember.history import Blob, Event, Held, Piece
from pullbook.remember.views import Session, Source

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from sqlalchemy import Connection

__all__ = ["merge"]

_HALF: Final = 0.5
_LONG: Final = 24  # hexadecimal digits of a name where the short one is taken
_FOUND: Final = frozenset({"findings", "scatter", "evidence"})


def merge(source: Connection, goal: Connection, step: Callable[[str, int, int], None]) -> Merged:
    """Merge one archive into another, inside the transaction that is open.

    Parameters
    ----------
    source : Connection
        The archive that is read, whole and with the tables of today.
    goal : Connection
        The archive that takes it, being written.
    step : callable of (str, int, int)
        Is told how far the work is.

    Returns
    -------
    Merged
        What came in, and what both say differently.
    """
    merging = _Merging(source, goal)
    events = source.execute(select(*Event.__table__.columns).order_by(Event.id)).mappings().all()
    for number, event in enumerate(events):
        step("merging", number, len(events))
        merging.take({str(name): value for name, value in event.items()})
    for uid in sorted(merging.touched):
        draw(goal, uid)
    step("merging", max(len(events), 1), max(len(events), 1))
    return merging.told()


class _Merging:
    """What is known of both archives while events go over.

    Parameters
    ----------
    source, goal : Connection
        Where events come from, and where they go.
    """

    def __init__(self, source: Connection, goal: Connection) -> None:
        self._source = source
        self._goal = goal
        self.touched: set[str] = set()
        self._ours = {row.uid: row.id for row in goal.execute(select(Event.uid, Event.id))}
        self._before = set(goal.execute(select(Session.uid)).scalars())
        self._last = int(goal.execute(select(func.max(Event.id))).scalar_one() or 0)
        self._keys: dict[str, str] = {}  # of a revision -> name of the session here
        for row in goal.execute(select(Event.subject, Event.content).where(Event.kind == "remember")):
            self._keys[json.loads(row.content)["key"]] = row.subject
        self._names: dict[str, str] = {}  # of a session there -> its name here
        self._uids: dict[int, str] = {}
        self._left: set[int] = set()  # events there that are here under another uid
        self._events = self._files = 0
        self._conflicts: list[str] = []

    def take(self, event: dict[str, Any]) -> None:
        """Add an event, unless it is there."""
        self._uids[event["id"]] = event["uid"]
        name = self._name(event)
        if event["uid"] in self._ours:
            return
        told = json.loads(event["content"])
        held = [
            (row.role, row.name, row.sha256)
            for row in self._source.execute(
                select(Held.role, Held.name, Held.sha256).where(Held.event_id == event["id"])
            )
        ]
        kind = event["kind"]
        if kind == "remember" and told["key"] in self._keys:
            self._left.add(event["id"])
            kind = "findings"
        if kind == "findings":
            held = [one for one in held if one[0] in _FOUND or one[0] == "content"]
            if not self._new_findings(name, held):
                return
        elif kind == "undo" and not self._can_undo(event, name):
            return
        elif kind == "remember":
            self._keys[told["key"]] = name
        number = self._add({**event, "kind": kind, "subject": name}, held)
        self._note(name, kind, told, number)

    def told(self) -> Merged:
        """What was done."""
        new = self.touched - self._before
        return Merged(sessions=len(new), changed=len(self.touched - new), events=self._events, files=self._files,
                      conflicts=tuple(self._conflicts))  # fmt: skip

    def _name(self, event: dict[str, Any]) -> str:
        """Name here of the session that an event is about."""
        there = event["subject"]
        if there not in self._names:
            self._names[there] = self._found(there)
        return self._names[there]

    def _found(self, there: str) -> str:
        asked = select(Event.content).where(Event.subject == there, Event.kind == "remember").order_by(Event.id)
        keys = [json.loads(content)["key"] for content in self._source.execute(asked).scalars()]
        same = next((self._keys[key] for key in keys if key in self._keys), "")
        if same:
            return same
        own = select(Source.start).join(Session, Source.session_id == Session.id).where(Session.uid == there)
        starts = list(self._source.execute(own).scalars())
        shared = select(Session.uid, func.count(Source.start)).join(Source, Source.session_id == Session.id)
        shared = shared.where(Source.start.in_(starts)).group_by(Session.uid).order_by(func.count(Source.start).desc())
        most = self._goal.execute(shared.limit(1)).one_or_none()
        if most is not None and most[1] > _HALF * len(starts):
            return str(most[0])
        return keys[0][:_LONG] if there in self._before and keys else there

    def _new_findings(self, name: str, held: Sequence[tuple[str, str, str]]) -> bool:
        """Whether findings are others than those that are here."""
        asked = select(Held.sha256).join(Event, Held.event_id == Event.id)
        there = set(self._goal.execute(asked.where(Event.subject == name, Held.role == "findings")).scalars())
        return any(role == "findings" and sha256 not in there for role, _, sha256 in held)

    def _can_undo(self, event: dict[str, Any], name: str) -> bool:
        """Whether what was undone there is here, and not undone yet."""
        if event["undoes"] in self._left:
            self._conflicts.append(f"session {name} was taken back there on {event['at']}; here it stays")
            return False
        mine = self._ours.get(self._uids.get(event["undoes"], ""))
        if mine is None:
            return False
        return self._goal.execute(select(Event.id).where(Event.undoes == mine)).one_or_none() is None

    def _add(self, event: dict[str, Any], held: list[tuple[str, str, str]]) -> int:
        self._keep({sha256 for _, _, sha256 in held})
        undone = "" if event["undoes"] is None else self._uids[event["undoes"]]
        row = {key: value for key, value in event.items() if key != "id"}
        row |= {"undoes": self._ours[undone] if undone else None, "sha256": seal(event, held, undone)}
        number = int(self._goal.execute(insert(Event).values(row).returning(Event.id)).scalar_one())
        if held:
            rows = [{"event_id": number, "role": role, "name": name, "sha256": sha} for role, name, sha in held]
            self._goal.execute(insert(Held), rows)
        self._ours[event["uid"]] = number
        self._events += 1
        self.touched.add(event["subject"])
        return number

    def _keep(self, hashes: set[str]) -> None:
        """Copy files that are not here, packed as they are."""
        for sha256 in sorted(hashes - known(self._goal, hashes)):
            size = self._source.execute(select(Blob.size).where(Blob.sha256 == sha256)).scalar_one()
            self._goal.execute(insert(Blob).values(sha256=sha256, size=size))
            asked = select(Piece.number, Piece.content).where(Piece.sha256 == sha256).order_by(Piece.number)
            for piece in self._source.execute(asked):
                self._goal.execute(insert(Piece).values(sha256=sha256, number=piece.number, content=piece.content))
            self._files += 1

    def _note(self, name: str, kind: str, told: dict[str, str], number: int) -> None:
        """Say where both archives have something of their own about a session."""
        if name not in self._before:
            return
        own = select(Event.content).where(Event.subject == name, Event.kind == kind, Event.id <= self._last)
        ours = [json.loads(content) for content in self._goal.execute(own.order_by(Event.id)).scalars()]
        back = f"'pullbook remember --undo {number}' takes that back"
        if kind == "remember":
            self._conflicts.append(f"session {name} has another revision there, which is the latest now; {back}")
        elif kind == "exclude" and not ours:
            self._conflicts.append(f"session {name} is excluded there ({told['because']}), and now here; {back}")
        elif kind == "correct":
            same = [one["to"] for one in ours if one["what"] == told["what"]]
            if same and same[-1] != told["to"]:
                self._conflicts.append(
                    f"{told['what']} of session {name} is '{same[-1]}' here and '{told['to']}' there, "
                    f"and now '{told['to']}'; {back}"
                )
