"""Routes about the report: drawing it up, looking at it, publishing it."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Depends
from fastapi.responses import JSONResponse

from pullbook.app.stage_report import drawn_up, publish_drawn, published
from pullbook.web.asked import Asked
from pullbook.web.jobs import Task
from pullbook.web.models import ReportRequest
from pullbook.web.notebook import Notebook
from pullbook.web.replies import json_reply, shared
from pullbook.web.routes_declared import ERRORS, asked_of

if TYPE_CHECKING:
    from pullbook.app.stage_report import Staged

__all__ = ["draw", "publish", "router", "state"]

router = APIRouter(prefix="/api", tags=["report"], responses=ERRORS)
Shared = Annotated[Notebook, Depends(shared)]
Question = Annotated[Asked, Depends(asked_of)]


@router.post("/sessions/{session}/report", status_code=202, summary="Draw the report up")
async def draw(notebook: Shared, session: str, asked: Question, body: ReportRequest) -> JSONResponse:
    """Begin to draw the report up, where only the tester sees it."""
    place = await notebook.place(session)
    _ = asked.question
    asked = replace(asked, window="")  # the page holds the numbers of every window, and so does the report
    key = await notebook.key(place, asked)
    arguments: dict[str, object] = {"folder": str(place.folder), "key": key, "quick": body.quick, **asked.plain()}
    job = notebook.jobs.submit(Task(kind="report", arguments=arguments, session=place.id))
    return json_reply({"job": job.as_json()}, 202)


@router.get("/sessions/{session}/report", summary="What was drawn up, and what was published")
async def state(notebook: Shared, session: str) -> JSONResponse:
    """Files of both reports."""
    place = await notebook.place(session)
    draft, public = await asyncio.to_thread(lambda: (drawn_up(place.folder), published(place.folder)))
    return json_reply({"drawn_up": _plain(draft), "published": _plain(public)})


@router.post("/sessions/{session}/publish", summary="Publish the report that was drawn up")
async def publish(notebook: Shared, session: str, asked: Question) -> JSONResponse:
    """Copy it into the folder ``report`` of the session, whole, if it answers this question of the session as it is."""
    place = await notebook.place(session)
    _ = asked.question
    key = await notebook.key(place, replace(asked, window=""))
    await asyncio.to_thread(publish_drawn, place.folder, key)
    return json_reply({"published": _plain(await asyncio.to_thread(published, place.folder))})


def _plain(staged: Staged | None) -> object:
    if staged is None:
        return None
    return {
        "key": staged.key,
        "files": [{"name": name, "size": size} for name, size in staged.files],
        "pulls": list(staged.pulls),
        "notes": staged.notes,
    }
