"""Routes about the virtual engine: engine files of a session, what is wrong with them, their curves and waves."""

from __future__ import annotations

import asyncio
import gzip
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Literal

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import JSONResponse, Response

from pullbook.app.engine_files import build_of, engine_text, find_engine, find_engines, make_engine, replace_engine
from pullbook.app.engine_question import keep_question, read_question
from pullbook.engine.templates import TEMPLATES, template_text
from pullbook.errors import InputError
from pullbook.web.engine_part import builds_of
from pullbook.web.engine_tasks import look_task, run_task, text_task, waves_task
from pullbook.web.models_engine import EngineTextRequest, NewEngine, RunRequest, WavesRequest
from pullbook.web.notebook import MissingError, Notebook
from pullbook.web.replies import json_reply, packed_reply, shared
from pullbook.web.routes_declared import ERRORS
from pullbook.web.work_engine import SIMULATION

if TYPE_CHECKING:
    from pullbook.app.engine_files import EngineFile
    from pullbook.app.sessions import SessionPlace

__all__ = [
    "change",
    "check",
    "engines",
    "look",
    "make",
    "read",
    "router",
    "run",
    "simulation",
    "waves",
]

router = APIRouter(prefix="/api/sessions/{session}", tags=["engine"], responses=ERRORS)
Shared = Annotated[Notebook, Depends(shared)]
Units = Annotated[Literal["metric", "us"], Query(description="Units of labels and sentences.")]
Rpm = Annotated[str, Query(max_length=2_000, description="Engine speeds, as 2000:6500:250 or 2000,3500.")]
_LEVEL = 1


@router.get("/engine", summary="Engine files of a session")
async def engines(notebook: Shared, session: str) -> JSONResponse:
    """Each with the build that it is about, what was last asked of them, and the examples to begin from."""
    place = await notebook.place(session)
    draft = await notebook.draft(place)
    found = await asyncio.to_thread(find_engines, place.folder)
    asked = await asyncio.to_thread(read_question, place.folder)
    builds, baseline = builds_of(draft.values)
    names = [str(build["name"]) for build in builds]
    ids = {one.name: one.id for one in found}
    wanted = [ids[name] for name in asked.engines if name in ids]
    return json_reply({
        "engines": [{"id": one.id, "file": one.name, "build": build_of(one, names, baseline)} for one in found],
        "asked": {"engines": wanted, "rpm": asked.rpm, "fine": asked.fine},
        "examples": [{"name": name, "is": words} for name, words in TEMPLATES.items()],
    })  # fmt: skip


@router.post("/engine", status_code=201, summary="Make an engine file")
async def make(notebook: Shared, session: str, body: NewEngine) -> JSONResponse:
    """Make ``engine.toml``, or the file of a build, out of an example or of another engine file of the session."""
    place = await notebook.place(session)
    other = await asyncio.to_thread(find_engine, place.folder, body.like)
    if body.build:
        builds, _ = builds_of((await notebook.draft(place)).values)
        names = [str(build["name"]) for build in builds]
        if body.build not in names:
            raise InputError("the session has no such build", where="build", value=body.build,
                             remedy=f"choose one of {', '.join(names)}" if names else "leave it empty")  # fmt: skip
    text = template_text(body.like) if other is None else await asyncio.to_thread(_text, place, other)
    made = await asyncio.to_thread(make_engine, place.folder, text, body.build)
    return json_reply({"id": made.id, "file": made.name}, 201)


@router.get("/engine/{engine}", summary="What an engine file says")
async def read(notebook: Shared, session: str, engine: str) -> JSONResponse:
    """Text and revision."""
    place, file = await _file(notebook, session, engine)
    text = await asyncio.to_thread(engine_text, place.folder, file)
    return json_reply({"id": file.id, "file": file.name, "text": text.text, "revision": text.revision})


@router.put("/engine/{engine}", summary="Write an engine file as a whole")
async def change(notebook: Shared, session: str, engine: str, body: EngineTextRequest) -> JSONResponse:
    """Replace the text, unless it cannot be run, or the file was changed since the revision that was edited."""
    place, file = await _file(notebook, session, engine)
    now = await asyncio.to_thread(engine_text, place.folder, file)
    if now.revision == body.revision:  # else both texts are kept whatever they say
        await notebook.jobs.files(notebook.jobs.submit(text_task(place, file, body.text)))
    text = await asyncio.to_thread(replace_engine, place.folder, file, body.text, revision=body.revision)
    return json_reply({"id": file.id, "file": file.name, "text": text.text, "revision": text.revision})


