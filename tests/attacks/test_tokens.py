from __future__ import annotations

from pathlib import Path

import pytest
from attacks.asking import ask
from attacks.counting_app import CountingApp

from pullbook.web.guard import TOKEN_HEADER, TOKEN_PATH, guarded
from pullbook.web.settings import Settings

UNSAFE = ("POST", "PUT", "PATCH", "DELETE", "TRACE", "PROPFIND")


def settings() -> Settings:
    return Settings(root=Path(), port=8420)


@pytest.mark.parametrize("method", UNSAFE)
@pytest.mark.parametrize("token", ["-", "", "guess", "\xff\xfe", "x" * 10_000])
def test_what_changes_something_needs_the_token(method: str, token: str) -> None:
    app = CountingApp()
    answer = ask(guarded(app, settings()), "/api/sessions", method, headers={TOKEN_HEADER: token})
    assert (answer.status, answer.form["where"]) == (403, TOKEN_HEADER)
    assert app.reached == []


@pytest.mark.parametrize("method", UNSAFE)
def test_with_the_token_it_is_done(method: str) -> None:
    known = settings()
    app = CountingApp()
    assert ask(guarded(app, known), "/api/sessions", method, headers={TOKEN_HEADER: known.token}).status == 200
    assert app.reached == [f"{method} /api/sessions"]


def test_an_own_page_is_given_the_token_and_a_foreign_one_is_not() -> None:
    known = settings()
    app = guarded(CountingApp(), known)
    answer = ask(app, TOKEN_PATH)
    assert answer.form == {"token": known.token}
    assert answer.header("cache-control") == "no-store"
    assert "access-control-allow-origin" not in dict(answer.headers)
    foreign = [
        ask(app, TOKEN_PATH, headers={"origin": "http://evil.example"}),
        ask(app, TOKEN_PATH, headers={"host": "evil.example"}),
        ask(app, TOKEN_PATH, headers={"sec-fetch-site": "cross-site"}),
        ask(app, TOKEN_PATH, headers={"sec-fetch-site": "same-site"}),
    ]
    assert [one.status for one in foreign] == [403, 421, 403, 403]
    assert all(known.token.encode() not in one.body for one in foreign)


def test_each_start_has_a_token_of_its_own_that_nothing_prints() -> None:
    one, other = settings(), settings()
    assert one.token != other.token
    assert len(one.token) >= 43  # 32 random bytes
    assert one.token not in repr(one)
