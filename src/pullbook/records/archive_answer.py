"""What the archive answers: what was remembered, found, noted, and what is damaged."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = [
    "ArchiveQuestion",
    "CheckedArchive",
    "Damage",
    "DimensionAsked",
    "Found",
    "FoundSession",
    "HistoryEntry",
    "Merged",
    "Outcome",
    "Remembered",
]


class Outcome(StrEnum):
    """What remembering came to."""

    NEW = "new"
    REVISED = "revised"
    FINDINGS = "findings"
    SAME = "same"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """What the archive did with a session.

    Attributes
    ----------
    session : str
        Name of the session in the archive.
    revision : int
        Which revision of it this is, from 1.
    outcome : Outcome
        Whether it was new, changed, worked out anew, or there already.
    changed : tuple of str
        What differs from the revision before, in words.
    """

    session: str
    revision: int
    outcome: Outcome
    changed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """What came out of another archive.

    Attributes
    ----------
    sessions, changed : int
        Sessions that are new, and those that were here and have more now.
    events, files : int
        What was added.
    conflicts : tuple of str
        What both archives say differently, and what holds now, in words.
    """

    sessions: int
    changed: int
    events: int
    files: int
    conflicts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DimensionAsked:
    """A dimension, or the difference of one, that is looked for.

    Attributes
    ----------
    low, high : float
        Range of the value, or of the difference where `difference`. [SI unit of `kind`]
    kind : str
        What it measures, as in "length".
    difference : bool
        Whether the step between two builds is meant, not the dimension itself.
    written : str
        The words.
    """

    low: float
    high: float
    kind: str
    difference: bool
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveQuestion:
    """What is looked for.

    Attributes
    ----------
    words : tuple of str
        Each has to be the beginning of a word of the session.
    dimensions : tuple of DimensionAsked
        Each has to be met.
    engine : str
        Words of the engine's name; empty for any.
    since, until : str
        First and last day, as "2026-05-04"; empty for any.
    excluded : bool
        Whether sessions that were excluded are shown too.
    most : int
        How many are shown.
    """

    words: tuple[str, ...] = ()
    dimensions: tuple[DimensionAsked, ...] = ()
    engine: str = ""
    since: str = ""
    until: str = ""
    excluded: bool = False
    most: int = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundSession:
    """One session that answers.

    Attributes
    ----------
    session : str
        Its name in the archive.
    revision : int
        Its latest revision.
    date : str
        The day of the test; empty where nobody declared one.
    title, engine : str
        As declared, or as corrected since.
    changed : tuple of str
        What was changed, as in "runners: 340 mm, 260 mm".
    headline : str
        What it showed, in one sentence.
    folder : str
        Where the session folder was.
    pulls : int
        Number of pulls.
    excluded : str
        Why it was excluded; empty where it was not.
    """

    session: str
    revision: int
    date: str
    title: str
    engine: str
    changed: tuple[str, ...]
    headline: str
    folder: str
    pulls: int
    excluded: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Answer to a question.

    Attributes
    ----------
    sessions : tuple of FoundSession
        The latest first.
    count : int
        How many there are in all.
    """

    sessions: tuple[FoundSession, ...]
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryEntry:
    """One event of the archive.

    Attributes
    ----------
    number : int
        Its number, from 1.
    at, who : str
        When, in UTC, and by whom.
    kind : str
        What was done: remember, findings, exclude, correct, undo.
    session : str
        The session it is about.
    says : str
        What was done, in words.
    undone_by : int
        Number of the event that undid it; 0 where it stands.
    """

    number: int
    at: str
    who: str
    kind: str
    session: str
    says: str
    undone_by: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """Something that is not as it was written.

    Attributes
    ----------
    what : str
        What is damaged, in words.
    lost : str
        What cannot be had any more; empty where the archive can make it again.
    """

    what: str
    lost: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedArchive:
    """Result of checking an archive.

    Attributes
    ----------
    sessions, events, files : int
        How many were checked.
    size : int
        What the archive takes. [byte]
    raw_size : int
        What the files in it took as they were. [byte]
    damages : tuple of Damage
        What is damaged; empty where all is whole.
    """

    sessions: int
    events: int
    files: int
    size: int
    raw_size: int
    damages: tuple[Damage, ...]
