"""What the use cases need from outside, as protocols; `pullbook.wiring` fills them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import datetime
    from pathlib import Path

    from pullbook.records.archive_answer import ArchiveQuestion, CheckedArchive, Found, HistoryEntry, Merged, Remembered
    from pullbook.records.archived import SessionMemory, Signed
    from pullbook.records.kept_session import KeptSession
    from pullbook.records.pooled import ChangeAsked, KeptEvidence, KeptScatter
    from pullbook.records.recollection import Recalled, SessionState

__all__ = ["Archive", "Clock", "DemoBench", "Progress", "Silent"]


class Archive(Protocol):
    """Where every session that was remembered is kept."""

    def remember(self, memory: SessionMemory, signed: Signed) -> Remembered:
        """Add a session; harmless where it is there already, a new revision where it has changed."""
        ...

    def find(self, question: ArchiveQuestion) -> Found:
        """Sessions that answer a question, the latest first."""
        ...

    def look_up(self, state: SessionState) -> Recalled | None:
        """Session of which a folder is a state; None where it would be a new one."""
        ...

    def evidence(self, asked: ChangeAsked | None) -> tuple[KeptEvidence, ...]:
        """What sessions in which a change was tested left for pooling; all sessions where none is asked for."""
        ...

    def scatter(self, dyno: str, bench: str, files: Iterable[str]) -> tuple[KeptScatter, ...]:
        """What all sessions of a bench say of its scatter, but for those that share a file of pulls."""
        ...

    def take_out(self, session: str) -> KeptSession:
        """Latest revision of a session with its files and findings."""
        ...

    def exclude(self, session: str, because: str, signed: Signed) -> int:
        """Exclude a session from what is found and pooled; the number of the event."""
        ...

    def correct(self, session: str, what: str, to: str, signed: Signed) -> int:
        """Correct what was declared of a session; the number of the event."""
        ...

    def undo(self, number: int, signed: Signed) -> int:
        """Undo an event; the number of the undoing."""
        ...

    def history(self, session: str) -> tuple[HistoryEntry, ...]:
        """Events in order, of one session or of all."""
        ...

    def check(self, step: Callable[[str, int, int], None], *, repair: bool = False) -> CheckedArchive:
        """Hold all of it against its hashes; work out anew, if asked, what can be."""
        ...

    def backup(self, goal: Path, step: Callable[[str, int, int], None], *, replace: bool) -> None:
        """Write one state of it into a file."""
        ...

    def merge(self, other: Path, step: Callable[[str, int, int], None]) -> Merged:
        """Take what another archive has beside."""
        ...

    def restore(self, backup: Path, step: Callable[[str, int, int], None], *, replace: bool) -> str:
        """Put a backup in its place; where what it held was written, if it held something."""
        ...

    def close(self) -> None:
        """Let go of it."""
        ...


class Clock(Protocol):
    """What tells the time."""

    def now(self) -> datetime:
        """Give the moment, with its zone."""
        ...


class DemoBench(Protocol):
    """Source of the demo session."""

    def demo_session(self) -> Mapping[str, bytes]:
        """Give the files of the demo session folder: relative name to content."""
        ...


class Progress(Protocol):
    """Somebody who watches a long job and may end it by raising KeyboardInterrupt."""

    def step(self, doing: str, done: int, total: int) -> None:
        """Say what is being done, and how far it is."""
        ...


class Silent:
    """Nobody watches."""

    def step(self, doing: str, done: int, total: int) -> None:
        """Say nothing."""
