"""The routes of scripts, /api, with their description.

What declares, checks and describes them takes longer to load than everything that the pages need. So it is loaded when
the first of these routes is asked for, or a moment after the start, while the reader looks at the first page.
"""

from __future__ import annotations

import asyncio
import threading
from typing import TYPE_CHECKING

import pullbook
from pullbook.web.imports import many_imports

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.types import Receive, Scope, Send

    from pullbook.web.notebook import Notebook

__all__ = ["Api", "make_api"]


def make_api(notebook: Notebook) -> FastAPI:
    """Routes of scripts.

    Parameters
    ----------
    notebook : Notebook
        What they share.
    """
    from fastapi.exceptions import RequestValidationError
    from starlette.exceptions import HTTPException

    from pullbook.errors import PullbookError
    from pullbook.web import (
        routes_archive,
        routes_engine,
        routes_files,
        routes_findings,
        routes_plan,
        routes_report,
        routes_sessions,
    )
    from pullbook.web.description import Routes, operation_of
    from pullbook.web.mistakes import on_defect, on_error, on_invalid, on_missing

    app = Routes(
        title="pullbook", version=pullbook.__version__, docs_url=None, redoc_url=None,
        openapi_url="/api/openapi.json", redirect_slashes=False, generate_unique_id_function=operation_of,
        description="Every action of the notebook's page. A request that changes something carries the header "
        "X-Pullbook-Token; every mistake has the form what, where, value, remedy.",
    )  # fmt: skip
    app.state.notebook = notebook
    for module in (
        routes_sessions, routes_files, routes_plan, routes_findings, routes_engine, routes_report, routes_archive
    ):  # fmt: skip
        app.include_router(module.router)
    app.add_exception_handler(PullbookError, on_error)
    app.add_exception_handler(RequestValidationError, on_invalid)
    app.add_exception_handler(HTTPException, on_missing)
    app.add_exception_handler(Exception, on_defect)
    return app


class Api:
    """The routes of scripts as an application that is made when it is first needed.

    Parameters
    ----------
    notebook : Notebook
        What they share.
    """

    def __init__(self, notebook: Notebook) -> None:
        self._notebook = notebook
        self._lock = threading.Lock()
        self._app: FastAPI | None = None

    def ready(self) -> FastAPI:
        """The routes themselves; whoever asks while another one makes them waits for those."""
        with self._lock:
            if self._app is None:
                with many_imports():
                    self._app = make_api(self._notebook)
            return self._app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        app = self._app
        if app is None:
            app = await asyncio.to_thread(self.ready)
        await app(scope, receive, send)
