"""`make_app`: the notebook as an ASGI application."""

from __future__ import annotations

import asyncio
import threading
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Final

from starlette.applications import Starlette
from starlette.exceptions import HTTPException

from pullbook.errors import PullbookError
from pullbook.web import live, pages
from pullbook.web.api import Api
from pullbook.web.cache import Cache
from pullbook.web.jobs import Jobs
from pullbook.web.mistakes import on_defect, on_error, on_missing
from pullbook.web.notebook import Notebook

if TYPE_CHECKING:
    from collections.abc import AsyncGenerator

    from starlette.types import ASGIApp, Receive, Scope, Send

    from pullbook.web.settings import Settings

__all__ = ["make_app", "make_routes"]

_FIRST_ANSWER: Final = 0.4  # s after the start, in which the processor is left to the first answer


def make_routes(settings: Settings, *, workers: int = 2) -> Starlette:
    """Routes and pages alone, without the guard; the workers run while the application does.

    Parameters
    ----------
    settings : Settings
        What is served, and to whom.
    workers : int
        Processes that work side by side.
    """
    jobs = Jobs(Cache(), workers=workers)
    notebook = Notebook(settings, jobs, jobs.cache)
    api = Api(notebook)

    @asynccontextmanager
    async def running(_: Starlette) -> AsyncGenerator[None]:
        await jobs.start(later=_FIRST_ANSWER)
        warming = asyncio.get_running_loop().call_later(_FIRST_ANSWER, _warm, api)
        try:
            yield
        finally:
            warming.cancel()
            await jobs.stop()

    app = Starlette(
        routes=[*pages.ROUTES, live.ROUTE], lifespan=running,
        exception_handlers={PullbookError: on_error, HTTPException: on_missing, Exception: on_defect},
    )  # fmt: skip
    app.state.notebook = notebook

    async def elsewhere(scope: Scope, receive: Receive, send: Send) -> None:
        """Serve what is no page."""
        of_script = scope["type"] == "http" and scope["path"].startswith("/api/")
        await (api if of_script else app.router.not_found)(scope, receive, send)

    app.router.redirect_slashes = False
    app.router.default = elsewhere
    return app


def _warm(api: Api) -> None:
    """Prepare the routes of scripts and the templates while nobody asks for them."""

    def prepare() -> None:
        from pullbook.web.templating import prepare_templates

        api.ready()
        prepare_templates()

    threading.Thread(target=prepare, daemon=True).start()


def make_app(settings: Settings) -> ASGIApp:
    """The notebook with its guard, as it is served.

    Parameters
    ----------
    settings : Settings
        What is served, and to whom.
    """
    from pullbook.web.guard import guarded

    return guarded(make_routes(settings), settings)
