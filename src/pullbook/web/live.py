"""The WebSocket of an open page: it hears of every change of its session on the disk, and of the jobs of it.

A page holds nothing that it cannot ask for again. What comes over the socket is only *that* something changed; the page
then asks for itself again and puts in what is new.
"""

from __future__ import annotations

import asyncio
from contextlib import suppress
from typing import TYPE_CHECKING, Final

from starlette.routing import WebSocketRoute
from starlette.websockets import WebSocketDisconnect

from pullbook.app.engine_files import find_engines
from pullbook.app.sessions import FILE, find_session, find_sessions
from pullbook.errors import PullbookError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from starlette.websockets import WebSocket

    from pullbook.web.notebook import Notebook

__all__ = ["ROUTE", "live"]

_LOOK: Final = 0.4  # s between two looks at the disk
_MOST: Final = 4_000  # files of a session that are looked at


async def live(socket: WebSocket) -> None:
    """Tell an open page of what changes, until it goes."""
    session = socket.query_params.get("session", "")
    notebook: Notebook = socket.app.state.notebook
    await socket.accept()
    with suppress(WebSocketDisconnect, RuntimeError):
        token = "" if socket.scope.get("pullbook.guest") else notebook.settings.token
        await socket.send_json({"hello": True, "token": token, "revision": await _revision(notebook, session)})
        tasks = [
            asyncio.create_task(_until_gone(socket)),
            asyncio.create_task(_tell_of_files(socket, notebook, session)),
            asyncio.create_task(_tell_of_jobs(socket, notebook, session)),
        ]
        try:
            _, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)


async def _revision(notebook: Notebook, session: str) -> str:
    """What the session file says now; a page that shows something else asks for itself."""
    with suppress(PullbookError):
        return (await notebook.draft(await notebook.place(session))).revision if session else ""
    return "gone"


async def _until_gone(socket: WebSocket) -> None:
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect":
            return


async def _tell_of_files(socket: WebSocket, notebook: Notebook, session: str) -> None:
    async for _ in _changes(notebook.root, session):
        await socket.send_json({"changed": session or "sessions"})


async def _tell_of_jobs(socket: WebSocket, notebook: Notebook, session: str) -> None:
    async for job in notebook.jobs.listen(session):
        if session or job.state.is_over:
            await socket.send_json({"job": job.as_json()})


async def _changes(root: Path, session: str) -> AsyncIterator[None]:
    """Once for each change of the session's files, or of the list of sessions."""
    look = _state_of_session if session else _state_of_list
    before = await asyncio.to_thread(look, root, session)
    while True:
        await asyncio.sleep(_LOOK)
        now = await asyncio.to_thread(look, root, session)
        if now != before:
            before = now
            yield


def _state_of_session(root: Path, session: str) -> object:
    place = find_session(root, session)
    if place is None:
        return None
    with suppress(OSError):
        files = sorted((place.folder / "pulls").iterdir())[:_MOST] if (place.folder / "pulls").is_dir() else []
        engines = [place.folder / engine.name for engine in find_engines(place.folder)]
        own = [place.folder / ".pullbook" / name for name in ("report", "published.json", "engine.json")]
        beside = [place.folder / FILE, *engines, *own]
        return [_state(path) for path in (*beside, *files)]
    return None


def _state(path: Path) -> tuple[str, int, int]:
    try:
        found = path.stat()
    except OSError:
        return path.name, 0, 0
    return path.name, found.st_size, found.st_mtime_ns


def _state_of_list(root: Path, session: str) -> object:
    del session
    with suppress(Exception):
        return [(place.id, _state(place.folder / FILE)) for place in find_sessions(root)]
    return None


ROUTE: Final = WebSocketRoute("/api/live", live)
"""Where a page listens."""
