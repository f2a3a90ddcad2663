"""Pages for people: the list of sessions, one session, a report that was drawn up; and what they are dressed in."""

from __future__ import annotations

import asyncio
import gzip
import mimetypes
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from starlette.responses import FileResponse, HTMLResponse, Response
from starlette.routing import Route

from pullbook import __version__
from pullbook.app.stage_report import DRAFT, PUBLISHED, file_of
from pullbook.errors import PullbookError
from pullbook.quantities.showing import UnitSystem
from pullbook.web.archive_part import found_part
from pullbook.web.asked import Asked, asked_in
from pullbook.web.assets import SCRIPT, STYLES, address, asset, tag_of
from pullbook.web.error_form import error_form
from pullbook.web.notebook import MissingError
from pullbook.web.overview import overview
from pullbook.web.replies import shared
from pullbook.web.shown import Wanted
from pullbook.web.templating import environment, stamp
from pullbook.web.work_plan import sheet_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.requests import Request

    from pullbook.app.sessions import SessionPlace
    from pullbook.web.jobs import Job
    from pullbook.web.notebook import Notebook

__all__ = ["ROUTES", "asked_by_reader", "asset_file", "error_page", "index", "report_file", "run_sheet", "session_page"]

_LEVEL: Final = 9
_WRONG: Final = 422
_KEY: Final = re.compile(r"[0-9a-f]{64}")
_ON_PAGE: Final = "X-Pullbook-Shown"  # what a page says that asks for itself again: the key of the findings on it
_REPORTS: Final = {"draft-report": DRAFT, "report": PUBLISHED}


def asked_by_reader(request: Request) -> Asked:
    """Question of an address, in the units of the reader's last choice where the address names none."""
    asked, usual = asked_in(request.query_params), request.cookies.get("pullbook_units", "")
    if "units" in request.query_params or usual not in set(UnitSystem):
        return asked
    return replace(asked, units=usual)


async def index(request: Request) -> HTMLResponse:
    """List of the sessions."""
    notebook, asked = shared(request), asked_by_reader(request)
    listed = await overview(notebook, asked)
    tested = await found_part(notebook, request.query_params.get("find", "").strip(), opened=_opened(request))
    return _page(
        request, "index.html.j2", asked=asked, sessions=listed, root=str(notebook.root), stamp=stamp((asked, listed)),
        tested=tested,
    )  # fmt: skip


def _opened(request: Request) -> bool:
    """Whether somebody opens a page, and not a page that is open asks for itself."""
    return _ON_PAGE not in request.headers


async def session_page(request: Request) -> Response:
    """One session, from the question to the published report."""
    from pullbook.web.page_context import session_context

    notebook, asked = shared(request), asked_by_reader(request)
    place = await notebook.place(request.path_params["session"])
    try:
        _ = asked.question
        draft = await notebook.draft(place)
    except PullbookError as error:
        return error_page(request, error_form(error), 422)
    answer = await _answer(notebook, place, asked) if draft.session is not None else None
    wanted = Wanted(asked=asked, answer=answer, on_page=request.headers.get(_ON_PAGE, ""), opened=_opened(request))
    context = await session_context(notebook, place, draft, wanted)
    return _page(request, "notebook.html.j2", **context)


async def _answer(notebook: Notebook, place: SessionPlace, asked: Asked) -> tuple[str, Job]:
    # The page has the numbers of every window in it, so that the chosen one is no question of its own.
    _ = asked.question
    return await notebook.answer(place, replace(asked, window=""), again=False)


async def report_file(request: Request) -> Response:
    """A file of a report, looked up in the list of the report."""
    where, name = request.path_params["where"], request.path_params["name"]
    place = await shared(request).place(request.path_params["session"])
    path = await asyncio.to_thread(file_of, place.folder, _REPORTS[where], name) if where in _REPORTS else None
    if path is None:
        raise MissingError("the report has no such file", where="name", value=name[:80], remedy="look at its list")
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    return FileResponse(
        path, media_type=kind, headers={"Content-Security-Policy": "sandbox", "Cache-Control": "no-cache"}
    )


async def run_sheet(request: Request) -> Response:
    """Run sheet of an offer, as a page of its own that is made to be printed."""
    words = request.path_params
    await shared(request).place(words["session"])
    units = asked_by_reader(request).units
    is_key = _KEY.fullmatch(words["key"]) is not None
    name = sheet_name(words["offer"], units)
    sheet = await asyncio.to_thread(shared(request).cache.read, words["key"], name) if is_key else None
    if sheet is None:
        raise MissingError("this plan is not kept any more", where="plan", value=words["key"][:12], remedy="plan again")
    return HTMLResponse(sheet, headers={"Cache-Control": "no-store"})


async def asset_file(request: Request) -> Response:
    """Style, script or icon; kept by the browser for good where the hash is right."""
    tag, name = request.path_params["tag"], request.path_params["name"]
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


ROUTES: Final = (
    Route("/", index),
    Route("/s/{session}", session_page),
    Route("/s/{session}/run-sheet/{key}/{offer:int}", run_sheet),
    Route("/s/{session}/{where}/{name:path}", report_file),
    Route("/assets/{tag}/{name:path}", asset_file),
)
"""Pages and what they are dressed in; they need none of what the routes of scripts are declared with."""
