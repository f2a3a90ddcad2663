"""A session as the archive gives it back."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.records.archived import ArchivedSession

__all__ = ["KeptSession"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KeptSession:
    """The latest revision of a session, with all that was kept of it.

    Attributes
    ----------
    session : str
        Its name in the archive.
    revision : int
        Which revision it is, from 1.
    at : str
        When that was remembered, in UTC, as "2026-05-04T09:12:00Z".
    content : ArchivedSession
        What was declared and found.
    corrections : mapping of str to str
        What was corrected in the archive since: title, date, engine, question or notes.
    excluded : str
        Why it is excluded; empty where it is not.
    files : mapping of str to bytes
        Content of every file of the session folder by its name, ``session.toml`` first.
    findings : bytes
        The findings as JSON; empty where there are none.
    """

    session: str
    revision: int
    at: str
    content: ArchivedSession
    corrections: Mapping[str, str]
    excluded: str
    files: Mapping[str, bytes]
    findings: bytes

    def __post_init__(self) -> None:
        object.__setattr__(self, "corrections", MappingProxyType(dict(self.corrections)))
        object.__setattr__(self, "files", MappingProxyType(dict(self.files)))
