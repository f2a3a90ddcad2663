from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from attacks.asking import answer_to, ask, ask_all, open_socket
from attacks.counting_app import CountingApp

from pullbook.web.limits import Crowd

if TYPE_CHECKING:
    from starlette.types import Receive, Scope, Send


class SlowApp(CountingApp):
    """Takes a while for each request, and knows how many it had at a time."""

    def __init__(self, seconds: float) -> None:
        super().__init__()
        self.now = self.most = 0
        self._seconds = seconds

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.now += 1
        self.most = max(self.most, self.now)
        await asyncio.sleep(self._seconds)
        self.now -= 1
        await super().__call__(scope, receive, send)


def test_a_thousand_requests_at_once_are_all_served_but_few_at_a_time() -> None:
    app = SlowApp(0.01)
    answers = ask_all(Crowd(app), [{"path": f"/{number}"} for number in range(1_000)])
    assert {answer.status for answer in answers} == {200}
    assert app.most == 64


def test_those_who_find_no_room_to_wait_are_turned_away_at_once_and_told_when_to_come_back() -> None:
    app = SlowApp(0.05)
    answers = ask_all(Crowd(app, at_work=2, waiting=8), [{"path": "/"}] * 50)
    assert sorted(answer.status for answer in answers) == [200] * 10 + [503] * 40
    refused = next(answer for answer in answers if answer.status == 503)
    assert refused.header("retry-after") == "2"
    assert refused.form["what"] == "the notebook has too much to do"


def test_those_who_wait_too_long_are_turned_away() -> None:
    answers = ask_all(Crowd(SlowApp(0.5), at_work=1, wait=0.1), [{"path": "/"}] * 3)
    assert sorted(answer.status for answer in answers) == [200, 503, 503]


def test_a_place_is_free_again_after_a_defect() -> None:
    async def broken(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["path"] == "/broken":
            raise ZeroDivisionError
        await CountingApp()(scope, receive, send)

    async def both() -> int:
        crowd = Crowd(broken, at_work=1, wait=0.1)
        for _ in range(3):
            try:
                await crowd({"type": "http", "method": "GET", "path": "/broken"}, None, None)  # type: ignore[arg-type] # never used
            except ZeroDivisionError:
                continue
        return crowd._pages._value

    assert asyncio.run(both()) == 1


def test_only_so_many_sockets_are_open_at_a_time() -> None:
    release = asyncio.Event

    async def opened() -> list[int]:
        gate = release()

        async def held(scope: Scope, receive: Receive, send: Send) -> None:
            await receive()
            await send({"type": "websocket.accept"})
            await gate.wait()

        crowd = Crowd(held, sockets=3)
        waiting = [asyncio.create_task(open_socket(crowd, "/api/live", {})) for _ in range(5)]
        await asyncio.sleep(0.05)
        gate.set()
        return sorted(await asyncio.gather(*waiting))

    assert asyncio.run(opened()) == [101, 101, 101, 403, 403]


def test_requests_are_served_while_the_sockets_are_all_taken() -> None:
    assert ask(Crowd(CountingApp(), sockets=0)).status == 200


def test_slow_files_and_slow_strangers_leave_room_for_the_pages() -> None:
    gate = asyncio.Event

    async def answered() -> list[int]:
        release = gate()

        async def stuck(scope: Scope, receive: Receive, send: Send) -> None:
            if scope["method"] == "POST":
                await release.wait()
            await CountingApp()(scope, receive, send)

        crowd = Crowd(stuck, at_work=2, slow=2, wait=5.0)
        slow = [
            asyncio.create_task(answer_to(crowd, path, "POST"))
            for path in ("/api/sessions/a/files", "/login", "/logout")
            for _ in range(20)
        ]
        await asyncio.sleep(0.01)
        pages = [(await answer_to(crowd, path)).status for path in ("/", "/login", "/api/sessions/a/files", "/s/a")]
        release.set()
        return pages + [answer.status for answer in await asyncio.gather(*slow)]

    assert asyncio.run(answered()) == [200] * 64
