"""How the server says no: the error form for scripts, the same sentence for people."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.types import Scope, Send

    from pullbook.errors import PullbookError

__all__ = ["Refusal", "header_values", "is_navigation", "refuse"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """One request that is not served, and why.

    Attributes
    ----------
    status : int
        Status of the answer.
    error : PullbookError
        What is wrong, where, with which value, and what to do.
    wait : int
        When it may be asked again; 0 where waiting does not help. [s]
    """

    status: int
    error: PullbookError
    wait: int = 0


async def refuse(scope: Scope, send: Send, refusal: Refusal) -> None:
    """Answer a request, or the opening of a WebSocket, with a refusal."""
    if scope["type"] == "websocket":
        # A page learns no more of a socket that is not opened, whatever the answer says.
        await send({"type": "websocket.close", "code": 1008})
        return
    kind, body = _words(scope, refusal.error)
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode())]
    if refusal.wait:
        headers.append((b"retry-after", str(refusal.wait).encode()))
    await send({"type": "http.response.start", "status": refusal.status, "headers": headers})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})


def _words(scope: Scope, error: PullbookError) -> tuple[bytes, bytes]:
    """Content type and body: a sentence for somebody who typed an address, the error form for a script."""
    if is_navigation(scope):
        return b"text/plain; charset=utf-8", f"{error}\n".encode(errors="replace")
    form = {"what": error.what, "where": error.where, "value": error.value, "remedy": error.remedy}
    return b"application/json", json.dumps(form).encode()


def is_navigation(scope: Scope) -> bool:
    """Whether a request is that of a person who opens a page."""
    wanted = header_values(scope, b"accept")
    return not scope["path"].startswith("/api/") and any(b"text/html" in value for value in wanted)


def header_values(scope: Scope, name: bytes) -> list[bytes]:
    """Values of a header, by its lower-case name."""
    return [value for key, value in scope["headers"] if key.lower() == name]
