"""What stands before the notebook: who may ask, what for, and how much at a time.

From the outside in: headers on every answer, the names that are answered to, the number of requests at a time, the
bounds of a request's body, the login where there is one, the token of a request that changes something. All of it sees
WebSockets too.
"""

from __future__ import annotations

import hmac
import json
from typing import TYPE_CHECKING, Final

from pullbook.errors import InputError
from pullbook.web.headers import Headers
from pullbook.web.limits import Bodies, Crowd
from pullbook.web.origins import SAFE, Origins
from pullbook.web.refusal import Refusal, header_values, refuse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

    from pullbook.web.settings import Settings

__all__ = ["TOKEN_HEADER", "TOKEN_PATH", "guarded"]

TOKEN_HEADER: Final = "X-Pullbook-Token"  # noqa: S105 - the name of a header
TOKEN_PATH: Final = "/api/token"  # noqa: S105 - a route


def guarded(app: ASGIApp, settings: Settings) -> ASGIApp:
    """Put everything of this module before an application.

    Raises
    ------
    InputError
        If a name of the settings is none.
    """
    inner: ASGIApp = _Tokens(app, settings.token)
    if settings.demands_login:
        from pullbook.web.login import Login

        inner = Login(inner, settings)
    return Headers(_Names(Crowd(Bodies(inner, settings)), Origins(settings)))


class _Names:
    """Answers only under the notebook's names, and only to its own pages."""

    def __init__(self, app: ASGIApp, origins: Origins) -> None:
        self._app = app
        self._origins = origins

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        refusal = None if scope["type"] == "lifespan" else self._origins.refusal(scope)
        if refusal is None:
            await self._app(scope, receive, send)
        else:
            await refuse(scope, send, refusal)


class _Tokens:
    """Lets a request change something only where it carries the token of this start."""

    def __init__(self, app: ASGIApp, token: str) -> None:
        self._app = app
        self._token = token.encode()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
        elif scope["path"] == TOKEN_PATH and scope["method"] == "GET":
            await self._give(scope, send)
        elif scope["method"] in SAFE or self._is_carried(scope):
            await self._app(scope, receive, send)
        else:
            await refuse(scope, send, _NO_TOKEN)

    def _is_carried(self, scope: Scope) -> bool:
        given = header_values(scope, TOKEN_HEADER.lower().encode())
        return len(given) == 1 and hmac.compare_digest(given[0], self._token)

    async def _give(self, scope: Scope, send: Send) -> None:
        if scope.get("pullbook.guest"):
            await refuse(scope, send, _A_GUEST)
            return
        body = json.dumps({"token": self._token.decode()}).encode()
        headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": body})


_NO_TOKEN: Final = Refusal(
    status=403,
    error=InputError(
        "the token of this request is missing, or of an earlier start of the notebook",
        where=TOKEN_HEADER,
        remedy=f"fetch {TOKEN_PATH} and send it again",
    ),
)
_A_GUEST: Final = Refusal(status=401, error=InputError("guests only read", where=TOKEN_PATH, remedy="log in first"))
