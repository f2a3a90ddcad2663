"""The server process: a socket, the application, and an end that leaves nothing behind.

The socket listens before the application is imported, so that a browser that is opened at once waits instead of being
turned away.
"""

from __future__ import annotations

import errno
import signal
import socket
import sys
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError, InputError
from pullbook.web.imports import many_imports

if TYPE_CHECKING:
    from collections.abc import Callable, Generator
    from types import FrameType

    from starlette.types import ASGIApp

    from pullbook.web.settings import Settings

__all__ = ["FIRST_PORT", "listen", "run", "serve_app"]

FIRST_PORT: Final = 8420
_PORTS: Final = 20  # that are tried one after the other
_WAITING: Final = 1024  # connections that the system holds until they are taken
_UNREAD: Final = 60_000  # ms; how long a client may leave what it was sent
_SPARE_FILES: Final = 300  # beside one for each connection
_GRACE: Final = 3  # s; for answers that are under way when the server ends
_LARGEST_MESSAGE: Final = 65_536  # byte; a page sends short words only
_TAKEN: Final = frozenset({errno.EADDRINUSE, errno.EACCES})


def listen(host: str, port: int | None) -> socket.socket:
    """Socket that listens on a port, or on a free one near 8420 where none is given.

    Raises
    ------
    InputError
        If the host is unknown or the port is taken.
    """
    if port is not None:
        return _listening(host, port)
    for near in range(FIRST_PORT, FIRST_PORT + _PORTS):
        try:
            return _listening(host, near)
        except InputError as error:
            if not isinstance(error.__cause__, OSError) or error.__cause__.errno not in _TAKEN:
                raise
    return _listening(host, 0)


def _listening(host: str, port: int) -> socket.socket:
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
    except (OSError, UnicodeError) as error:
        raise InputError(
            "this machine has no such address", where="--host", value=host, remedy="write for example 127.0.0.1"
        ) from error
    heard = socket.socket(family, kind, protocol)
    try:
        _set_options(heard)
        heard.bind(address)
        heard.listen(_WAITING)
    except OSError as error:
        heard.close()
        raise _refused(host, port, error) from error
    heard.setblocking(False)  # noqa: FBT003 - its signature
    return heard


def _set_options(heard: socket.socket) -> None:
    if sys.platform == "win32":
        heard.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        heard.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    if hasattr(socket, "TCP_USER_TIMEOUT"):
        # Each connection inherits it: one that takes nothing for so long is ended by the system.
        heard.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, _UNREAD)


def _refused(host: str, port: int, error: OSError) -> InputError:
    if error.errno == errno.EADDRINUSE:
        return InputError("another program listens on this port", where="--port", value=str(port),
                          remedy="name another one, or none")  # fmt: skip
    if error.errno == errno.EACCES:
        return InputError("this port is not for ordinary users", where="--port", value=str(port),
                          remedy="name one above 1023, or none")  # fmt: skip
    return InputError(f"nothing can listen there: {error.strerror}", where="--host", value=host,
                      remedy="name an address of this machine")  # fmt: skip


def run(settings: Settings, heard: socket.socket, started: Callable[[], None]) -> None:
    """Serve the notebook until Ctrl-C; `started` is called when the first request can be answered.

    Raises
    ------
    FailureError
        If it does not start.
    """
    with many_imports():
        from pullbook.web.application import make_app

        app = make_app(settings)
    serve_app(app, heard, started)


def serve_app(app: ASGIApp, heard: socket.socket, started: Callable[[], None]) -> None:
    """Serve an application in the same way.

    Raises
    ------
    FailureError
        If it does not start.
    """
    import uvicorn
    from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol

    from pullbook.web.connection import Connection, Server

    _allow_files(Connection.most + _SPARE_FILES)
    config = uvicorn.Config(
        app,
        loop="asyncio",
        http=Connection,
        ws=WebSocketsSansIOProtocol,
        lifespan="on",
        log_config=None,
        access_log=False,
        proxy_headers=False,
        server_header=False,
        backlog=_WAITING,
        timeout_graceful_shutdown=_GRACE,
        ws_max_size=_LARGEST_MESSAGE,
        ws_per_message_deflate=False,  # its words are shorter than what packing them costs
    )
    try:
        with _quiet_end():
            Server(config, started).run(sockets=[heard])
    except SystemExit as error:
        raise FailureError("the notebook did not start", remedy="see the lines above") from error


def _allow_files(wanted: int) -> None:
    """Let this process hold as many open files as it may have connections, where the system lets it."""
    if sys.platform == "win32":
        return
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    most = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
    if soft != resource.RLIM_INFINITY and soft < most:
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))


@contextmanager
def _quiet_end() -> Generator[None]:
    """Ctrl-C is how a server is ended, so it is no accident; the server raises the signal again when it is done."""

    def nothing(number: int, frame: FrameType | None) -> None:
        """Leave it at that."""

    ends = (signal.SIGINT, signal.SIGTERM)
    before = [(one, signal.signal(one, nothing)) for one in ends]
    try:
        yield
    finally:
        for one, handler in before:
            signal.signal(one, handler)
