"""What the archive is asked for pooling and learning, and what it gives."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.records.archive_answer import ArchiveQuestion

__all__ = ["ChangeAsked", "KeptEvidence", "KeptScatter"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeAsked:
    """A change whose effect is looked for: to something, from something.

    Attributes
    ----------
    written : str
        The words.
    to, from_ : ArchiveQuestion
        Words and dimensions of both sides.
    step : int
        1 where a dimension is to grow, -1 where it is to shrink, 0 where both sides are named.
    """

    written: str
    to: ArchiveQuestion
    from_: ArchiveQuestion
    step: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KeptEvidence:
    """Evidence of the latest revision of one session.

    Attributes
    ----------
    session : str
        Its name in the archive.
    revision : int
        The revision.
    key : str
        Hash of its content.
    day, title, engine, folder, dyno, standard : str
        As declared, or as corrected since.
    evidence : mapping
        As ``pullbook.evidence/1`` has it; empty where it was remembered before evidence was kept.
    matches : tuple of (int, int)
        Number of each effect that is the change asked for, and 1, or -1 where it is the other way round.
    """

    session: str
    revision: int
    key: str
    day: str
    title: str
    engine: str
    folder: str
    dyno: str
    standard: str
    evidence: Mapping[str, Any] = field(default_factory=dict[str, Any])
    matches: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptScatter:
    """What one session says of the sources of scatter.

    Attributes
    ----------
    session : str
        Its name in the archive.
    packed : bytes
        The likelihood, packed.
    """

    session: str
    packed: bytes
