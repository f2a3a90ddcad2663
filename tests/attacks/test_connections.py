from __future__ import annotations

import asyncio
import json
import resource
import signal
import socket
import sys
import time
from typing import TYPE_CHECKING, Final

import pytest
from attacks.guarded_process import (
    HEADERS_WITHIN,
    LARGE,
    MOST_UPLOAD,
    TAKEN_WITHIN,
    GuardedProcess,
    head,
    opened_socket,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="memory and open files are asked of Linux"),
]

UPLOAD: Final = "/api/sessions/a/files?name=a.csv"
MB: Final = 1_000_000
PATIENCE: Final = 15.0  # s; a busy machine is late


@pytest.fixture(scope="module")
def server() -> Iterator[GuardedProcess]:
    """A server for all of them, in any order; nothing of all this may have been news for its terminal."""
    with GuardedProcess() as running:
        yield running
        assert works(running)
        assert running.end(signal.SIGINT) == (0, "")


def answer_of(connection: socket.socket) -> tuple[int, bytes]:
    """Status and everything that comes until the end of the connection."""
    text = bytearray()
    try:
        while piece := connection.recv(65_536):
            text += piece
    except ConnectionResetError:
        pass
    return int(text.split(None, 2)[1]) if text else 0, bytes(text)


def works(server: GuardedProcess) -> bool:
    with server.connect() as connection:
        connection.sendall(head(server, "/", "GET", "Connection: close"))
        return answer_of(connection)[0] == 200


def seconds_until_closed(connection: socket.socket, dribbled: bytes = b"") -> float:
    """How long a connection lasts whose client sends one byte after the other, or nothing."""
    began = time.monotonic()
    connection.settimeout(0.1)
    for number in range(200):
        try:
            if number < len(dribbled):
                connection.sendall(dribbled[number : number + 1])
            if not connection.recv(100):
                break
        except TimeoutError:
            continue
        except OSError:
            break
    return time.monotonic() - began


def test_a_client_that_says_nothing_is_not_waited_for(server: GuardedProcess) -> None:
    with server.connect() as connection:
        assert HEADERS_WITHIN * 0.8 < seconds_until_closed(connection) < PATIENCE


def test_a_client_that_dribbles_its_headers_is_not_waited_for_and_delays_nobody(server: GuardedProcess) -> None:
    with server.connect() as connection:
        endless = head(server)[:-4] + b"\r\nX-Long: " + b"x" * 500
        assert HEADERS_WITHIN * 0.8 < seconds_until_closed(connection, endless) < PATIENCE
    assert works(server)


def test_a_second_request_on_a_connection_may_not_dribble_either(server: GuardedProcess) -> None:
    with server.connect() as connection:
        connection.sendall(head(server))
        assert connection.recv(65_536).startswith(b"HTTP/1.1 200")
        assert seconds_until_closed(connection, head(server)[:-2]) < PATIENCE


def test_two_requests_that_come_together_are_both_answered(server: GuardedProcess) -> None:
    with server.connect() as connection:
        connection.sendall(head(server, "/one") + head(server, "/two", "GET", "Connection: close"))
        text = answer_of(connection)[1]
    assert text.count(b"HTTP/1.1 200") == 2
    assert text.index(b'"/one"') < text.index(b'"/two"')


def test_a_connection_outlives_the_time_for_headers_while_it_is_used(server: GuardedProcess) -> None:
    with server.connect() as connection:
        for _ in range(5):
            connection.sendall(head(server))
            text = b""
            while not text.endswith(b"}"):
                text += connection.recv(65_536)
            assert text.startswith(b"HTTP/1.1 200")
            time.sleep(HEADERS_WITHIN / 2)


def test_a_client_that_takes_nothing_is_not_kept_in_memory(server: GuardedProcess) -> None:
    before = server.memory()
    with server.connect() as connection:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4_096)
        connection.sendall(head(server, "/large"))
        time.sleep(TAKEN_WITHIN * 4)
        assert server.memory() - before < 10 * MB
        taken = len(answer_of(connection)[1])
    assert taken < LARGE / 2
    assert works(server)


def test_a_client_that_takes_what_it_is_sent_gets_all_of_it(server: GuardedProcess) -> None:
    with server.connect() as connection:
        connection.sendall(head(server, "/large", "GET", "Connection: close"))
        assert len(answer_of(connection)[1]) > LARGE


def test_ten_announced_gigabytes_are_refused_at_once(server: GuardedProcess) -> None:
    with server.connect() as connection:
        connection.sendall(head(server, UPLOAD, "POST", "Content-Length: 10000000000"))
        status, text = answer_of(connection)
    assert (status, json.loads(text.partition(b"\r\n\r\n")[2])["where"]) == (413, "body")


