"""The list of sessions: each in one line, with what is still open."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any

from pullbook.errors import PullbookError
from pullbook.web.steps import next_steps

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.sessions import SessionPlace
    from pullbook.records.draft import Draft
    from pullbook.web.asked import Asked
    from pullbook.web.notebook import Notebook

__all__ = ["overview"]


async def overview(notebook: Notebook, asked: Asked) -> list[dict[str, object]]:
    """Every session of the served folder; one that was never compared is asked to be."""
    return [await _line(notebook, place, asked) for place in await notebook.places()]


async def _line(notebook: Notebook, place: SessionPlace, asked: Asked) -> dict[str, object]:
    line: dict[str, object] = {"id": place.id, "name": place.name, "title": place.name, "question": "",
                               "builds": 0, "pulls": 0, "open": "", "tone": ""}  # fmt: skip
    try:
        draft = await notebook.draft(place)
    except PullbookError as error:
        return {**line, "open": f"{error.what}", "tone": "warning"}
    session = draft.values.get("session")
    words: Mapping[str, Any] = session if isinstance(session, dict) else {}
    line |= {
        "title": str(words.get("title") or place.name), "question": str(words.get("question") or ""),
        "builds": _count(draft, "build"), "pulls": _count(draft, "pull"),
    }  # fmt: skip
    return {**line, **await _open(notebook, place, draft, asked)}


def _count(draft: Draft, key: str) -> int:
    found = draft.values.get(key)
    return len(found) if isinstance(found, list) else 0


async def _open(notebook: Notebook, place: SessionPlace, draft: Draft, asked: Asked) -> dict[str, str]:
    """What is still undecided, or stands in the way."""
    if draft.problems:
        first = next((one for one in draft.problems if not one.unfinished), draft.problems[0])
        steps = next_steps(draft) if first.unfinished else []
        words = steps[0]["words"] if steps else f"{first.at or 'session.toml'}: {first.what}"
        return {"open": words, "tone": "open" if first.unfinished else "warning"}
    key, job = await notebook.answer(place, asked, again=False, waited_for=False)
    summary = await asyncio.to_thread(_summary, notebook, place, draft, asked, key)
    if summary is not None:
        return {"open": str(summary["open"]), "tone": str(summary["tone"])}
    if job.error is not None:
        return {"open": job.error["what"], "tone": "warning"}
    return {"open": "its comparison was stopped" if job.state == "cancelled" else "being compared", "tone": "open"}


def _summary(notebook: Notebook, place: SessionPlace, draft: Draft, asked: Asked, key: str) -> Mapping[str, Any] | None:
    """What is kept for the list; a comparison of which the list tells is one that was shown."""
    summary: Mapping[str, Any] | None = notebook.kept_table(key, "summary.json")
    if summary is not None:
        notebook.earlier.note(place, asked, key, draft)
    return summary
