"""Headers of every answer: what a page may load, who may frame it, and how long it may be kept.

References
----------
.. [1] W3C, "Content Security Policy Level 3", working draft, 2024.
.. [2] M. Nottingham et al., "HTTP Caching", RFC 9111, 2022, and "HTTP Immutable Responses", RFC 8246, 2017.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["PAGE_POLICY", "PART_POLICY", "REPORT_POLICY", "Headers"]

# The charts set sizes and colours of single elements, so styles may stand in an element; scripts may not.
PAGE_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
    "connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; frame-src 'self'; frame-ancestors 'none'"
)
# A report holds its own scripts. It is shown in a frame of the page as a stranger: it cannot ask this server anything.
REPORT_POLICY: Final = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; font-src data:; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'self'; sandbox allow-scripts allow-modals allow-popups "
    "allow-downloads"
)
# Scripts, styles and data are no pages, and a browser is told never to read them as one. Looked at by themselves they
# may do nothing at all; a browser shows them with a style of its own.
PART_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"

_POLICY: Final = b"content-security-policy"
_CACHE: Final = b"cache-control"
_OFF: Final = ("camera", "display-capture", "geolocation", "hid", "microphone", "midi", "payment", "serial", "usb")
_ALWAYS: Final = (
    (b"x-content-type-options", b"nosniff"),
    (b"cross-origin-resource-policy", b"same-origin"),
    # A form of a page without any referrer would be sent with an unknown origin; other sites learn nothing either way.
    (b"referrer-policy", b"same-origin"),
)
_DEVICES: Final = (b"permissions-policy", ", ".join(f"{name}=()" for name in _OFF).encode())
_OPENER: Final = b"cross-origin-opener-policy"
_SET_HERE: Final = frozenset({_POLICY, _OPENER, _DEVICES[0], b"x-frame-options", *(name for name, _ in _ALWAYS)})
_PARTS: Final = frozenset({b"application/json", b"text/css", b"text/javascript"})
_HASHED: Final = re.compile(r"/assets/[0-9a-f]{8,64}/[\w./-]+")
_FOUND: Final = frozenset({200, 304})


class Headers:
    """Puts the headers on every answer of an application.

    An answer that asks for a sandbox gets `REPORT_POLICY`, scripts, styles and JSON get `PART_POLICY`, any other
    `PAGE_POLICY`, whatever it says itself. It may say how long it is to be kept.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                given = [(key.lower(), value) for key, value in message.get("headers", ())]
                message = {**message, "headers": _completed(given, scope, message["status"])}
            await send(message)

        await self._app(scope, receive, send_with_headers)


def _completed(given: list[tuple[bytes, bytes]], scope: Scope, status: int) -> list[tuple[bytes, bytes]]:
    names = {key for key, _ in given}
    if any(key == _POLICY and b"sandbox" in value for key, value in given):
        # A browser refuses to put a page into a sandbox and to cut it off from its opener at once.
        added = [(_POLICY, REPORT_POLICY.encode()), (b"x-frame-options", b"SAMEORIGIN"), _DEVICES, *_ALWAYS]
    else:
        own = [(_POLICY, PART_POLICY.encode())] if _is_part(given) else [(_POLICY, PAGE_POLICY.encode()), _DEVICES]
        added = [*own, (b"x-frame-options", b"DENY"), (_OPENER, b"same-origin"), *_ALWAYS]
    if _CACHE not in names:
        added.append((_CACHE, _lifetime(scope, status)))
    return [(key, value) for key, value in given if key not in _SET_HERE] + added


def _is_part(given: list[tuple[bytes, bytes]]) -> bool:
    """Whether an answer says once what it is, and that it is no page."""
    kinds = [value.partition(b";")[0].strip().lower() for key, value in given if key == b"content-type"]
    return len(kinds) == 1 and kinds[0] in _PARTS


def _lifetime(scope: Scope, status: int) -> bytes:
    """How long an answer may be kept: an asset whose address changes with its content for ever, a page not at all."""
    if not scope["path"].startswith("/assets/") or status not in _FOUND:
        return b"no-store"
    if _HASHED.fullmatch(scope["path"]):
        return b"public, max-age=31536000, immutable"
    return b"no-cache"