@router.post("/engine/{engine}/check", status_code=202, summary="Check an engine file without waiting")
async def look(notebook: Shared, session: str, engine: str, units: Units = "metric") -> JSONResponse:
    """Begin to check it and to draw its pipes, or name the job that does or did."""
    place, file = await _file(notebook, session, engine)
    job = notebook.jobs.submit(await asyncio.to_thread(look_task, place, file, units))
    return json_reply({"job": job.as_json()}, 202)


@router.get("/engine/{engine}/check", summary="What an engine file declares, assumes and overlooks")
async def check(request: Request, notebook: Shared, session: str, engine: str) -> Response:
    """Exactly what ``pullbook engine check --json`` writes; waits until it is there."""
    place, file = await _file(notebook, session, engine)
    task = await asyncio.to_thread(look_task, place, file, "metric")
    files = await notebook.jobs.files(notebook.jobs.submit(task))
    return _json(files["check.json"], request, f"{task.key[:24]}-check")


@router.post("/engine-runs", status_code=202, summary="Run engines over speed")
async def run(notebook: Shared, session: str, body: RunRequest) -> JSONResponse:
    """Begin to compute their curves, or name the jobs that do or did; the page shows what was asked last."""
    place = await notebook.place(session)
    files = [await _of(place, engine) for engine in dict.fromkeys(body.engines)]
    tasks = await asyncio.to_thread(lambda: [run_task(place, file, body.rpm, fine=body.fine) for file in files])
    asked = await asyncio.to_thread(read_question, place.folder)
    asked = replace(asked, engines=tuple(file.name for file in files), rpm=body.rpm, fine=body.fine)
    await asyncio.to_thread(keep_question, place.folder, asked)
    return json_reply({"jobs": [notebook.jobs.submit(task).as_json() for task in tasks]}, 202)


@router.get("/engine/{engine}/simulation", summary="A computed curve")
async def simulation(
    request: Request, notebook: Shared, session: str, engine: str, rpm: Rpm = "2000:6500:250", *, fine: bool = False
) -> Response:
    """Exactly what ``pullbook simulate --json`` writes of it; only what was run, because a run may take minutes."""
    place, file = await _file(notebook, session, engine)
    task = await asyncio.to_thread(lambda: run_task(place, file, rpm, fine=fine))
    found = await asyncio.to_thread(notebook.cache.read, task.key, SIMULATION)
    if found is None:
        raise MissingError("this has not been computed yet", where="rpm", value=rpm[:80], remedy="run it first")
    return _json(found, request, f"{task.key[:24]}-simulation")


@router.post("/engine/{engine}/waves", status_code=202, summary="Waves in the pipes at one speed")
async def waves(
    notebook: Shared, session: str, engine: str, body: WavesRequest, units: Units = "metric"
) -> JSONResponse:
    """Begin to run it and to draw what happens in the pipes of its first cylinder, or name the job that does or did."""
    place, file = await _file(notebook, session, engine)
    asked = await asyncio.to_thread(read_question, place.folder)
    await asyncio.to_thread(keep_question, place.folder, replace(asked, waves=file.name, at_rpm=body.at_rpm))
    task = await asyncio.to_thread(waves_task, place, file, body.at_rpm, units)
    return json_reply({"job": notebook.jobs.submit(task).as_json()}, 202)


async def _file(notebook: Notebook, session: str, engine: str) -> tuple[SessionPlace, EngineFile]:
    place = await notebook.place(session)
    return place, await _of(place, engine)


async def _of(place: SessionPlace, engine: str) -> EngineFile:
    found = await asyncio.to_thread(find_engine, place.folder, engine)
    if found is None:
        raise MissingError("the session has no such engine file", where="engine", value=engine[:80],
                           remedy="look at its list; the file may have been renamed")  # fmt: skip
    return found


def _text(place: SessionPlace, engine: EngineFile) -> str:
    return engine_text(place.folder, engine).text


def _json(data: bytes, request: Request, tag: str) -> Response:
    return packed_reply(gzip.compress(data, _LEVEL, mtime=0), "application/json", request, tag)
