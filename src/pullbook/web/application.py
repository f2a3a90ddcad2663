"""`make_app`: the notebook as an ASGI application."""

from __future__ import annotations

import asyncio
import threading
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Any, Final

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

import pullbook
from pullbook.errors import PullbookError
from pullbook.web import live, pages, routes_engine, routes_files, routes_findings, routes_report, routes_sessions
from pullbook.web.cache import Cache
from pullbook.web.description import described, operation_of
from pullbook.web.jobs import Jobs
from pullbook.web.mistakes import on_defect, on_error, on_invalid, on_missing
from pullbook.web.notebook import Notebook

if TYPE_CHECKING:
    from collections.abc import AsyncGenerator

    from starlette.types import ASGIApp

    from pullbook.web.settings import Settings

__all__ = ["make_app", "make_routes"]

_FIRST_ANSWER: Final = 0.4  # s after the start, in which the processor is left to the first answer


class _Routes(FastAPI):
    """Routes whose description names the token."""

    def openapi(self) -> dict[str, Any]:
        """Describe all routes."""
        return described(self, super().openapi)


def make_routes(settings: Settings, *, workers: int = 2) -> FastAPI:
    """Routes and pages alone, without the guard; the workers run while the application does.

    Parameters
    ----------
    settings : Settings
        What is served, and to whom.
    workers : int
        Processes that work side by side.
    """
    jobs = Jobs(Cache(), workers=workers)

    @asynccontextmanager
    async def running(_: FastAPI) -> AsyncGenerator[None]:
        await jobs.start(later=_FIRST_ANSWER)
        warming = asyncio.get_running_loop().call_later(_FIRST_ANSWER, _warm)
        try:
            yield
        finally:
            warming.cancel()
            await jobs.stop()

    app = _Routes(
        title="pullbook", version=pullbook.__version__, lifespan=running, docs_url=None, redoc_url=None,
        openapi_url="/api/openapi.json", redirect_slashes=False, generate_unique_id_function=operation_of,
        description="Every action of the notebook's page. A request that changes something carries the header "
        "X-Pullbook-Token; every mistake has the form what, where, value, remedy.",
    )  # fmt: skip
    app.state.notebook = Notebook(settings, jobs, jobs.cache)
    # A router is made when it is first looked at: the pages go first, so that the first page waits for no other.
    for module in (pages, live, routes_sessions, routes_files, routes_findings, routes_engine, routes_report):
        app.include_router(module.router)
    app.add_exception_handler(PullbookError, on_error)
    app.add_exception_handler(RequestValidationError, on_invalid)
    app.add_exception_handler(HTTPException, on_missing)
    app.add_exception_handler(Exception, on_defect)
    return app


def _warm() -> None:
    """Prepare the largest template while nobody asks for it."""
    from pullbook.web.templating import environment

    threading.Thread(target=environment().get_template, args=("notebook.html.j2",), daemon=True).start()


def make_app(settings: Settings) -> ASGIApp:
    """The notebook with its guard, as it is served.

    Parameters
    ----------
    settings : Settings
        What is served, and to whom.
    """
    from pullbook.web.guard import guarded

    return guarded(make_routes(settings), settings)
