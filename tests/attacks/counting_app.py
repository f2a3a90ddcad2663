"""A small application to put the guard before: it reads every body, and says how many bytes it was given."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.types import Message, Receive, Scope, Send

__all__ = ["CountingApp"]


class CountingApp:
    """Counts what reaches it.

    Attributes
    ----------
    reached : list of str
        Method and path of each request.
    taken : int
        Bytes of all bodies.
    lost : int
        Requests whose sender went away in the middle.
    """

    def __init__(self, large: int = 0) -> None:
        self.reached: list[str] = []
        self._large = large
        self.taken = 0
        self.lost = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await _live(receive, send)
        elif scope["type"] == "websocket":
            self.reached.append(f"WS {scope['path']}")
            await receive()
            await send({"type": "websocket.accept"})
            while (await receive())["type"] != "websocket.disconnect":
                pass
        else:
            self.reached.append(f"{scope['method']} {scope['path']}")
            await self._answer(scope, receive, send)

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        count = 0
        message: Message = {"more_body": True}
        while message.get("more_body", False):
            message = await receive()
            if message["type"] == "http.disconnect":
                self.lost += 1
                return
            count += len(message.get("body", b""))
            self.taken += len(message.get("body", b""))
        if scope["path"] == "/large":
            await _send_many(send, self._large)
            return
        guest = bool(scope.get("pullbook.guest"))
        body = json.dumps({"path": scope["path"], "bytes": count, "guest": guest}).encode()
        headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": body})


async def _send_many(send: Send, size: int) -> None:
    """Answer with many bytes, piece by piece."""
    await send({"type": "http.response.start", "status": 200, "headers": []})
    for _ in range(size // 100_000):
        await send({"type": "http.response.body", "body": bytes(100_000), "more_body": True})
    await send({"type": "http.response.body", "body": b""})


async def _live(receive: Receive, send: Send) -> None:
    while True:
        message = await receive()
        await send({"type": f"{message['type']}.complete"})
        if message["type"] == "lifespan.shutdown":
            return
