from __future__ import annotations

import asyncio
import re
from http.cookies import SimpleCookie
from pathlib import Path
from typing import TYPE_CHECKING, Final
from urllib.parse import urlencode

import pytest
from attacks.asking import HOST, Answer, ask, ask_all, open_socket
from attacks.counting_app import CountingApp

from pullbook.web.attempts import Attempts
from pullbook.web.guard import TOKEN_HEADER, TOKEN_PATH, guarded
from pullbook.web.login import Login
from pullbook.web.password import hash_password
from pullbook.web.settings import Settings

if TYPE_CHECKING:
    from starlette.types import ASGIApp

PASSWORD: Final = "three plain words"
HASH: Final = hash_password(PASSWORD)
ELSEWHERE: Final = (
    "//evil.example", "https://evil.example/", "/\\evil.example", "\\/evil.example", "javascript:alert(1)", "",
    "evil.example", "/a\r\nSet-Cookie: x=y", "/\t/evil.example", "/%0d%0aX: y",
)  # fmt: skip


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PULLBOOK_CONFIG_HOME", str(tmp_path))
    return tmp_path


def settings(*, guests: bool = False, password_hash: str = HASH, names: tuple[str, ...] = ()) -> Settings:
    return Settings(
        root=Path(), port=8420, host="0.0.0.0", password_hash=password_hash, guests=guests, token="known", names=names
    )  # fmt: skip


class Person:
    """Somebody with a browser: keeps cookies, and fills the form in as it is shown."""

    def __init__(self, app: ASGIApp, address: str = "192.0.2.1", **headers: str) -> None:
        self.app = app
        self.address = address
        self.cookies: dict[str, str] = {}
        self.headers = {"accept": "text/html", **headers}

    def ask(self, path: str = "/", method: str = "GET", **request: object) -> Answer:
        jar = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        headers = self.headers | ({"cookie": jar} if jar else {}) | dict(request.pop("headers", {}))  # type: ignore[call-overload] # a dict
        answer = ask(self.app, path, method, headers=headers, address=self.address, **request)
        for name, value in answer.headers:
            if name == "set-cookie":
                for key, morsel in SimpleCookie(value).items():
                    self.cookies[key] = morsel.value
        return answer

    def send(self, path: str, **fields: str) -> Answer:
        headers = {"content-type": "application/x-www-form-urlencoded", "origin": f"http://{HOST}"}
        return self.ask(path, "POST", headers=headers, body=urlencode(fields).encode())

    def log_in(self, password: str = PASSWORD, path: str = "/login") -> Answer:
        shown = self.ask(path).body.decode()
        hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', shown))
        return self.send("/login", password=password, **hidden)


def locked(**changes: object) -> tuple[CountingApp, ASGIApp]:
    inner = CountingApp()
    return inner, guarded(inner, settings(**changes))  # type: ignore[arg-type] # each test its own


def test_a_page_that_is_asked_for_leads_to_the_form_and_back() -> None:
    inner, app = locked()
    person = Person(app)
    sent_on = person.ask("/s/cam?units=us")
    assert (sent_on.status, sent_on.header("location")) == (303, "/login?next=/s/cam%3Funits%3Dus")
    let_in = person.log_in(path=sent_on.header("location"))
    assert (let_in.status, let_in.header("location")) == (303, "/s/cam?units=us")
    assert inner.reached == []
    assert person.ask("/s/cam?units=us").form["guest"] is False


def test_nothing_is_read_or_changed_without_the_password() -> None:
    inner, app = locked()
    stranger = {"accept": "*/*", TOKEN_HEADER: "known"}
    answers = [ask(app, "/api/sessions", method, headers=stranger) for method in ("GET", "POST", "DELETE", "OPTIONS")]
    answers.append(ask(app, TOKEN_PATH))
    assert {answer.status for answer in answers} == {401}
    assert answers[0].form == {
        "what": "nobody is logged in here", "where": "", "value": "", "remedy": "log in at /login"
    }  # fmt: skip
    assert asyncio.run(open_socket(app, "/api/live", {"origin": f"http://{HOST}"})) == 403
    assert inner.reached == []


def test_the_cookie_of_a_login_is_kept_from_scripts_and_other_sites() -> None:
    _, app = locked()
    cookie = Person(app).log_in().header("set-cookie")
    assert re.fullmatch(r"pullbook-8420=[\w-]{43}; Path=/; HttpOnly; SameSite=Strict", cookie)


