"""What the archive knows of a session that lies in a folder, and of the changes that it tests."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Recalled", "Recollection", "SessionState", "TestedChange", "TestedIn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionState:
    """A session folder as it stands, by its hashes.

    Attributes
    ----------
    key : str
        Hash of its content.
    folder : str
        Where it is.
    files : mapping of str to str
        Hash of each file that would be remembered, by its name.
    pulls : tuple of str
        Names of those that hold pulls.
    """

    key: str
    folder: str
    files: Mapping[str, str]
    pulls: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recalled:
    """A session folder in the archive.

    Attributes
    ----------
    session : str
        Its name in the archive.
    revision : int
        The revision that it is, or from which it has changed.
    latest : int
        The latest revision.
    at : str
        When the revision was remembered, in UTC.
    program : str
        Version of pullbook that remembered it.
    excluded : str
        Why the session was excluded; empty where it was not.
    changed : tuple of str
        What has changed since the revision, in words; empty where it is the session as it stands.
    """

    session: str
    revision: int
    latest: int
    at: str
    program: str
    excluded: str
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TestedIn:
    """A session in which a change was tested.

    Attributes
    ----------
    session : str
        Its name in the archive.
    revision : int
        Its latest revision.
    day, title, folder : str
        As declared, or as corrected since.
    says : str
        What the change gave there, in one sentence.
    """

    session: str
    revision: int
    day: str
    title: str
    folder: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TestedChange:
    """A change and the sessions in which it was tested.

    Attributes
    ----------
    change : str
        In words, as in "header 4-2-1 from 4-1".
    sessions : tuple of TestedIn
        The latest first.
    without : int
        Sessions that may have tested it and kept no effect.
    """

    change: str
    sessions: tuple[TestedIn, ...]
    without: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Recollection:
    """Everything that the archive says about a session folder.

    Attributes
    ----------
    recalled : Recalled or None
        The session itself; None where it is not in the archive.
    changes : tuple of TestedChange
        What it changes, and who tested that before.
    """

    recalled: Recalled | None
    changes: tuple[TestedChange, ...]
