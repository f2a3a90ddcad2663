from __future__ import annotations

import http.server
import shutil
import threading
from typing import TYPE_CHECKING, Final

import pytest
from attacks.notebook_client import Client, files_of
from browser.accessibility import violations
from browser.served import Served
from session_folder import HEADER

from pullbook.web.password import keep_password

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

PASSWORD: Final = "three plain words"
# What a page of somebody else tries; each gives a word for what it got.
ATTACKS: Final = {
    "read": "fetch(at + '/api/sessions').then((a) => a.text()).then((t) => 'READ ' + t, () => 'refused')",
    "token": "fetch(at + '/api/token', {credentials: 'include'}).then((a) => a.text()).then((t) => 'READ ' + t, "
             "() => 'refused')",
    "blind read": "fetch(at + '/api/token', {mode: 'no-cors'}).then((a) => a.type + a.status, () => 'refused')",
    "change": "fetch(at + '/api/demo', {method: 'POST', mode: 'no-cors', body: '{}'}).then((a) => a.type + a.status, "
              "() => 'refused')",
    "with header": "fetch(at + '/api/demo', {method: 'POST', headers: {'X-Pullbook-Token': 'x'}}).then(() => 'SENT', "
                   "() => 'refused')",
    "socket": "new Promise((done) => { const s = new WebSocket(at.replace('http', 'ws') + '/api/live'); "
              "s.onopen = () => done('OPEN'); s.onerror = () => done('refused'); })",
    "script": "new Promise((done) => { const s = document.createElement('script'); s.src = at + '/api/token'; "
              "s.onload = () => done('LOADED'); s.onerror = () => done('refused'); document.head.append(s); })",
    "picture": "new Promise((done) => { const s = new Image(); s.onload = () => done('LOADED'); "
               "s.onerror = () => done('refused'); s.src = at + '/icon.svg'; })",
    "window": "new Promise((done) => { const w = window.open(at + '/'); setTimeout(() => { "
              "try { done('READ ' + w.document.body.innerHTML); } catch { done('refused'); } }, 1500); })",
}  # fmt: skip


# Fields that hold something that could be changed; switches of the view are none.
_FIELDS: Final = """(all) => all.filter((one) => !one.closest("[data-switch]") && !one.readOnly && !one.disabled)
  .map((one) => one.outerHTML)"""


class _Foreign(http.server.BaseHTTPRequestHandler):
    """A page of somebody else."""

    def do_GET(self) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(b"<!doctype html><title>elsewhere</title><link rel=icon href='data:,'><p>elsewhere")

    def log_message(self, *words: object) -> None:
        """Say nothing."""


@pytest.fixture
def elsewhere() -> Iterator[int]:
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), _Foreign) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield int(server.server_address[1])
        server.shutdown()
        thread.join()


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "sessions" / "demo").mkdir(parents=True)
    (tmp_path / "sessions" / "demo" / "session.toml").write_text(HEADER)
    return tmp_path


def test_a_foreign_page_in_the_same_browser_reads_changes_and_frames_nothing(
    browser: Browser, place: Path, elsewhere: int
) -> None:
    with Served(place / "sessions", place / "home") as server:
        client = Client(server.port)
        context = browser.new_context()
        own = context.new_page()
        own.goto(f"{server.address}/")
        foreign = context.new_page()
        foreign.goto(f"http://localhost:{elsewhere}/")
        before = files_of(place / "sessions")
        got = {name: foreign.evaluate(f"(at) => {script}", server.address) for name, script in ATTACKS.items()}
        allowed = {name: word for name, word in got.items() if word not in {"refused", "opaque0"}}
        foreign.set_content(f'<iframe src="{server.address}/"></iframe>')
        foreign.wait_for_timeout(500)
        framed = (
            foreign.frames[1].evaluate("document.body ? document.body.innerText : ''")
            if len(foreign.frames) > 1
            else ""
        )
        foreign.set_content(f'<form method="post" action="{server.address}/api/demo"><button>go</button></form>')
        foreign.click("button")
        foreign.wait_for_load_state()
        posted = foreign.content()
        assert files_of(place / "sessions") == before
        assert len(client.sessions()) == 1
        context.close()
    assert allowed == {}
    assert "Two headers" not in framed
    assert "not the notebook's" in posted


def test_a_name_that_was_made_to_point_here_shows_nothing(browser: Browser, place: Path) -> None:
    rules = "--host-resolver-rules=MAP evil.example 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
    path = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))))
    with Served(place / "sessions", place / "home") as server:
        rebound = browser.browser_type.launch(executable_path=path, args=["--no-sandbox", rules])
        page = rebound.new_page()
        answer = page.goto(f"http://evil.example:{server.port}/")
        assert answer is not None
        assert answer.status == 421
        assert "Two headers" not in page.content()
        read = page.evaluate("fetch('/api/sessions').then((a) => a.text())")
        assert "Two headers" not in read
        assert (
            page.evaluate(ATTACKS["socket"].join(["(at) => ", ""]), f"http://evil.example:{server.port}") == "refused"
        )
        rebound.close()


@pytest.fixture
def locked(place: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    monkeypatch.setenv("PULLBOOK_CONFIG_HOME", str(place / "home" / "config"))
    keep_password(PASSWORD)
    with Served(place / "sessions", place / "home", "--host", "0.0.0.0") as server:
        yield server


def test_one_logs_in_and_out_without_a_script(browser: Browser, locked: Served) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{locked.address}/")
    assert "Log in" in page.title()
    page.keyboard.type("not the password")
    page.keyboard.press("Enter")
    page.get_by_role("alert").wait_for()
    assert page.title().startswith("Not logged in")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    page.get_by_text("Two headers").first.wait_for()
    page.goto(f"{locked.address}/logout")
    page.get_by_role("button", name="Log out").click()
    page.get_by_label("Password").wait_for()
    page.goto(f"{locked.address}/")
    assert "Two headers" not in page.content()
    context.close()


@pytest.mark.parametrize(("scheme", "width"), [("light", 1024), ("dark", 360)])
def test_the_pages_of_the_login_are_accessible_and_nothing_is_complained_about(
    browser: Browser, locked: Served, scheme: str, width: int
) -> None:
    context = browser.new_context(color_scheme=scheme, viewport={"width": width, "height": 700})  # type: ignore[arg-type] # one of two words
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type in {"error", "warning"} else None)
    page.goto(f"{locked.address}/")
    faults = violations(page)
    _log_in(page)
    page.goto(f"{locked.address}/logout")
    assert faults + violations(page) == []
    assert said == []
    context.close()


def _log_in(page: Page) -> None:
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Open the notebook").click()
    page.get_by_text("Two headers").first.wait_for()


def test_a_session_of_a_guest_shows_no_form_and_no_token(
    browser: Browser, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PULLBOOK_CONFIG_HOME", str(place / "home" / "config"))
    keep_password(PASSWORD)
    with Served(place / "sessions", place / "home", "--host", "0.0.0.0", "--guests") as server:
        context = browser.new_context()
        page = context.new_page()
        page.goto(f"{server.address}/")
        assert page.locator("meta[name=pullbook-token]").get_attribute("content") in {"", None}
        page.get_by_text("Two headers").first.click()
        page.wait_for_load_state()
        assert page.get_by_role("heading", level=1).count() == 1
        assert "/s/" in page.url
        shown = page.locator("input:visible, textarea:visible, select:visible").evaluate_all(_FIELDS)
        assert shown == []
        assert page.evaluate("fetch('/api/demo', {method: 'POST'}).then((a) => a.status)") == 401
        context.close()
