"""What the use cases need from outside, as protocols; `pullbook.wiring` fills them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from pullbook.records.archive_answer import ArchiveQuestion, Found, Remembered
    from pullbook.records.archived import SessionMemory, Signed

__all__ = ["Archive", "Clock", "DemoBench", "Progress", "Silent"]


class Archive(Protocol):
    """Where every session that was remembered is kept."""

    def remember(self, memory: SessionMemory, signed: Signed) -> Remembered:
        """Add a session; harmless where it is there already, a new revision where it has changed."""
        ...

    def find(self, question: ArchiveQuestion) -> Found:
        """Sessions that answer a question, the latest first."""
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
