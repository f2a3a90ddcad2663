"""Under which names the notebook answers, and which pages may speak to it.

A page of somebody else can make the browser ask any address, also this machine's own, and can make its own name point
to it (DNS rebinding). The browser then still sends the name it was asked for in ``Host``, and the page that asks in
``Origin``; so both are compared with the names that the notebook knows.

References
----------
.. [1] A. Barth, "The Web Origin Concept", RFC 6454, 2011, section 7.
.. [2] R. Fielding, M. Nottingham, J. Reschke, "HTTP Semantics", RFC 9110, 2022, section 7.2 (Host).
.. [3] W3C, "Fetch Metadata Request Headers", working draft, 2023, section 2.4 (Sec-Fetch-Site).
"""

from __future__ import annotations

import ipaddress
import re
import socket
from typing import TYPE_CHECKING, Final

from pullbook.errors import InputError
from pullbook.web.refusal import Refusal, header_values
from pullbook.web.settings import is_loopback

if TYPE_CHECKING:
    from starlette.types import Scope

    from pullbook.web.settings import Settings

__all__ = ["SAFE", "Origins"]

SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_HOST: Final = re.compile(r"(\[[0-9a-f:.]{2,45}\]|[a-z0-9_](?:[a-z0-9_.-]{0,251}[a-z0-9_])?)(?::([0-9]{1,5}))?")
_ORIGIN: Final = re.compile(r"(https?)://([^/?#@\s]+)")
_DEFAULT: Final = {"http": "80", "https": "443"}
_OWN_PAGES: Final = frozenset({b"same-origin", b"none"})
_SHOWN: Final = 80  # characters of a value that is repeated


class Origins:
    """The names of one notebook."""

    def __init__(self, settings: Settings) -> None:
        self._port = str(settings.port)
        self._beyond = not is_loopback(settings.host)
        local = ["127.0.0.1", "localhost", "[::1]", _bracketed(settings.host.lower())]
        if self._beyond:
            own = socket.gethostname().lower()
            local += [own, f"{own}.local"]
        self._hosts = {(name, self._port) for name in local}
        for name in settings.names:
            self._hosts |= _named(name, self._port)

    def refusal(self, scope: Scope) -> Refusal | None:
        """Why a request is not for this notebook, or does not come from its pages; None where it does."""
        host = self._host(scope)
        if host is None:
            shown = b", ".join(header_values(scope, b"host")).decode("latin-1")[:_SHOWN]
            return _refused(421, "the notebook is not known by this name", "Host", shown,
                            f"ask for 127.0.0.1:{self._port}, or start it with --name")  # fmt: skip
        origins = header_values(scope, b"origin")
        if any(_host_of_origin(origin) != host for origin in origins) or (scope["type"] == "websocket" and not origins):
            shown = b", ".join(origins).decode("latin-1")[:_SHOWN]
            return _refused(403, "this request comes from a page that is not the notebook's", "Origin", shown, _REMEDY)
        return _refusal_by_site(scope)

    def _host(self, scope: Scope) -> tuple[str, str] | None:
        """Name and port that a request asks for, where they are the notebook's."""
        values = header_values(scope, b"host")
        if len(values) != 1:
            return None
        found = _split(values[0].decode("latin-1").lower())
        if found is None:
            return None
        name, port = found
        if any((name, one) in self._hosts for one in ((port,) if port else ("", *_DEFAULT.values()))):
            return name, port
        return (name, port) if self._beyond and self._is_door(scope, name, port) else None

    def _is_door(self, scope: Scope, name: str, port: str) -> bool:
        """Whether a name is the very address through which the request came in.

        A number cannot be made to point elsewhere, so it needs no list.
        """
        door = scope.get("server")
        if not door or port != self._port:
            return False
        try:
            came_in = ipaddress.ip_address(door[0].split("%")[0])
        except ValueError:
            return False
        if came_in.version == 6 and came_in.ipv4_mapped:
            came_in = came_in.ipv4_mapped
        return name == _bracketed(str(came_in))


_REMEDY: Final = "open the notebook's own page"


def _refused(status: int, what: str, where: str, value: str, remedy: str) -> Refusal:
    return Refusal(status=status, error=InputError(what, where=where, value=value, remedy=remedy))


def _refusal_by_site(scope: Scope) -> Refusal | None:
    """Refusal of what another page loads, sends or frames; following a link from it is allowed."""
    sites = header_values(scope, b"sec-fetch-site")
    if all(site in _OWN_PAGES for site in sites):
        return None
    follows = header_values(scope, b"sec-fetch-mode") == [b"navigate"]
    document = header_values(scope, b"sec-fetch-dest") == [b"document"]
    if scope.get("method") in SAFE and follows and document and not scope["path"].startswith("/api/"):
        return None
    shown = b", ".join(sites).decode("latin-1")[:_SHOWN]
    return _refused(403, "this request comes from a page that is not the notebook's", "Sec-Fetch-Site", shown, _REMEDY)


def _split(text: str) -> tuple[str, str] | None:
    """Name and port of a host; the port is empty where it is the usual one and left out."""
    found = _HOST.fullmatch(text)
    return (found[1], found[2] or "") if found else None


def _host_of_origin(origin: bytes) -> tuple[str, str] | None:
    """Name and port of a page's origin, written as a browser writes Host."""
    found = _ORIGIN.fullmatch(origin.decode("latin-1").lower())
    split = _split(found[2]) if found else None
    if found is None or split is None:
        return None
    name, port = split
    return name, "" if port == _DEFAULT[found[1]] else port


def _named(name: str, port: str) -> set[tuple[str, str]]:
    """Names and ports that one ``--name`` stands for."""
    split = _split(name.lower())
    if split is None:
        raise InputError(
            "this is no name of a host", where="--name", value=name, remedy="write for example bench.example"
        )
    host, own = split
    ports = {own} if own else {port, ""}
    return {(host, one) for one in ports}


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host and not host.startswith("[") else host
