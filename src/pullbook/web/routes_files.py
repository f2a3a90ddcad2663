"""Routes about the files of a session: sending them, what was understood of each, and the tester's word on columns."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import JSONResponse
from starlette.requests import ClientDisconnect

from pullbook.app.edit_session import apply_edits
from pullbook.app.layouts import forget, remember
from pullbook.app.plan_content import pulls_to_come
from pullbook.app.pull_edits import edits_into_plan
from pullbook.app.put_aside import put_aside
from pullbook.app.store_file import Upload
from pullbook.capture.session_edit_record import Edit
from pullbook.errors import FileRefusedError, InputError
from pullbook.web.file_cards import CARD, card_task, card_tasks
from pullbook.web.models import AssignRequest, FileRequest, SettleRequest
from pullbook.web.notebook import MissingError, Notebook
from pullbook.web.replies import json_reply, shared
from pullbook.web.routes_declared import ERRORS
from pullbook.web.routes_sessions import draft_json

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pullbook.app.sessions import SessionPlace

__all__ = ["aside", "ask_again", "assign", "cards", "router", "send", "settle"]

router = APIRouter(prefix="/api", tags=["files"], responses=ERRORS)
Shared = Annotated[Notebook, Depends(shared)]
_BODY = {"requestBody": {"required": True, "content": {"application/octet-stream": {
    "schema": {"type": "string", "format": "binary"}}}}}  # fmt: skip


@router.post("/sessions/{session}/files", status_code=201, summary="Send a file", openapi_extra=_BODY)
async def send(
    request: Request, notebook: Shared, session: str,
    name: Annotated[str, Query(max_length=1_000, description="Name that the file has where it comes from.")],
) -> JSONResponse:  # fmt: skip
    """Store a file, byte for byte, and begin to read it; the same file again is not stored again."""
    place = await notebook.place(session)
    stated = request.headers.get("content-length", "")
    expected = int(stated) if stated.isdigit() else None
    upload = await asyncio.to_thread(
        Upload.open, place.folder, name, limit=notebook.settings.most_upload, expected=expected
    )
    try:
        async for chunk in request.stream():
            if chunk:
                await asyncio.to_thread(upload.write, chunk)
        stored = await asyncio.to_thread(upload.finish)
    except ClientDisconnect:
        raise InputError("the sender went away", where=name[:80], remedy="send the file again") from None
    finally:
        await asyncio.to_thread(upload.abort)
    draft = await notebook.draft(place)
    task = await asyncio.to_thread(card_task, place, draft.values, stored.name)
    job = notebook.jobs.submit(task)
    return json_reply({**stored.as_json(), "job": job.as_json()}, 201)


@router.get("/sessions/{session}/files", summary="What was understood of the files")
async def cards(notebook: Shared, session: str) -> JSONResponse:
    """Card of every file of the session, or the job that reads it."""
    place = await notebook.place(session)
    tasks = await asyncio.to_thread(card_tasks, place, await notebook.draft(place))
    listed: list[dict[str, object]] = []
    for name, task in tasks.items():
        kept = notebook.kept(task.key, CARD)
        listed.append({"file": name, "card": kept, "job": None if kept else notebook.jobs.submit(task).as_json()})
    return json_reply({"files": listed})


@router.post("/sessions/{session}/settle", summary="Say which column is which")
async def settle(notebook: Shared, session: str, body: SettleRequest) -> JSONResponse:
    """Write the tester's word into the lines of the file in ``session.toml``, and remember it for files of its layout.

    A file that is in no line yet is remembered in any case: its lines are written with what was remembered.
    """
    place = await notebook.place(session)
    card = await _card(notebook, place, body.file)
    draft = await notebook.draft(place)
    columns = {channel: rule.model_dump() for channel, rule in body.columns.items()}
    edits = list(_settling(draft.values, body, columns))
    if edits:
        draft = await asyncio.to_thread(apply_edits, place.folder, edits)
    if (columns or body.received) and (body.remember or not edits):
        await asyncio.to_thread(remember, str(card["layout_id"]), columns, received=body.received)
    return json_reply(draft_json(draft))


def _settling(
    values: Mapping[str, object], body: SettleRequest, columns: Mapping[str, Mapping[str, str]]
) -> Iterator[Edit]:
    pulls = values.get("pull")
    for number, entry in enumerate(pulls if isinstance(pulls, list) else [], start=1):
        if not isinstance(entry, dict) or entry.get("file") != body.file:
            continue
        for channel, rule in columns.items():
            told = {key: word for key, word in rule.items() if word}
            yield Edit(do="set", at=f"pull[{number}].columns.{channel}", value=told)
        if body.received:
            yield Edit(do="set", at=f"pull[{number}].received", value=body.received)


@router.post("/sessions/{session}/assign", summary="Say of which build the pulls of a file are")
async def assign(notebook: Shared, session: str, body: AssignRequest) -> JSONResponse:
    """Add the pulls to the run order of ``session.toml``; waits until the file was read.

    They come on the next planned lines of the build whose files are not there yet; where none is planned, to the end,
    or to where they belong by the time that the file states.
    """
    place = await notebook.place(session)
    card = await _card(notebook, place, body.file)
    if card.get("refused") and card.get("questions"):
        raise InputError(
            "what its columns are has to be settled first", where="file", value=body.file,
            remedy="answer the question on its card; it becomes a pull of the build then",
        )  # fmt: skip
    if card.get("refused"):
        raise FileRefusedError(**card["refused"])
    draft = await notebook.draft(place)
    free = _free(draft.values, card, body)
    if not free:
        return json_reply(draft_json(draft))
    to_come = await asyncio.to_thread(pulls_to_come, place.folder, draft.values)
    edits = [Edit(**edit) for edit in edits_into_plan(card, body.build, draft.values, to_come, which=free)]
    return json_reply(draft_json(await asyncio.to_thread(apply_edits, place.folder, edits)))


@router.post("/sessions/{session}/ask-again", summary="Forget what was said of files of a layout")
async def ask_again(notebook: Shared, session: str, body: FileRequest) -> JSONResponse:
    """Forget what is remembered for the layout of a file; what stands in ``session.toml`` stays."""
    place = await notebook.place(session)
    layout = str((await _card(notebook, place, body.file))["layout_id"])
    if layout:
        await asyncio.to_thread(forget, layout)
    return json_reply({"layout": layout})


@router.post("/sessions/{session}/put-aside", summary="Put a file aside")
async def aside(notebook: Shared, session: str, body: FileRequest) -> JSONResponse:
    """Move a file that is in no line of the run order out of the list; it is kept in the session folder."""
    place = await notebook.place(session)
    return json_reply({"kept": await asyncio.to_thread(put_aside, place.folder, body.file)})


def _free(values: Mapping[str, object], card: Mapping[str, Any], body: AssignRequest) -> list[int]:
    """Pulls of a file that are meant and in no line of the run order yet; none where all are of that build already."""
    pulls = values.get("pull")
    lines = [one for one in pulls if isinstance(one, dict)] if isinstance(pulls, list) else []
    mine = [one for one in lines if one.get("file") == card["file"]]
    there = [int(pull["which"]) for pull in card["pulls"]]
    taken = set(there) if any("which" not in one for one in mine) else {one.get("which") for one in mine}
    free = [number for number in there if number not in taken and body.which in {0, number}]
    if not free and any(one.get("build") != body.build for one in mine):
        raise InputError(
            "this pull is in the run order already", where="file", value=str(card["file"]),
            remedy="change its build in the run order",
        )  # fmt: skip
    return free


async def _card(notebook: Notebook, place: SessionPlace, name: str) -> dict[str, Any]:
    """Card of a file of the session, waiting until it was read."""
    tasks = await asyncio.to_thread(card_tasks, place, await notebook.draft(place))
    task = tasks.get(name)
    if task is None:
        raise MissingError(
            "the session has no such file", where="file", value=name[:80], remedy="send it first, or reload the page"
        )
    await notebook.jobs.files(notebook.jobs.submit(task))
    kept = notebook.kept_table(task.key, CARD)
    if kept is None:
        raise MissingError("the file was read, but its card is gone", where="file", value=name[:80], remedy="reload")
    return dict(kept)
