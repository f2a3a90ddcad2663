"""Pages for people: the list of sessions, one session, a report that was drawn up; and what they are dressed in."""

from __future__ import annotations

import asyncio
import gzip
import mimetypes
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Cookie, Depends, Request
from fastapi.responses import FileResponse, HTMLResponse, Response

from pullbook import __version__
from pullbook.app.stage_report import DRAFT, PUBLISHED, file_of
from pullbook.errors import PullbookError
from pullbook.quantities.showing import UnitSystem
from pullbook.web.asked import Asked
from pullbook.web.assets import SCRIPT, STYLES, address, asset, tag_of
from pullbook.web.error_form import error_form
from pullbook.web.notebook import MissingError, Notebook
from pullbook.web.overview import overview
from pullbook.web.page_context import session_context
from pullbook.web.replies import asked_of, shared
from pullbook.web.shown import Wanted
from pullbook.web.templating import environment, stamp

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.sessions import SessionPlace
    from pullbook.web.jobs import Job

__all__ = ["asked_by_reader", "asset_file", "error_page", "index", "report_file", "router", "session_page"]

router = APIRouter(include_in_schema=False)
Shared = Annotated[Notebook, Depends(shared)]
_LEVEL: Final = 9
_WRONG: Final = 422
_ON_PAGE: Final = "X-Pullbook-Shown"  # what a page says that asks for itself again: the key of the findings on it
_REPORTS: Final = {"draft-report": DRAFT, "report": PUBLISHED}


def asked_by_reader(
    request: Request, asked: Annotated[Asked, Depends(asked_of)], pullbook_units: Annotated[str, Cookie()] = ""
) -> Asked:
    """Question of an address, in the units of the reader's last choice where the address names none."""
    if "units" in request.query_params or pullbook_units not in set(UnitSystem):
        return asked
    return replace(asked, units=pullbook_units)


Question = Annotated[Asked, Depends(asked_by_reader)]


@router.get("/")
async def index(request: Request, notebook: Shared, asked: Question) -> HTMLResponse:
    """List of the sessions."""
    listed = await overview(notebook, asked)
    return _page(
        request, "index.html.j2", asked=asked, sessions=listed, root=str(notebook.root), stamp=stamp((asked, listed))
    )


@router.get("/s/{session}")
async def session_page(request: Request, notebook: Shared, session: str, asked: Question) -> Response:
    """One session, from the question to the published report."""
    place = await notebook.place(session)
    try:
        _ = asked.question
        draft = await notebook.draft(place)
    except PullbookError as error:
        return error_page(request, error_form(error), 422)
    answer = await _answer(notebook, place, asked) if draft.session is not None else None
    wanted = Wanted(asked=asked, answer=answer, on_page=request.headers.get(_ON_PAGE, ""))
    context = await session_context(notebook, place, draft, wanted)
    return _page(request, "notebook.html.j2", **context)


async def _answer(notebook: Notebook, place: SessionPlace, asked: Asked) -> tuple[str, Job]:
    # The page has the numbers of every window in it, so that the chosen one is no question of its own.
    _ = asked.question
    return await notebook.answer(place, replace(asked, window=""), again=False)


@router.get("/s/{session}/{where}/{name:path}")
async def report_file(notebook: Shared, session: str, where: str, name: str) -> Response:
    """A file of a report, looked up in the list of the report."""
    place = await notebook.place(session)
    path = await asyncio.to_thread(file_of, place.folder, _REPORTS[where], name) if where in _REPORTS else None
    if path is None:
        raise MissingError("the report has no such file", where="name", value=name[:80], remedy="look at its list")
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    return FileResponse(
        path, media_type=kind, headers={"Content-Security-Policy": "sandbox", "Cache-Control": "no-cache"}
    )


@router.get("/assets/{tag}/{name:path}")
async def asset_file(request: Request, tag: str, name: str) -> Response:
    """Style, script or icon; kept by the browser for good where the hash is right."""
    found = await asyncio.to_thread(asset, name)
    if found is None:
        raise MissingError("there is no such file", where="name", value=name[:80], remedy="reload the page")
    kept = "public, max-age=31536000, immutable" if tag == tag_of(name) else "no-cache"
    headers = {"Cache-Control": kept, "Vary": "Accept-Encoding"}
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(found.packed, media_type=found.kind, headers={**headers, "Content-Encoding": "gzip"})
    return Response(gzip.decompress(found.packed), media_type=found.kind, headers=headers)


def _page(request: Request, template: str, status: int = 200, **context: object) -> HTMLResponse:
    text = environment().get_template(template).render(
        **context, token=_token(request), version=__version__, asset=address, styles=STYLES, script=SCRIPT,
        editable=not _is_guest(request), can_leave=bool(request.scope.get("pullbook.login")),
        can_come=_is_guest(request),
    )  # fmt: skip
    headers = {"Cache-Control": "no-store", "Vary": "Accept-Encoding"}
    if "gzip" not in request.headers.get("accept-encoding", ""):
        return HTMLResponse(text, status_code=status, headers=headers)
    packed = gzip.compress(text.encode(), _LEVEL, mtime=0)
    return HTMLResponse(packed, status_code=status, headers={**headers, "Content-Encoding": "gzip"})


def _is_guest(request: Request) -> bool:
    return bool(request.scope.get("pullbook.guest"))


def _token(request: Request) -> str:
    return "" if _is_guest(request) else str(request.app.state.notebook.settings.token)


def error_page(request: Request, form: Mapping[str, object], status: int) -> Response:
    """Page for a mistake of somebody who typed or followed an address."""
    wrong_question = status == _WRONG and request.url.path.startswith("/s/") and bool(request.url.query)
    back = request.url.path if wrong_question else ""
    return _page(request, "error.html.j2", status, asked=Asked(), error=form, back=back)
