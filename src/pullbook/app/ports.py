"""What the use cases need from outside, as protocols; `pullbook.wiring` fills them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["DemoBench", "Progress", "Silent"]


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
