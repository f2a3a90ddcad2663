"""Routes about sessions: which there are, a new one, what ``session.toml`` says, and changes of it."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Depends
from fastapi.responses import JSONResponse

from pullbook.app.edit_session import apply_edits, replace_text
from pullbook.app.sessions import find_sessions, make_session
from pullbook.capture.session_edit_record import Edit
from pullbook.web.asked import Asked
from pullbook.web.models import ChangeSet, NewSession, TextRequest
from pullbook.web.notebook import Notebook
from pullbook.web.overview import overview
from pullbook.web.replies import json_reply, shared
from pullbook.web.routes_declared import ERRORS, asked_of

if TYPE_CHECKING:
    from pullbook.records.draft import Draft
    from pullbook.web.models import EditRequest

__all__ = ["demo", "draft_json", "edit", "make", "read", "router", "sessions", "write"]

router = APIRouter(prefix="/api", tags=["sessions"], responses=ERRORS)
Shared = Annotated[Notebook, Depends(shared)]
Question = Annotated[Asked, Depends(asked_of)]


@router.get("/sessions", summary="Sessions of the served folder")
async def sessions(notebook: Shared, asked: Question) -> JSONResponse:
    """Title, question, builds, pulls and what is still undecided of each session, last changed first."""
    return json_reply({"sessions": await overview(notebook, asked)})


@router.post("/sessions", status_code=201, summary="Make a session")
async def make(notebook: Shared, body: NewSession) -> JSONResponse:
    """Make a folder with a ``session.toml`` as a person would begin it."""
    from pullbook.capture.session_new import new_session

    text = new_session(body.title, question=body.question)
    place = await asyncio.to_thread(make_session, notebook.root, body.title, text)
    return json_reply({"id": place.id, "name": place.name}, 201)


@router.post("/demo", status_code=201, summary="Write the demo session")
async def demo(notebook: Shared) -> JSONResponse:
    """Write the invented session into the served folder, unless it is there."""
    from pullbook.web.demo import write_demo

    name = await asyncio.to_thread(write_demo, notebook.root)
    place = next(place for place in await asyncio.to_thread(find_sessions, notebook.root) if place.name == name)
    return json_reply({"id": place.id, "name": place.name}, 201)


@router.get("/sessions/{session}", summary="What session.toml says")
async def read(notebook: Shared, session: str) -> JSONResponse:
    """Text, revision, values and everything that is wrong or missing."""
    place = await notebook.place(session)
    return json_reply(draft_json(await notebook.draft(place)))


@router.post("/sessions/{session}/edits", summary="Change session.toml")
async def edit(notebook: Shared, session: str, body: ChangeSet) -> JSONResponse:
    """Make all changes, or none where one is wrong or the file holds something else than the page showed."""
    place = await notebook.place(session)
    edits = [_edit(one) for one in body.edits]
    return json_reply(draft_json(await asyncio.to_thread(apply_edits, place.folder, edits, revision=body.revision)))


@router.put("/sessions/{session}/text", summary="Write session.toml as a whole")
async def write(notebook: Shared, session: str, body: TextRequest) -> JSONResponse:
    """Replace the text, unless it was changed since the revision that was edited."""
    place = await notebook.place(session)
    draft = await asyncio.to_thread(replace_text, place.folder, body.text, revision=body.revision)
    return json_reply(draft_json(draft))


def _edit(request: EditRequest) -> Edit:
    if request.knows_was or request.was is not None:
        return Edit(do=request.do, at=request.at, value=request.value, was=request.was)
    return Edit(do=request.do, at=request.at, value=request.value)


def draft_json(draft: Draft) -> dict[str, Any]:
    """Draft as the routes give it."""
    return {
        "text": draft.text,
        "revision": draft.revision,
        "values": draft.values,
        "finished": draft.session is not None,
        "problems": [
            {"what": one.what, "where": one.where, "value": one.value, "remedy": one.remedy, "at": one.at,
             "line": one.line, "unfinished": one.unfinished} for one in draft.problems
        ],
    }  # fmt: skip
