"""The server and its connections, with an end to their patience.

The server hands a request on when its headers are complete, so a client that never completes them is seen here only;
so is one that does not take what it is sent. Nobody beyond this machine may hold so many connections that there are
none left for the others.
"""

from __future__ import annotations

import logging
import socket
import struct
import sys
from asyncio import CancelledError
from typing import TYPE_CHECKING, Final, cast

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from pullbook.web.addresses import is_loopback, site_of

if TYPE_CHECKING:
    import asyncio
    from collections.abc import Callable

__all__ = ["Connection", "Server"]

_AT_ONCE: Final = struct.pack("hh" if sys.platform == "win32" else "ii", 1, 0)


class Server(uvicorn.Server):
    """Server that says when it is ready, and ends without complaint about those who did not finish.

    Parameters
    ----------
    config : uvicorn.Config
        Application and bounds.
    started : callable
        Called when the first request can be answered.
    """

    def __init__(self, config: uvicorn.Config, started: Callable[[], None]) -> None:
        super().__init__(config)
        self._is_ready = started
        logger = logging.getLogger("uvicorn.error")
        # What a stranger sends is no news for the terminal; what goes wrong inside is.
        logger.setLevel(logging.ERROR)
        logger.addFilter(_is_news)

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start the application, and say so."""
        await super().startup(sockets)
        if self.started:
            self._is_ready()


def _is_news(record: logging.LogRecord) -> bool:
    """Whether a message is about a defect, and not about a request that the end of the server cut off."""
    kind = record.exc_info[0] if record.exc_info else None
    return not (kind and issubclass(kind, CancelledError)) and not str(record.msg).startswith("Cancel %s running")


class Connection(H11Protocol):
    """Connection that is ended where its client stalls.

    Attributes
    ----------
    headers_within : float
        How long a request line and its headers may take. [s]
    taken_within : float
        How long an answer that fills the buffer may lie there. [s]
    most : int
        Connections that are held at a time; further ones are closed at once.
    most_of_one : int
        Those among them of one address, or of one net of IPv6 as a household has it; a browser needs six, and one for
        each page that is open.
    is_exempt : callable of str to bool
        Addresses that only `most` holds for: those of this machine, behind which a program may stand that hands on the
        requests of many.
    """

    headers_within: float = 10.0
    taken_within: float = 30.0
    most: int = 1_500
    most_of_one: int = 100
    is_exempt: Callable[[str], bool] = staticmethod(is_loopback)

    _headers: asyncio.TimerHandle | None = None
    _answer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Begin to wait for a request."""
        super().connection_made(cast("asyncio.Transport", transport))
        if len(self.connections) > self.most or self._has_too_many():
            self._give_up()
        else:
            self._watch_headers()

    def _has_too_many(self) -> bool:
        """Whether its address holds too many; they are counted only where there are so many at all."""
        if self.client is None or len(self.connections) <= self.most_of_one or self.is_exempt(self.client[0]):
            return False
        site = site_of(self.client[0])
        return sum(_site(one) == site for one in self.connections) > self.most_of_one

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait for nothing any more."""
        self._stop_headers()
        self._stop_answer()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what has come, and see whether a request is still incomplete."""
        super().data_received(data)
        self._watch_headers()

    def on_response_complete(self) -> None:
        """Wait for the next request; one that has come meanwhile may be incomplete."""
        super().on_response_complete()
        if self.conn.trailing_data[0]:
            self._watch_headers()

    def pause_writing(self) -> None:
        """Wait for the client to take what fills the buffer."""
        super().pause_writing()
        if self._answer is None:
            self._answer = self.loop.call_later(self.taken_within, self._give_up)

    def resume_writing(self) -> None:
        """Go on: the client has taken some of it."""
        super().resume_writing()
        self._stop_answer()

    def _watch_headers(self) -> None:
        """Let the time for headers run while they are incomplete; a client that adds to them gains nothing."""
        if self.conn.their_state is not h11.IDLE or self.transport.get_protocol() is not self:
            self._stop_headers()
        elif self._headers is None:
            self._headers = self.loop.call_later(self.headers_within, self._give_up)

    def _give_up(self) -> None:
        """End the connection; what was not taken is forgotten by the system too."""
        raw = self.transport.get_extra_info("socket")
        if raw is not None:
            raw.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, _AT_ONCE)
        self.transport.abort()

    def _stop_headers(self) -> None:
        if self._headers is not None:
            self._headers.cancel()
            self._headers = None

    def _stop_answer(self) -> None:
        if self._answer is not None:
            self._answer.cancel()
            self._answer = None


def _site(connection: object) -> str:
    """Where a connection is from; empty where its client has gone. Sockets of pages have that too."""
    client: tuple[str, int] | None = getattr(connection, "client", None)
    return site_of(client[0]) if client else ""
