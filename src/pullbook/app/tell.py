"""A result in sentences, for whoever prints it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.publish.wording import sentences

if TYPE_CHECKING:
    from pullbook.publish.story import Story
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.result import SessionResult

__all__ = ["tell"]


def tell(result: SessionResult, system: UnitSystem) -> Story:
    """Sentences of a result; the terminal and the page print the same ones."""
    return sentences(result, system)
