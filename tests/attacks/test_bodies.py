from __future__ import annotations

import asyncio
import time
import tracemalloc
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from attacks.asking import answer_to, ask
from attacks.counting_app import CountingApp
from starlette.requests import ClientDisconnect, Request

from pullbook.web.guard import TOKEN_HEADER, guarded
from pullbook.web.limits import Bodies, Patience
from pullbook.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from starlette.types import Receive, Scope, Send

SETTINGS = Settings(root=Path(), port=8420, token="known")
UPLOAD = "/api/sessions/a/files?name=a.csv"
TOKEN = {TOKEN_HEADER: "known"}
TEN_GB = 10_000_000_000
PIECE = bytes(1_000_000)


class Zeros:
    """A stream of zeros that counts how much of it was taken."""

    def __init__(self, size: int, piece: bytes = PIECE) -> None:
        self.left = size
        self.taken = 0
        self._piece = piece

    async def __aiter__(self) -> AsyncIterator[bytes]:
        while self.left > 0:
            piece = self._piece[: self.left]
            self.left -= len(piece)
            self.taken += len(piece)
            yield piece


def test_ten_announced_gigabytes_are_refused_before_the_first_byte() -> None:
    app, zeros = CountingApp(), Zeros(TEN_GB)
    headers = TOKEN | {"content-length": str(TEN_GB), "transfer-encoding": "-"}
    answer = ask(guarded(app, SETTINGS), UPLOAD, "POST", headers=headers, body=aiter(zeros))
    assert (answer.status, answer.form["what"]) == (413, "this is larger than 2,000 MB")
    assert answer.header("connection") == "close"
    assert app.reached == []


def test_ten_gigabytes_that_are_not_announced_end_at_the_limit_in_bounded_memory() -> None:
    app, zeros = CountingApp(), Zeros(TEN_GB)
    tracemalloc.start()
    answer = ask(guarded(app, SETTINGS), UPLOAD, "POST", headers=TOKEN, body=aiter(zeros))
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert answer.status == 413
    assert app.taken == SETTINGS.most_upload
    assert app.lost == 1
    assert most < 10_000_000


def test_a_length_that_lies_is_counted_all_the_same() -> None:
    app = CountingApp()
    headers = TOKEN | {"content-length": "10"}
    answer = ask(guarded(app, SETTINGS), "/api/sessions", "POST", headers=headers, body=bytes(1_000_001))
    assert answer.status == 413
    assert app.taken == 0


@pytest.mark.parametrize(("size", "status"), [(1_000_000, 200), (1_000_001, 413)])
@pytest.mark.parametrize("path", ["/api/sessions", "/api/sessions/a/edits", "/api/sessions/a/files/b", "/login"])
def test_what_is_no_upload_may_have_a_megabyte(path: str, size: int, status: int) -> None:
    app = guarded(CountingApp(), SETTINGS)
    assert ask(app, path, "POST", headers=TOKEN, body=bytes(size)).status == status
    assert ask(app, path, "POST", headers=TOKEN, body=aiter(Zeros(size))).status == status


def test_a_body_on_an_upload_without_the_token_is_not_read() -> None:
    zeros = Zeros(TEN_GB)
    began = time.monotonic()
    answer = ask(guarded(CountingApp(), SETTINGS), UPLOAD, "POST", body=aiter(zeros))
    assert answer.status == 403
    assert answer.header("connection") == "close"
    assert time.monotonic() - began < 10.0


def test_a_sender_that_is_refused_is_heard_out_for_a_moment_so_that_it_reads_why() -> None:
    few, endless = Zeros(5_000_000), Zeros(10**15)
    began = time.monotonic()
    app = guarded(CountingApp(), SETTINGS)
    assert ask(app, "/api/sessions", "POST", headers=TOKEN, body=aiter(few)).status == 413
    assert few.left == 0
    assert ask(app, "/api/sessions", "POST", headers=TOKEN, body=aiter(endless)).status == 413
    assert time.monotonic() - began < 10.0


def patient(app: CountingApp) -> Bodies:
    return Bodies(app, SETTINGS, Patience(idle=1.0, grace=1.0, rate=1_000.0))


def test_a_body_that_stops_coming_is_given_up() -> None:
    async def stalls() -> AsyncIterator[bytes]:
        yield b"x"
        await asyncio.sleep(60.0)
        yield b"y"

    app = CountingApp()
    began = time.monotonic()
    answer = ask(patient(app), UPLOAD, "POST", body=stalls())
    assert (answer.status, app.lost) == (408, 1)
    assert time.monotonic() - began < 10.0
    assert answer.form["what"] == "this came in too slowly"


def test_a_body_that_dribbles_in_is_given_up_although_it_never_stops() -> None:
    async def dribbles() -> AsyncIterator[bytes]:
        for _ in range(1_000):
            await asyncio.sleep(0.05)
            yield b"x"

    app = CountingApp()
    answer = ask(patient(app), UPLOAD, "POST", body=dribbles())
    assert (answer.status, app.lost) == (408, 1)
    assert app.taken < 60


def test_a_body_that_comes_slowly_but_steadily_is_taken() -> None:
    async def steady() -> AsyncIterator[bytes]:
        for _ in range(20):
            await asyncio.sleep(0.05)
            yield bytes(200)

    app = CountingApp()
    assert ask(patient(app), UPLOAD, "POST", body=steady()).status == 200
    assert app.taken == 4_000


def test_the_time_that_the_notebook_itself_takes_is_not_the_sender_s() -> None:
    async def slow_app(scope: Scope, receive: Receive, send: Send) -> None:
        for _ in range(3):
            await receive()
            await asyncio.sleep(0.6)
        await CountingApp()(scope, receive, send)

    async def five() -> AsyncIterator[bytes]:
        for _ in range(5):
            yield b"x"

    assert (
        ask(Bodies(slow_app, SETTINGS, Patience(idle=1.0, grace=1.0, rate=1_000.0)), "/", "POST", body=five()).status
        == 200
    )


def test_an_application_that_answers_or_fails_for_its_lost_sender_does_not_hide_the_refusal() -> None:
    async def failing(scope: Scope, receive: Receive, send: Send) -> None:
        await Request(scope, receive).body()

    async def answering(scope: Scope, receive: Receive, send: Send) -> None:
        try:
            await Request(scope, receive).body()
        except ClientDisconnect:
            await send({"type": "http.response.start", "status": 422, "headers": []})
            await send({"type": "http.response.body", "body": b"gone"})

    for app in (failing, answering):
        answer = ask(Bodies(app, SETTINGS), "/api/sessions", "POST", body=aiter(Zeros(2_000_000)))
        assert (answer.status, answer.form["where"]) == (413, "body")


def test_a_defect_of_the_application_stays_a_defect() -> None:
    async def broken(scope: Scope, receive: Receive, send: Send) -> None:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        asyncio.run(answer_to(Bodies(broken, SETTINGS), "/api/sessions", "POST", body=b"x"))