def test_the_cookie_of_an_encrypted_login_never_goes_over_an_open_line() -> None:
    app = guarded(CountingApp(), settings(names=("notebook.example",)))
    person = Person(app, host="notebook.example")
    hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', person.ask("/login").body.decode()))
    fields = urlencode({"password": PASSWORD, **hidden}).encode()
    kind = {"content-type": "application/x-www-form-urlencoded"}
    before_it = person.ask("/login", "POST", headers=kind | {"origin": "https://notebook.example"}, body=fields)
    assert before_it.header("set-cookie").endswith("SameSite=Strict; Secure")
    itself = ask(app, "/login", headers={"accept": "text/html"}, scheme="https")
    assert itself.header("set-cookie").endswith("SameSite=Strict; Secure")


@pytest.mark.parametrize(
    "password",
    ["", "three plain word", PASSWORD.upper(), "x" * 5_000, "a\x00b", HASH],
    ids=["nothing", "a word less", "in capitals", "long", "a zero byte", "the hash"],
)
def test_a_wrong_password_lets_nobody_in_and_is_told_on_the_form(password: str) -> None:
    _, app = locked()
    person = Person(app)
    answer = person.log_in(password)
    page = answer.body.decode()
    assert answer.status == 403
    assert "This is not the password; type it again." in page
    assert 'aria-invalid="true"' in page
    assert "pullbook-8420" not in person.cookies
    assert person.ask("/").status == 303


def test_the_form_of_another_page_logs_nobody_in() -> None:
    _, app = locked()
    person = Person(app)
    person.ask("/login")
    stolen = Person(app)
    stolen.ask("/login")
    answers = [person.send("/login", password=PASSWORD), person.send("/login", password=PASSWORD, proof="0" * 64)]
    proof = re.search(r'name="proof" value="(\w+)"', stolen.ask("/login").body.decode())
    assert proof
    answers.append(person.send("/login", password=PASSWORD, proof=proof[1]))
    person.cookies.clear()
    answers.append(person.send("/login", password=PASSWORD, proof=proof[1]))
    assert [answer.status for answer in answers] == [403] * 4
    assert all("out of date" in answer.body.decode() for answer in answers)


def test_a_form_that_a_foreign_page_sends_is_refused_before_it_is_read() -> None:
    _, app = locked()
    headers = {"content-type": "application/x-www-form-urlencoded", "origin": "http://evil.example"}
    assert ask(app, "/login", "POST", headers=headers, body=b"password=x").status == 403


def test_the_sixth_attempt_within_a_minute_is_not_even_looked_at() -> None:
    _, app = locked()
    person = Person(app)
    statuses = [person.log_in("wrong password").status for _ in range(5)]
    blocked = person.log_in(PASSWORD)
    assert (statuses, blocked.status) == ([403] * 5, 429)
    assert 0 < int(blocked.header("retry-after")) <= 60
    assert "tried too often" in blocked.body.decode()
    assert Person(app, address="192.0.2.99").log_in().status == 303


def test_a_crowd_of_addresses_is_slowed_down_together_and_does_not_lock_out_who_belongs_here() -> None:
    known = settings()
    app: ASGIApp = Login(CountingApp(), known, Attempts(of_one=5, of_all=8))
    member = Person(app, address="192.0.2.50")
    assert member.log_in().status == 303
    crowd = [Person(app, address=f"198.51.100.{number}").log_in("wrong password").status for number in range(10)]
    assert crowd == [403] * 8 + [429] * 2
    assert Person(app, address="198.51.100.200").log_in().status == 429
    assert member.log_in().status == 303


def test_many_attempts_at_once_gain_nothing() -> None:
    _, app = locked()
    person = Person(app)
    shown = person.ask("/login").body.decode()
    hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', shown))
    cookie = "; ".join(f"{name}={value}" for name, value in person.cookies.items())
    request = {
        "path": "/login", "method": "POST", "address": "192.0.2.1",
        "headers": {"content-type": "application/x-www-form-urlencoded", "cookie": cookie},
        "body": urlencode({"password": "wrong password", **hidden}).encode(),
    }  # fmt: skip
    statuses = [answer.status for answer in ask_all(app, [request] * 40)]
    assert (statuses.count(403), statuses.count(429)) == (5, 35)


