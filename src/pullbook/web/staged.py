"""What the page says of a report that was drawn up, and of the one that was published."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pullbook.app.stage_report import drawn_up, published
from pullbook.quantities.phrases import listed
from pullbook.web.templating import stamp

if TYPE_CHECKING:
    from pullbook.app.sessions import SessionPlace
    from pullbook.app.stage_report import Staged
    from pullbook.web.notebook import Notebook

__all__ = ["size_words", "staged_context"]


def size_words(size: int) -> str:
    """Length of a file in words. [byte].

    Examples
    --------
    >>> size_words(512), size_words(20_500), size_words(6_092_058)
    ('512 B', '20 kB', '6.1 MB')
    """
    if size < 1_000:
        return f"{size} B"
    return f"{size / 1e3:.0f} kB" if size < 1_000_000 else f"{size / 1e6:.1f} MB"


def staged_context(notebook: Notebook, place: SessionPlace, key: str) -> dict[str, Any]:
    """Report of a session for its page: what goes on, what was drawn up, what was published."""
    running = next((job for job in notebook.jobs.jobs(place.id)[::-1] if job.kind == "report"), None)
    draft, public = drawn_up(place.folder), published(place.folder)
    job = None if running is None or running.state == "done" else running.as_json()
    context: dict[str, Any] = {
        "report_job": job,
        "staged": _draft_words(draft, key) if draft else None,
        "published": _public_words(public, key) if public else None,
    }
    return {**context, "report_stamp": stamp(context)}


def _draft_words(draft: Staged, key: str) -> dict[str, Any]:
    files = [{"name": name, "size": size_words(size)} for name, size in draft.files]
    stills = sum(name.startswith("stills/") for name, _ in draft.files)
    reveals = ["the title, the question and the claims", f"the names of {len(draft.pulls)} files with their hashes",
               "the weather of each pull", "every number of the curves"]  # fmt: skip
    if draft.notes:
        reveals.append("the notes of the session")
    return {
        "words": f"One page, {stills} stills, the findings and the curves as tables.",
        "key": draft.key,
        "current": draft.key == key,
        "files": files,
        "size": size_words(sum(size for _, size in draft.files)),
        "reveals": listed(reveals),
    }


def _public_words(public: Staged, key: str) -> dict[str, Any]:
    same = "as it stands above" if public.key == key else "as it stood earlier; the session has changed since"
    return {"words": f"{len(public.files)} files in the folder report, {same}."}
