"""The login of a notebook that others can reach: a plain form that needs no script.

Who has logged in may do everything. Where guests are welcome, the others may read; elsewhere they see the form.
"""

from __future__ import annotations

import asyncio
import hmac
import secrets
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING, Final
from urllib.parse import parse_qs, quote

from pullbook.app.user_folders import config_folder
from pullbook.errors import FailureError, InputError
from pullbook.web.attempts import Attempts
from pullbook.web.limits import DOORS, LOGIN
from pullbook.web.login_page import login_page, logout_page
from pullbook.web.logins import Logins
from pullbook.web.password import check_password
from pullbook.web.refusal import Refusal, header_values, is_navigation, refuse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

    from pullbook.web.settings import Settings

__all__ = ["Login"]

_PUBLIC: Final = "/assets/"
_LONGEST_FORM: Final = 10_000  # byte
_READING: Final = frozenset({"GET", "HEAD"})
_FORM: Final = "application/x-www-form-urlencoded"
_NOT_IN: Final = Refusal(status=401, error=InputError("nobody is logged in here", remedy=f"log in at {LOGIN}"))
_STALE: Final = InputError("this form is out of date", remedy="send it again")
_WRONG: Final = InputError("this is not the password", remedy="type it again")


class Login:
    """Lets those in who know the password.

    Parameters
    ----------
    app : ASGI application
        The notebook. A scope has "pullbook.login" where the one who asks has logged in, else "pullbook.guest".
    settings : Settings
        Hash of the password, and whether guests are welcome.
    attempts : Attempts
        How often the password may be tried.
    """

    def __init__(self, app: ASGIApp, settings: Settings, attempts: Attempts | None = None) -> None:
        self._app = app
        self._settings = settings
        self._attempts = attempts or Attempts()
        self._logins = Logins(config_folder() / "logins", settings.password_hash)
        self._key = secrets.token_bytes(32)
        # Each check takes 64 MB for a moment.
        self._one_check = asyncio.Lock()
        self._cookie = f"pullbook-{settings.port}"
        self._form_cookie = f"pullbook-form-{settings.port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif scope["type"] == "http" and scope["path"] in DOORS:
            await self._form(scope, receive, send)
        else:
            await self._notebook(scope, receive, send)

    async def _notebook(self, scope: Scope, receive: Receive, send: Send) -> None:
        is_in = self._is_in(scope)
        scope["pullbook.login" if is_in else "pullbook.guest"] = True
        if is_in or self._is_open(scope):
            await self._app(scope, receive, send)
        elif scope["type"] == "http" and scope["method"] == "GET" and is_navigation(scope):
            await _go(send, f"{LOGIN}?next={quote(_local(scope), safe='/')}")
        else:
            await refuse(scope, send, _NOT_IN)

    def _is_open(self, scope: Scope) -> bool:
        """Whether a request may be made by anybody."""
        if scope["type"] == "websocket":
            return self._settings.guests
        return scope["method"] in _READING and (self._settings.guests or scope["path"].startswith(_PUBLIC))

    def _is_in(self, scope: Scope) -> bool:
        return self._logins.is_known(_cookies(scope).get(self._cookie, ""))

    async def _form(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["method"] in _READING:
            await self._show(scope, send, _query(scope).get("next", ""))
        elif scope["method"] == "POST":
            fields = await _fields(scope, receive)
            await (self._log_in if scope["path"] == LOGIN else self._log_out)(scope, fields, send)
        else:
            await refuse(scope, send, Refusal(status=405, error=InputError("this is not done here")))

    async def _show(self, scope: Scope, send: Send, after: str, refusal: Refusal | None = None) -> None:
        """Answer with the form, and with what was wrong."""
        word = _cookies(scope).get(self._form_cookie, "") or secrets.token_urlsafe(16)
        if scope["path"] == LOGIN:
            page = login_page(self._proof(word), after, refusal.error if refusal else None)
        else:
            page = logout_page(self._proof(word))
        headers = [
            (b"content-type", b"text/html; charset=utf-8"),
            (b"set-cookie", self._baked(scope, self._form_cookie, word, path=scope["path"])),
        ]
        if refusal is not None and refusal.wait:
            headers.append((b"retry-after", str(refusal.wait).encode()))
        await _answer(scope, send, refusal.status if refusal else 200, headers, page.encode())

    async def _log_in(self, scope: Scope, fields: dict[str, str], send: Send) -> None:
        after, address = fields.get("next", ""), (scope.get("client") or ("", 0))[0]
        if not self._is_own_form(scope, fields):
            await self._show(scope, send, after, Refusal(status=403, error=_STALE))
            return
        async with self._one_check:
            if wait := self._attempts.wait(address):
                busy = InputError("the password was tried too often", remedy=f"try again in {wait} seconds")
                await self._show(scope, send, after, Refusal(status=429, error=busy, wait=wait))
                return
            self._attempts.count(address)
            typed = fields.get("password", "")
            is_right = await asyncio.to_thread(check_password, self._settings.password_hash, typed)
        if is_right:
            self._attempts.let_in(address)
            await self._let_in(scope, send, after)
        else:
            await self._show(scope, send, after, Refusal(status=403, error=_WRONG))

    async def _let_in(self, scope: Scope, send: Send, after: str) -> None:
        try:
            word = self._logins.begin()
        except FailureError as error:
            await self._show(scope, send, after, Refusal(status=500, error=error))
            return
        self._logins.end(_cookies(scope).get(self._cookie, ""))
        await _go(send, _own_page(after), self._baked(scope, self._cookie, word))

    async def _log_out(self, scope: Scope, fields: dict[str, str], send: Send) -> None:
        """End the login; the form is that of this module, or one of the notebook's pages with the token."""
        carried = hmac.compare_digest(fields.get("token", "").encode(), self._settings.token.encode())
        if not (carried or self._is_own_form(scope, fields)):
            await self._show(scope, send, "", Refusal(status=403, error=_STALE))
            return
        self._logins.end(_cookies(scope).get(self._cookie, ""))
        await _go(send, LOGIN, self._baked(scope, self._cookie, "", age=0))

    def _is_own_form(self, scope: Scope, fields: dict[str, str]) -> bool:
        word = _cookies(scope).get(self._form_cookie, "")
        return bool(word) and hmac.compare_digest(fields.get("proof", "").encode(), self._proof(word).encode())

    def _proof(self, word: str) -> str:
        """What a form of ours says, and nobody can say who does not know the key of this start."""
        return hmac.new(self._key, word.encode(errors="replace"), "sha256").hexdigest()

    def _baked(self, scope: Scope, name: str, value: str, *, path: str = "/", age: int | None = None) -> bytes:
        secure = "; Secure" if _is_encrypted(scope) else ""
        life = "" if age is None else f"; Max-Age={age}"
        return f"{name}={value}; Path={path}; HttpOnly; SameSite=Strict{secure}{life}".encode()


def _is_encrypted(scope: Scope) -> bool:
    """Whether the browser spoke https, with this server or with a program that stands before it."""
    return scope["scheme"] == "https" or any(
        origin.lower().startswith(b"https:") for origin in header_values(scope, b"origin")
    )


def _cookies(scope: Scope) -> dict[str, str]:
    try:
        jar = SimpleCookie("; ".join(value.decode("latin-1") for value in header_values(scope, b"cookie")))
    except CookieError:
        return {}
    return {name: morsel.value for name, morsel in jar.items()}


def _query(scope: Scope) -> dict[str, str]:
    return _first(scope.get("query_string", b"").decode("latin-1"))


def _first(text: str) -> dict[str, str]:
    try:
        return {name: values[0] for name, values in parse_qs(text, max_num_fields=20).items()}
    except ValueError:
        return {}


async def _fields(scope: Scope, receive: Receive) -> dict[str, str]:
    """Fields of a form; none where it is too long, or something else."""
    if [value.split(b";")[0].strip().lower() for value in header_values(scope, b"content-type")] != [_FORM.encode()]:
        return {}
    body = bytearray()
    while len(body) <= _LONGEST_FORM:
        message = await receive()
        body += message.get("body", b"")
        if not message.get("more_body", False):
            return _first(body.decode("latin-1"))
    return {}


def _local(scope: Scope) -> str:
    query = scope.get("query_string", b"").decode("latin-1")
    return str(scope["path"]) + (f"?{query}" if query else "")


def _own_page(after: str) -> str:
    r"""Page to go on to: one of this notebook, whatever the address of the form said.

    Examples
    --------
    >>> _own_page("/s/valve-lift?units=us"), _own_page("//elsewhere.example"), _own_page("/\\elsewhere.example")
    ('/s/valve-lift?units=us', '/', '/')
    """
    is_own = after.startswith("/") and not after.startswith(("//", "/\\")) and after.isprintable()
    return quote(after, safe="/?&=%:+,;~.-") if is_own and "\\" not in after else "/"


async def _go(send: Send, where: str, cookie: bytes = b"") -> None:
    headers = [(b"location", where.encode("latin-1", errors="replace")), (b"content-length", b"0")]
    if cookie:
        headers.append((b"set-cookie", cookie))
    await send({"type": "http.response.start", "status": 303, "headers": headers})
    await send({"type": "http.response.body", "body": b""})


async def _answer(scope: Scope, send: Send, status: int, headers: list[tuple[bytes, bytes]], body: bytes) -> None:
    headers.append((b"content-length", str(len(body)).encode()))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})
