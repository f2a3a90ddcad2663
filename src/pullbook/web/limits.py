"""How much one request, and all of them together, may ask of the server.

A body is handed on piece by piece and never collected here. One that is too large, or that dribbles in, ends as if
its sender had gone; the application gives up what it began, and the answer says why.
"""

from __future__ import annotations

import asyncio
import re
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError, InputError
from pullbook.web.refusal import Refusal, header_values, refuse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from pullbook.web.settings import Settings

__all__ = ["DOORS", "LOGIN", "LOGOUT", "Bodies", "Crowd", "Patience"]

LOGIN: Final = "/login"
LOGOUT: Final = "/logout"
DOORS: Final = frozenset({LOGIN, LOGOUT})
_UPLOAD: Final = re.compile(r"/api/sessions/[^/]+/files")
_MEGABYTE: Final = 1_000_000
_LINGER: Final = 1.0  # s; a client that is still sending reads the answer only if the connection stays for a moment
_BUSY: Final = Refusal(
    status=503, error=FailureError("the notebook has too much to do", remedy="ask again in a moment"), wait=2
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Patience:
    """How long a client may take.

    Attributes
    ----------
    idle : float
        Longest pause inside a body. [s]
    grace : float
        What a body may take whatever its size. [s]
    rate : float
        Slowest body after that, on average. [byte/s]
    """

    idle: float = 15.0
    grace: float = 20.0
    rate: float = 2_000.0


class Crowd:
    """Works on a bounded number of requests, lets a bounded number wait for a while, and turns away the rest.

    Requests that may last, because they carry a file or come from strangers, have places of their own: however many of
    those are slow, the pages are served.

    Parameters
    ----------
    app : ASGI application
        What does the work.
    at_work : int
        Requests at a time that are neither files nor of the login.
    slow : int
        Files at a time, and requests of the login at a time.
    waiting : int
        Requests that wait for a place.
    sockets : int
        WebSockets at a time.
    wait : float
        How long a request waits. [s]
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        at_work: int = 64,
        slow: int = 24,
        waiting: int = 1_200,
        sockets: int = 256,
        wait: float = 20.0,
    ) -> None:
        self._app = app
        self._pages, self._files, self._doors = (asyncio.Semaphore(most) for most in (at_work, slow, slow))
        self._most_waiting = waiting
        self._waiting = 0
        self._free_sockets = sockets
        self._wait = wait

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] == "http":
            await self._request(scope, receive, send)
        elif scope["type"] == "websocket":
            await self._socket(scope, receive, send)
        else:
            await self._app(scope, receive, send)

    async def _request(self, scope: Scope, receive: Receive, send: Send) -> None:
        places = self._places(scope)
        if not await self._has_place(places):
            await refuse(scope, send, _BUSY)
            return
        try:
            await self._app(scope, receive, send)
        finally:
            places.release()

    def _places(self, scope: Scope) -> asyncio.Semaphore:
        if scope["method"] == "POST" and scope["path"] in DOORS:
            return self._doors
        return self._files if _is_upload(scope) else self._pages

    async def _has_place(self, places: asyncio.Semaphore) -> bool:
        """Wait for a place; false where too many wait, or it takes too long."""
        if places.locked() and self._waiting >= self._most_waiting:
            return False
        self._waiting += 1
        try:
            async with asyncio.timeout(self._wait):
                await places.acquire()
        except TimeoutError:
            return False
        finally:
            self._waiting -= 1
        return True

    async def _socket(self, scope: Scope, receive: Receive, send: Send) -> None:
        if self._free_sockets <= 0:
            await refuse(scope, send, _BUSY)
            return
        self._free_sockets -= 1
        try:
            await self._app(scope, receive, send)
        finally:
            self._free_sockets += 1


class Bodies:
    """Bounds the body of each request in size and time."""

    def __init__(self, app: ASGIApp, settings: Settings, patience: Patience | None = None) -> None:
        self._app = app
        self._settings = settings
        self._patience = patience or Patience()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http" or not _has_body(scope):
            await self._app(scope, receive, send)
            return
        most = self._settings.most_upload if _is_upload(scope) else self._settings.most_json
        body = _Body(receive=receive, send=send, most=most, patience=self._patience)
        if (stated := _stated_length(scope)) is not None and stated > most:
            await refuse(scope, body.send_on, _too_large(most))
            return
        try:
            await self._app(scope, body.receive_on, body.send_on)
        except Exception:
            # The application lost its sender through us; that is no defect of its own.
            if body.refusal is None:
                raise
        if body.refusal is not None and not body.is_answered:
            refusal, body.refusal = body.refusal, None
            await refuse(scope, body.send_on, refusal)


def _is_upload(scope: Scope) -> bool:
    return scope["method"] == "POST" and _UPLOAD.fullmatch(scope["path"]) is not None


def _has_body(scope: Scope) -> bool:
    length = _stated_length(scope)
    return bool(header_values(scope, b"transfer-encoding")) if length is None else length > 0


def _stated_length(scope: Scope) -> int | None:
    lengths = [value for value in header_values(scope, b"content-length") if value.isdigit()]
    return max(map(int, lengths)) if lengths else None


def _too_large(most: int) -> Refusal:
    return Refusal(
        status=413,
        error=InputError(
            f"this is larger than {most / _MEGABYTE:,.0f} MB", where="body", remedy="hand over less at a time"
        ),
    )


@dataclass(slots=True, kw_only=True)
class _Body:
    """One body on its way."""

    receive: Receive
    send: Send
    most: int
    patience: Patience
    refusal: Refusal | None = None
    is_answered: bool = False
    _is_complete: bool = False
    _taken: int = 0
    _waited: float = field(default=0.0)

    async def receive_on(self) -> Message:
        """Next piece; the sender is gone once the body is refused."""
        if self.refusal is not None:
            return {"type": "http.disconnect"}
        if self._is_complete:
            return await self.receive()
        began = time.monotonic()
        try:
            async with asyncio.timeout(self.patience.idle):
                message = await self.receive()
        except TimeoutError:
            return self._refused(_TOO_SLOW)
        self._waited += time.monotonic() - began
        return self._counted(message)

    def _counted(self, message: Message) -> Message:
        if message["type"] != "http.request":
            self._is_complete = True
            return message
        self._taken += len(message.get("body", b""))
        self._is_complete = not message.get("more_body", False)
        if self._taken > self.most:
            return self._refused(_too_large(self.most))
        if self._waited > self.patience.grace + self._taken / self.patience.rate:
            return self._refused(_TOO_SLOW)
        return message

    def _refused(self, refusal: Refusal) -> Message:
        self.refusal = refusal
        return {"type": "http.disconnect"}

    async def send_on(self, message: Message) -> None:
        """Send an answer; one that comes before the end of the body ends the connection too."""
        if self.refusal is not None and not self.is_answered:
            return  # what the application answers to a sender that it lost through us
        self.is_answered = True
        if self._is_complete:
            await self.send(message)
        elif message["type"] == "http.response.start":
            await self.send({**message, "headers": [*message.get("headers", ()), (b"connection", b"close")]})
        elif message.get("more_body", False):
            await self.send(message)
        else:
            await self.send({**message, "more_body": True})
            await self._let_finish()
            await self.send({"type": "http.response.body", "body": b"", "more_body": False})

    async def _let_finish(self) -> None:
        """Take what is still sent for a moment, and forget it."""
        until = time.monotonic() + _LINGER
        while (left := until - time.monotonic()) > 0.0:
            try:
                async with asyncio.timeout(left):
                    message = await self.receive()
            except TimeoutError:
                return
            if message["type"] != "http.request" or not message.get("more_body", False):
                return


_TOO_SLOW: Final = Refusal(
    status=408, error=InputError("this came in too slowly", where="body", remedy="send it again over a faster line")
)
