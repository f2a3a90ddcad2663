"""One request to an application in this process, with everything that a real client could do wrong."""

from __future__ import annotations

import asyncio
import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterable, Iterator

    from starlette.types import ASGIApp, Message

__all__ = ["HOST", "Answer", "ask", "ask_all", "open_socket"]

HOST = "127.0.0.1:8420"


@dataclass(slots=True, kw_only=True)
class Answer:
    """What an application answered."""

    status: int = 0
    headers: list[tuple[str, str]] = field(default_factory=list)
    body: bytes = b""

    def header(self, name: str) -> str:
        return ", ".join(value for key, value in self.headers if key == name)

    @property
    def form(self) -> dict[str, object]:
        return dict(json.loads(self.body))


def ask(app: ASGIApp, path: str = "/", method: str = "GET", **request: Any) -> Answer:
    """Ask once; the keywords are those of `answer_to`."""
    return asyncio.run(answer_to(app, path, method, **request))


def ask_all(app: ASGIApp, requests: Iterable[dict[str, Any]]) -> list[Answer]:
    """Ask many times at once."""

    async def asked() -> list[Answer]:
        return list(await asyncio.gather(*(answer_to(app, **request) for request in requests)))

    return asyncio.run(asked())


async def answer_to(  # noqa: PLR0913 - everything that a client can vary
    app: ASGIApp,
    path: str = "/",
    method: str = "GET",
    *,
    headers: dict[str, str] | None = None,
    body: bytes | AsyncIterator[bytes] = b"",
    address: str = "127.0.0.1",
    server: tuple[str, int] = ("127.0.0.1", 8420),
    scheme: str = "http",
) -> Answer:
    """Answer of an application to one request."""
    answer = Answer()
    pieces = _pieces(body)

    async def send(message: Message) -> None:
        if message["type"].endswith("response.start"):
            answer.status = message["status"]
            answer.headers = [(key.decode(), value.decode()) for key, value in message["headers"]]
        elif message["type"].endswith("response.body"):
            answer.body += message.get("body", b"")

    async def receive() -> Message:
        return await anext(pieces, {"type": "http.disconnect"})

    bare, _, query = path.partition("?")
    scope = {
        "type": "http", "method": method, "path": bare, "raw_path": bare.encode(), "query_string": query.encode(),
        "headers": _raw(headers or {}, body), "client": (address, 50_000), "server": server, "scheme": scheme,
        "http_version": "1.1", "root_path": "",
    }  # fmt: skip
    await app(scope, receive, send)
    return answer


async def open_socket(app: ASGIApp, path: str, headers: dict[str, str]) -> int:
    """Status with which the opening of a WebSocket is answered; 101 where it is accepted."""
    status = 0

    async def send(message: Message) -> None:
        nonlocal status
        if not status:
            status = {"websocket.accept": 101, "websocket.close": 403}[message["type"]]

    sent: Iterator[Message] = iter([{"type": "websocket.connect"}, {"type": "websocket.disconnect", "code": 1001}])

    async def receive() -> Message:
        return next(sent)

    scope = {
        "type": "websocket", "path": path, "query_string": b"", "headers": _raw(headers, b""), "scheme": "ws",
        "client": ("127.0.0.1", 50_000), "server": ("127.0.0.1", 8420), "subprotocols": [],
    }  # fmt: skip
    await app(scope, receive, send)
    return status


def _raw(headers: dict[str, str], body: bytes | AsyncIterator[bytes]) -> list[tuple[bytes, bytes]]:
    every = {"host": HOST, **{name.lower(): value for name, value in headers.items()}}
    if not isinstance(body, bytes):
        every.setdefault("transfer-encoding", "chunked")
    elif body:
        every.setdefault("content-length", str(len(body)))
    return [(name.encode(), value.encode("latin-1")) for name, value in every.items() if value != "-"]


async def _pieces(body: bytes | AsyncIterator[bytes]) -> AsyncIterator[Message]:
    if isinstance(body, bytes):
        yield {"type": "http.request", "body": body, "more_body": False}
    else:
        async for piece in body:
            yield {"type": "http.request", "body": piece, "more_body": True}
        yield {"type": "http.request", "body": b"", "more_body": False}
    yield {"type": "http.disconnect"}
