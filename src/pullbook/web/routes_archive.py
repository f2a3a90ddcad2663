"""Routes about the archive: what has been tested, whether a session is remembered, and remembering it.

No route names an archive: where it is, is said when the notebook is started.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Depends, Query
from fastapi.responses import JSONResponse, Response

from pullbook.web.archive_part import question_of
from pullbook.web.notebook import MissingError, Notebook
from pullbook.web.replies import json_reply, shared
from pullbook.web.routes_declared import ERRORS

if TYPE_CHECKING:
    from pullbook.web.jobs import Job

__all__ = ["asked_of_archive", "find", "recall", "remember", "remembered", "router"]

router = APIRouter(prefix="/api", tags=["archive"], responses=ERRORS)
Shared = Annotated[Notebook, Depends(shared)]


def asked_of_archive(
    find: Annotated[str, Query(max_length=1_000, description='Words and dimensions, as "primaries +3 mm".')] = "",
    engine: Annotated[str, Query(max_length=300, description="Only on this engine.")] = "",
    since: Annotated[str, Query(max_length=20, description="First day, as 2026-05-04, 2026-05 or 2026.")] = "",
    until: Annotated[str, Query(max_length=20, description="Last day.")] = "",
    most: Annotated[int, Query(ge=1, le=1_000, description="How many are shown.")] = 20,
    *,
    excluded: Annotated[bool, Query(description="Show excluded sessions too.")] = False,
) -> dict[str, object]:
    """Question to the archive out of an address; one that cannot be asked is refused before anybody works on it."""
    return question_of(find, engine=engine, since=since, until=until, most=most, excluded=excluded)


Question = Annotated[dict[str, object], Depends(asked_of_archive)]


@router.get("/archive", summary="What have we tested?")
async def find(notebook: Shared, question: Question) -> Response:
    """Exactly what ``pullbook remember --find --json`` writes; waits until it is there."""
    task = await asyncio.to_thread(notebook.archive.find_task, notebook.root, question, afresh=True)
    return await _made(notebook, notebook.jobs.submit(task), "found.json")


@router.get("/sessions/{session}/archive", summary="What the archive knows of a session")
async def recall(notebook: Shared, session: str) -> Response:
    """Whether it is remembered as it stands, and which sessions tested its changes; waits until it is there."""
    place = await notebook.place(session)
    task = await asyncio.to_thread(notebook.archive.recall_task, place, afresh=True)
    return await _made(notebook, notebook.jobs.submit(task), "recall.json")


@router.post("/sessions/{session}/remember", status_code=202, summary="Remember a session")
async def remember(notebook: Shared, session: str) -> JSONResponse:
    """Begin to compare it and to put it into the archive, or name the job that does."""
    return json_reply({"job": notebook.archive.remember(await notebook.place(session)).as_json()}, 202)


@router.get("/sessions/{session}/remembered", summary="What remembering came to")
async def remembered(notebook: Shared, session: str) -> Response:
    """Exactly what ``pullbook remember SESSION --json`` writes; waits until it is there."""
    job = notebook.archive.remembering(await notebook.place(session))
    if job is None:
        raise MissingError(
            "nobody asked this notebook to remember the session", where="session", value=session[:80],
            remedy="remember it first",
        )  # fmt: skip
    return await _made(notebook, job, "remembered.json")


async def _made(notebook: Notebook, job: Job, name: str) -> Response:
    content = (await notebook.jobs.files(job))[name]
    return Response(content, media_type="application/json", headers={"Cache-Control": "no-store"})