def test_ten_gigabytes_of_zeros_end_at_the_limit_and_the_sender_reads_why(server: GuardedProcess) -> None:
    before = server.most_memory()
    piece = b"f4240\r\n" + bytes(MB) + b"\r\n"
    sent = 0
    with server.connect() as connection:
        connection.sendall(head(server, UPLOAD, "POST", "Transfer-Encoding: chunked"))
        try:
            for _ in range(10_000):
                connection.sendall(piece)
                sent += MB
        except OSError:
            pass
        status, _ = answer_of(connection)
    assert status == 413
    assert MOST_UPLOAD <= sent < 10_000 * MB
    assert server.most_memory() - before < 20 * MB


async def statuses_of(server: GuardedProcess, count: int) -> list[int]:
    async def one() -> int:
        reader, writer = await asyncio.open_connection("127.0.0.1", server.port)
        writer.write(head(server, "/", "GET", "Connection: close"))
        text = await reader.read()
        writer.close()
        return int(text.split(None, 2)[1])

    return list(await asyncio.gather(*(one() for _ in range(count))))


@pytest.fixture
def _many_files() -> Iterator[None]:
    before = resource.getrlimit(resource.RLIMIT_NOFILE)
    most = before[1] if before[1] != resource.RLIM_INFINITY else 4_096
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(most, 4_096), before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_NOFILE, before)


@pytest.mark.usefixtures("_many_files")
def test_a_thousand_requests_in_parallel_are_served_or_turned_away_in_bounded_memory() -> None:
    with GuardedProcess(headers_within=60.0) as server:  # the client too is slow with so many
        before = server.memory()
        statuses = asyncio.run(statuses_of(server, 1_000))
        assert set(statuses) <= {200, 503}
        assert statuses.count(200) > 500
        assert server.most_memory() - before < 100 * MB
        assert works(server)
        assert server.end(signal.SIGINT) == (0, "")


@pytest.mark.usefixtures("_many_files")
def test_connections_beyond_what_is_held_are_closed_and_those_after_them_are_served(server: GuardedProcess) -> None:
    async def open_many() -> int:
        async def one() -> bool:
            try:
                reader, writer = await asyncio.open_connection("127.0.0.1", server.port)
            except ConnectionResetError:
                return True
            try:
                return await reader.read(1) == b""
            except ConnectionResetError:
                return True
            finally:
                writer.close()

        return sum(await asyncio.gather(*(one() for _ in range(1_800))))

    assert asyncio.run(open_many()) == 1_800
    assert works(server)


def test_a_socket_of_a_foreign_page_is_refused_by_the_real_server(server: GuardedProcess) -> None:
    for origin in ("http://evil.example", "null", f"http://localhost:{server.port}", ""):
        with opened_socket(server, Origin=origin) as connection:
            assert answer_of(connection)[0] == 403
    with opened_socket(server) as connection:
        assert connection.recv(65_536).startswith(b"HTTP/1.1 101")


def test_a_message_that_is_too_long_ends_its_socket(server: GuardedProcess) -> None:
    before = server.memory()
    with opened_socket(server) as connection:
        assert connection.recv(65_536).startswith(b"HTTP/1.1 101")
        length = 50 * MB
        connection.sendall(b"\x82\xff" + length.to_bytes(8, "big") + bytes(4))
        assert connection.recv(100)[:1] == b"\x88"
    assert server.memory() - before < 10 * MB


@pytest.mark.parametrize(
    "nonsense",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(500),
        b"GET / HTTP/1.1\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nX: " + b"x" * 100_000 + b"\r\n\r\n",
        b"GET /" + b"x" * 100_000,
        b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: -1\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",
        b"GET / HTTP/9.9\r\nHost: a\r\n\r\n",
        b"GET /\x00 HTTP/1.1\r\nHost: a\r\n\r\n",
    ],
)
def test_nonsense_is_refused_and_delays_nobody(server: GuardedProcess, nonsense: bytes) -> None:
    with server.connect() as connection:
        connection.sendall(nonsense)
        status, text = answer_of(connection)
    assert status in {0, 400, 403, 421}
    assert b"Traceback" not in text
    assert works(server)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_the_server_ends_quietly_although_pages_are_open(number: int) -> None:
    with GuardedProcess() as server, opened_socket(server) as connection, server.connect() as idle:
        assert connection.recv(65_536).startswith(b"HTTP/1.1 101")
        idle.sendall(head(server, "/", "POST", "Content-Length: 100"))
        began = time.monotonic()
        status, said = server.end(number)
    assert (status, said) == (0, "")
    assert time.monotonic() - began < PATIENCE
