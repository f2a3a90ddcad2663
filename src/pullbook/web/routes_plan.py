"""Routes about planning: orders before the first pull, and what next between pulls."""

from __future__ import annotations

import asyncio
import gzip
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import JSONResponse, Response

from pullbook.app.plan_asked import PlanAsked, demand_meant, keep_plan_asked, read_plan_asked
from pullbook.app.take_order import take_order
from pullbook.capture.session_planned import PlannedEntry
from pullbook.errors import InputError
from pullbook.web.models_plan import LookRequest, OrderRequest, PlanRequest
from pullbook.web.notebook import MissingError, Notebook
from pullbook.web.plan_tasks import look_task, plan_task
from pullbook.web.replies import json_reply, packed_reply, shared
from pullbook.web.routes_declared import ERRORS
from pullbook.web.routes_sessions import draft_json
from pullbook.web.unchanged import while_unchanged
from pullbook.web.work_plan import LOOK, ORDERS, PLAN

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.app.sessions import SessionPlace
    from pullbook.web.jobs import Task

__all__ = ["begin_look", "begin_plan", "look", "plan", "router", "take"]

router = APIRouter(prefix="/api/sessions/{session}", tags=["plan"], responses=ERRORS)
Shared = Annotated[Notebook, Depends(shared)]
_LEVEL = 1


@router.post("/plan", status_code=202, summary="Plan without waiting")
async def begin_plan(notebook: Shared, session: str, body: PlanRequest) -> JSONResponse:
    """Begin to look for orders, or name the job that does or did; the page shows what was asked last."""
    place = await notebook.place(session)
    asked = _asked(notebook, body)
    task = await _plan_task(notebook, place, asked)
    await asyncio.to_thread(keep_plan_asked, place.folder, asked)
    return json_reply({"key": task.key, "job": notebook.jobs.submit(task).as_json()}, 202)


@router.get("/plan", summary="Orders to run, with their odds")
async def plan(request: Request, notebook: Shared, session: str, query: Annotated[PlanRequest, Query()]) -> Response:
    """Exactly what ``pullbook plan --json`` writes; waits until it is there."""

    async def made() -> tuple[str, bytes]:
        task = await _plan_task(notebook, await notebook.place(session), _asked(notebook, query))
        return task.key, (await notebook.jobs.files(notebook.jobs.submit(task)))[PLAN]

    key, content = await while_unchanged(made)
    return _json(content, request, f"{key[:24]}-plan")


@router.post("/take-order", summary="Take an order of a plan")
async def take(notebook: Shared, session: str, body: OrderRequest) -> JSONResponse:
    """Write the pulls of an order into ``session.toml`` in place of its run order; refused once a pull has a file."""
    place = await notebook.place(session)
    asked = _asked(notebook, body)
    kept = await asyncio.to_thread(read_plan_asked, place.folder)
    # The archive as it was when the plan was asked for; it may have got more sessions since.
    is_last = bool(asked.archive and kept.archive) and replace(asked, archive=kept.archive) == kept
    task = await _plan_task(notebook, place, kept if is_last else asked)
    orders = await asyncio.to_thread(notebook.kept_table, task.key, ORDERS)
    if orders is None:
        raise MissingError(
            "there is no plan of the session as it stands", where="offer", value=body.offer[:80], remedy="plan it first"
        )
    entries = [PlannedEntry(**one) for one in _order(orders, body.offer)]
    return json_reply(draft_json(await asyncio.to_thread(take_order, place.folder, entries, revision=body.revision)))


@router.post("/next", status_code=202, summary="Look at a session that is under way")
async def begin_look(notebook: Shared, session: str, body: LookRequest) -> JSONResponse:
    """Begin to work out how each question stands and what decides it soonest; the look is written into the session.

    All looks share one error rate, so that ``session.toml`` has to tell of each.
    """
    place = await notebook.place(session)
    before = await asyncio.to_thread(read_plan_asked, place.folder)
    taught = (before.archive or notebook.archive.moment()) if body.archive else ""
    asked = PlanAsked(resolve=body.resolve.strip(), of=body.of, from_=body.from_, archive=taught)
    await _demand_meant(notebook, place, asked)
    now = replace(before, resolve=asked.resolve, of=asked.of, from_=asked.from_, archive=asked.archive)
    if now != before:
        await asyncio.to_thread(keep_plan_asked, place.folder, now)
    task = await asyncio.to_thread(look_task, notebook, place, asked)
    return json_reply({"key": task.key, "job": notebook.jobs.submit(task).as_json()}, 202)


@router.get("/next", summary="What was seen on the way")
async def look(request: Request, notebook: Shared, session: str, query: Annotated[LookRequest, Query()]) -> Response:
    """Exactly what ``pullbook plan --next --json`` writes; only what was looked at, because a look is written down."""
    place = await notebook.place(session)
    taught = notebook.archive.moment() if query.archive else ""
    asked = PlanAsked(resolve=query.resolve.strip(), of=query.of, from_=query.from_, archive=taught)
    await _demand_meant(notebook, place, asked)
    task = await asyncio.to_thread(look_task, notebook, place, asked)
    found = await asyncio.to_thread(notebook.cache.read, task.key, LOOK)
    if found is None:
        raise MissingError(
            "nobody has looked at the session as it stands", where="session", value=session[:80], remedy="look first"
        )
    return _json(found, request, f"{task.key[:24]}-next")


def _asked(notebook: Notebook, body: PlanRequest) -> PlanAsked:
    return PlanAsked(
        resolve=body.resolve.strip(), within=body.within.strip(), of=body.of, from_=body.from_, odds=body.odds,
        archive=notebook.archive.moment() if body.archive else "",
    )  # fmt: skip


async def _demand_meant(notebook: Notebook, place: SessionPlace, asked: PlanAsked) -> Mapping[str, Any]:
    """What the session file says, if what is asked of it can be meant."""
    draft = await notebook.draft(place)
    await asyncio.to_thread(demand_meant, draft.text, asked)
    return draft.values


async def _plan_task(notebook: Notebook, place: SessionPlace, asked: PlanAsked) -> Task:
    values = await _demand_meant(notebook, place, asked)
    return await asyncio.to_thread(plan_task, notebook, place, values, asked)


def _order(orders: Mapping[str, Any], name: str) -> Sequence[Mapping[str, str]]:
    """Lines of an order by its name, or of the first one."""
    wanted = name.strip().casefold()
    for offer, lines in orders.items():
        if not wanted or wanted in {offer, *offer.split(" and ")}:
            found: Sequence[Mapping[str, str]] = lines
            return found
    raise InputError("this plan has no such offer", where="offer", value=name[:80],
                     remedy=f"choose one of {', '.join(orders)}")  # fmt: skip


def _json(data: bytes, request: Request, tag: str) -> Response:
    return packed_reply(gzip.compress(data, _LEVEL, mtime=0), "application/json", request, tag)
