"""Routes about findings, and the jobs that make them."""

from __future__ import annotations

import gzip
import re
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Depends, Request
from fastapi.responses import JSONResponse, Response

from pullbook.web.asked import Asked
from pullbook.web.notebook import MissingError, Notebook
from pullbook.web.replies import json_reply, packed_reply, shared
from pullbook.web.routes_declared import ERRORS, asked_of
from pullbook.web.unchanged import while_unchanged

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.web.jobs import Job

__all__ = ["cancel", "compare", "findings", "job_state", "parts", "result_file", "retry", "router"]

router = APIRouter(prefix="/api", tags=["findings"], responses=ERRORS)
Shared = Annotated[Notebook, Depends(shared)]
Question = Annotated[Asked, Depends(asked_of)]
_JSON: Final = "application/json"
_KINDS: Final = {".json": _JSON, ".svg": "image/svg+xml", ".png": "image/png"}
_KEY: Final = re.compile(r"[0-9a-f]{64}")
_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,119}")
_LEVEL: Final = 1


@router.get("/sessions/{session}/findings", summary="What the session shows")
async def findings(request: Request, notebook: Shared, session: str, asked: Question) -> Response:
    """Exactly what ``pullbook compare --json`` writes; waits until it is there."""
    return await _kept(request, notebook, session, asked, "findings.json")


@router.get("/sessions/{session}/parts", summary="The sections of the page")
async def parts(request: Request, notebook: Shared, session: str, asked: Question) -> Response:
    """Sections as HTML, contents, pulls with their checks: what the page is made of."""
    return await _kept(request, notebook, session, asked, "parts.json")


@router.get("/results/{key}/{name}", summary="One file of a result that is kept")
async def result_file(request: Request, notebook: Shared, key: str, name: str) -> Response:
    """Chart or table by the key of the result; a key stands for its content, so that a browser may keep it for good."""
    packed = notebook.cache.read_packed(key, name) if _KEY.fullmatch(key) and _NAME.fullmatch(name) else None
    if packed is None:
        raise MissingError("this result is not kept any more", where="key", value=key[:80], remedy="reload the page")
    return packed_reply(packed, _kind(name), request, f"{key[:24]}-{name}", for_good=True)


@router.post("/sessions/{session}/compare", status_code=202, summary="Compare without waiting")
async def compare(notebook: Shared, session: str, asked: Question) -> JSONResponse:
    """Begin to compare, or name the job that does or did."""
    place = await notebook.place(session)
    key, job = await notebook.answer(place, asked)
    return json_reply({"key": key, "job": job.as_json()}, 202)


@router.get("/jobs/{job}", tags=["jobs"], summary="How far a job is")
async def job_state(notebook: Shared, job: str) -> JSONResponse:
    """State, progress and error of a job."""
    return _job(notebook.jobs.job(job), job)


@router.delete("/jobs/{job}", tags=["jobs"], summary="Stop a job")
async def cancel(notebook: Shared, job: str) -> JSONResponse:
    """Stop it; what it has not finished is not kept."""
    return _job(notebook.jobs.cancel(job), job)


@router.post("/jobs/{job}/retry", tags=["jobs"], summary="Run a job again")
async def retry(notebook: Shared, job: str) -> JSONResponse:
    """Run a job again that failed, died or was stopped."""
    return _job(notebook.jobs.retry(job), job)


def _job(found: Job | None, wanted: str) -> JSONResponse:
    if found is None:
        raise MissingError("there is no such job", where="job", value=wanted[:80], remedy="reload the page")
    return json_reply(found.as_json())


async def _kept(request: Request, notebook: Notebook, session: str, asked: Asked, name: str) -> Response:
    async def made() -> tuple[str, Mapping[str, bytes]]:
        key, job = await notebook.answer(await notebook.place(session), asked)
        return key, await notebook.jobs.files(job)

    key, files = await while_unchanged(made)
    return packed_reply(gzip.compress(files[name], _LEVEL, mtime=0), _JSON, request, f"{key[:24]}-{name}")


def _kind(name: str) -> str:
    return next((kind for ending, kind in _KINDS.items() if name.endswith(ending)), "application/octet-stream")