@pytest.mark.parametrize("after", ELSEWHERE)
def test_the_form_never_leads_to_another_site(after: str) -> None:
    _, app = locked()
    person = Person(app)
    proof = re.search(r'name="proof" value="(\w+)"', person.ask("/login").body.decode())
    assert proof
    where = person.send("/login", password=PASSWORD, proof=proof[1], next=after).header("location")
    assert where.startswith("/")
    assert not where.startswith(("//", "/\\"))
    assert not set("\r\n\t\\") & set(where)


def test_what_an_address_says_is_escaped_on_the_form() -> None:
    _, app = locked()
    page = Person(app).ask("/login?next=%22%3E%3Cscript%3Ealert(1)%3C/script%3E").body.decode()
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_who_logs_out_is_out_with_every_copy_of_the_cookie() -> None:
    _, app = locked()
    person = Person(app)
    person.log_in()
    copy = dict(person.cookies)
    proof = re.search(r'name="proof" value="(\w+)"', person.ask("/logout").body.decode())
    assert proof
    left = person.send("/logout", proof=proof[1])
    assert (left.status, left.header("location")) == (303, "/login")
    person.cookies = copy
    assert person.ask("/").status == 303


def test_the_button_of_a_page_logs_out_with_the_token_and_with_nothing_less() -> None:
    _, app = locked()
    person = Person(app)
    person.log_in()
    assert person.send("/logout", token="guess").status == 403
    assert person.ask("/").status == 200
    assert person.send("/logout", token="known").status == 303
    assert person.ask("/").status == 303


def test_a_login_outlives_a_restart_but_not_a_new_password() -> None:
    _, app = locked()
    person = Person(app)
    person.log_in()
    _, person.app = locked()
    assert person.ask("/").status == 200
    _, person.app = locked(password_hash=hash_password("other plain words"))
    assert person.ask("/").status == 303


@pytest.mark.parametrize("word", ["", "x", "../../etc/passwd", "\xff" * 50, "a" * 100_000, "%2e%2e", "x;y", '"'])
def test_a_made_up_cookie_lets_nobody_in(word: str) -> None:
    inner, app = locked()
    person = Person(app)
    person.log_in()
    assert ask(app, headers={"cookie": f"pullbook-8420={word}", "accept": "text/html"}).status == 303
    assert inner.reached == []


def test_guests_read_and_change_nothing() -> None:
    inner, app = locked(guests=True)
    guest = Person(app)
    assert guest.ask("/s/a").form["guest"] is True
    assert asyncio.run(open_socket(app, "/api/live", {"origin": f"http://{HOST}"})) == 101
    changing = [
        guest.ask("/api/sessions/a/files?name=a.csv", "POST", headers={TOKEN_HEADER: "known"}, body=b"x"),
        guest.ask("/api/sessions/a/edits", "POST", headers={TOKEN_HEADER: "known"}),
        guest.ask("/api/jobs/1", "DELETE", headers={TOKEN_HEADER: "known"}),
        guest.ask(TOKEN_PATH),
    ]
    assert [answer.status for answer in changing] == [401] * 4
    assert all(b"known" not in answer.body for answer in changing)
    assert inner.reached == ["GET /s/a", "WS /api/live"]


def test_a_guest_who_logs_in_may_change_things() -> None:
    inner, app = locked(guests=True)
    person = Person(app)
    person.log_in()
    assert person.ask("/api/sessions", "POST", headers={TOKEN_HEADER: "known"}).form["guest"] is False
    assert person.ask("/api/sessions", "POST").status == 403
    assert inner.reached == ["POST /api/sessions"]


def test_only_what_pages_are_dressed_in_is_open_to_all() -> None:
    _, app = locked()
    assert ask(app, "/assets/0123456789ab/login.css").status == 200
    assert ask(app, "/assets/../api/sessions", headers={"accept": "*/*"}).status in {200, 401}
    assert ask(app, "/assets/x", "POST", headers={TOKEN_HEADER: "known"}).status == 401


def test_a_form_that_is_too_long_or_none_is_no_form() -> None:
    _, app = locked()
    kind = {"content-type": "application/x-www-form-urlencoded"}
    answers = [
        ask(app, "/login", "POST", headers=kind, body=b"password=" + b"x" * 20_000),
        ask(app, "/login", "POST", headers={"content-type": "application/json"}, body=b"{}"),
        ask(app, "/login", "POST", headers=kind, body=b"&".join([b"a=b"] * 1_000)),
        ask(app, "/login", "POST", headers=kind, body=b"\xff\xfe%ff%00"),
        ask(app, "/login", "POST"),
    ]
    assert [answer.status for answer in answers] == [403] * 5
    assert ask(app, "/login", "PUT").status == 405
