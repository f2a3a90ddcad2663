"""Which comparison the page of a session shows: that of the session as it stands, or, marked, the one before."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.content_key import seen_behind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.sessions import SessionPlace
    from pullbook.records.draft import Draft
    from pullbook.web.asked import Asked
    from pullbook.web.jobs import Job
    from pullbook.web.notebook import Notebook

__all__ = ["Shown", "Wanted", "shown_of"]

# Where the comparison has failed, the one before is taken away. What the reader is told then is that these pulls do not
# answer; numbers under it would be taken for the answer, and nothing would ever replace them. One that somebody stopped
# says nothing of the pulls: then the one before stays, marked, until it is made after all.
_TAKEN_AWAY: Final = frozenset({"failed", "died"})
_PARTS: Final = "parts.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """The comparison that a page shows.

    Attributes
    ----------
    key : str
        Under which it is kept; empty where none is shown.
    parts : mapping of str to object or None
        Sections and what belongs to them.
    job : Job or None
        What makes the comparison of the session as it stands; None where that is shown, or cannot be made yet.
    changed : str
        What has changed since the comparison that is shown, in words; empty where it is that of the session as it
        stands.
    """

    key: str = ""
    parts: Mapping[str, Any] | None = None
    job: Job | None = None
    changed: str = ""

    @property
    def state(self) -> str:
        """How the page marks what it shows: "now", "before", or "none" where it shows no findings."""
        if self.parts is None:
            return "none"
        return "before" if self.changed else "now"

    @property
    def sections(self) -> dict[str, str]:
        """Sections as HTML, by their names."""
        return dict(self.parts["sections"]) if self.parts is not None else {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a page asks for.

    Attributes
    ----------
    asked : Asked
        What the address asks.
    answer : tuple of (str, Job) or None
        Key and job of the findings; None where the session is not finished enough to be compared.
    on_page : str
        Key of what the page shows that asks for itself again; empty for a page that is opened.
    opened : bool
        Whether it is opened, and does not ask for itself again.
    """

    asked: Asked
    answer: tuple[str, Job] | None = None
    on_page: str = ""
    opened: bool = True


async def shown_of(notebook: Notebook, place: SessionPlace, draft: Draft, wanted: Wanted) -> Shown:
    """Find the comparison that the page of a session shows.

    Parameters
    ----------
    notebook : Notebook
        The served folder.
    place : SessionPlace
        The session.
    draft : Draft
        What its file says.
    wanted : Wanted
        What the page asks for.

    Returns
    -------
    Shown
        The comparison of the session as it stands where it is kept, else the one before while it is being made.
    """
    return await asyncio.to_thread(_shown, notebook, place, draft, wanted)


def _shown(notebook: Notebook, place: SessionPlace, draft: Draft, wanted: Wanted) -> Shown:
    if wanted.answer is None:
        return Shown()
    key, job = wanted.answer
    asked = replace(wanted.asked, window="")  # the parts hold every window
    parts = notebook.kept_table(key, _PARTS)
    if parts is not None:
        notebook.earlier.note(place, asked, key, draft)
        return Shown(key=key, parts=parts, job=None if job.state == "done" else job)
    if job.state in _TAKEN_AWAY:
        return Shown(job=job)
    earlier = notebook.earlier.find(place, asked, wanted.on_page)
    before = notebook.kept_table(earlier.key, _PARTS) if earlier is not None else None
    if earlier is None or before is None:
        return Shown(job=job)
    from pullbook.web.changed_words import changed_words

    words = changed_words(earlier, asked.plain(), draft.values, seen_behind(key))
    return Shown(key=earlier.key, parts=before, job=job, changed=words)
