"""Mistakes as answers: the one form for scripts, a page with the same words for people."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

from pullbook.errors import ConflictError, FailureError, InputError, PullbookError, RefusalError
from pullbook.web.error_form import error_form
from pullbook.web.jobs_book import BusyError
from pullbook.web.notebook import MissingError
from pullbook.web.pages import error_page
from pullbook.web.replies import json_reply
from pullbook.web.unchanged import ChangedError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.requests import Request
    from starlette.responses import Response

__all__ = ["on_defect", "on_error", "on_invalid", "on_missing"]

_STATUS: Final[tuple[tuple[type[PullbookError], int], ...]] = (
    (MissingError, 404), (ConflictError, 409), (InputError, 422), (RefusalError, 422), (BusyError, 503),
    (ChangedError, 503),
    (FailureError, 507),
)  # fmt: skip


async def on_error(request: Request, error: Exception) -> Response:
    """Answer for an error of ours."""
    assert isinstance(error, PullbookError)  # noqa: S101 - that is what it is registered for
    of_text = request.method == "PUT" and request.url.path.endswith("/text")
    form: Mapping[str, object] = error_form(error, of_text=of_text)
    if isinstance(error, ConflictError):
        form = {**form, "yours": error.yours, "theirs": error.theirs}
    status = next((status for kind, status in _STATUS if isinstance(error, kind)), 500)
    return _told(request, form, status)


async def on_invalid(request: Request, error: Exception) -> Response:
    """Answer for a request whose form is wrong: the first mistake, in the form of every other."""
    errors: Any = getattr(error, "errors", list)()
    first = errors[0] if errors else {"msg": "the request is wrong", "loc": ()}
    where = ".".join(str(part) for part in first.get("loc", ()))
    value = first.get("input", "")
    plain = value if isinstance(value, str) else json.dumps(value, default=str)
    said = str(first.get("msg", "this is wrong"))
    script = request.url.path.startswith("/api/")
    remedy = "see the description of the routes at /api/openapi.json" if script else "take it out of the address"
    form = {"what": said[:1].lower() + said[1:], "where": where, "value": plain[:80], "remedy": remedy}
    return _told(request, form, 422)


async def on_missing(request: Request, error: Exception) -> Response:
    """Answer where no route, method or file is."""
    status = int(getattr(error, "status_code", 404))
    what = "there is no such page" if status == 404 else str(getattr(error, "detail", "this cannot be done"))
    form = {"what": what[:1].lower() + what[1:], "where": "", "value": request.url.path[:80],
            "remedy": "begin at the list of sessions"}  # fmt: skip
    return _told(request, form, status)


async def on_defect(request: Request, error: Exception) -> Response:
    """Answer for what nobody thought of."""
    return _told(request, error_form(error), 500)


def _told(request: Request, form: Mapping[str, object], status: int) -> Response:
    if request.url.path.startswith("/api/"):
        return json_reply(form, status)
    return error_page(request, form, status)
