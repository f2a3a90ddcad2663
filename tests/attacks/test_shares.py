"""One address beyond this machine may not take the connections of the others; 127.0.0.2 is a stranger here."""

from __future__ import annotations

import signal
import sys
import time
from contextlib import ExitStack, suppress
from typing import TYPE_CHECKING, Final

import pytest
from attacks.guarded_process import GuardedProcess, opened_socket

if TYPE_CHECKING:
    import socket

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="elsewhere a machine has 127.0.0.1 alone"),
]

PATIENCE: Final = 15.0  # s; a busy machine is late


def is_held(connection: socket.socket) -> bool:
    """Whether a request on a connection is answered, and the connection goes on."""
    try:
        connection.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        return connection.recv(65_536).startswith(b"HTTP/1.1")
    except OSError:
        return False


def held(opened: ExitStack, server: GuardedProcess, source: str, count: int) -> list[socket.socket]:
    """Those of some connections from an address that are held, all of them begun before the first is asked."""
    begun: list[socket.socket] = []
    for _ in range(count):
        with suppress(ConnectionError):  # a refusal may be there before the connection is
            begun.append(opened.enter_context(server.connect(source)))
    return [connection for connection in begun if is_held(connection)]


def test_one_address_beyond_this_machine_holds_only_its_share_and_others_are_served() -> None:
    with GuardedProcess(headers_within=60.0, most_of_one=20) as server, ExitStack() as opened:
        crowd = held(opened, server, "127.0.0.2", 60)
        assert len(crowd) == 20
        assert len(held(opened, server, "127.0.0.3", 20)) == 20
        assert len(held(opened, server, "127.0.0.1", 60)) == 60, "this machine is exempt"
        crowd[0].close()
        assert is_held_soon(opened, server, "127.0.0.2"), "what was let go is free again"
        assert server.end(signal.SIGINT) == (0, "")


def test_sockets_of_pages_count_among_the_connections_of_an_address() -> None:
    with GuardedProcess(headers_within=60.0, most_of_one=5) as server, ExitStack() as opened:
        pages = [opened.enter_context(opened_socket(server, "127.0.0.2")) for _ in range(5)]
        assert all(page.recv(65_536).startswith(b"HTTP/1.1 101") for page in pages)
        assert not held(opened, server, "127.0.0.2", 1)
        pages[0].close()
        assert is_held_soon(opened, server, "127.0.0.2")


def is_held_soon(opened: ExitStack, server: GuardedProcess, source: str) -> bool:
    """Whether a connection is held once the server has noticed that another one has ended."""
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        if held(opened, server, source, 1):
            return True
        time.sleep(0.05)
    return False
