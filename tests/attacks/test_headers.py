from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from attacks.asking import Answer, ask
from attacks.counting_app import CountingApp

from pullbook.web.guard import guarded
from pullbook.web.headers import PAGE_POLICY, PART_POLICY, REPORT_POLICY
from pullbook.web.settings import Settings

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

HASHED = "/assets/0123456789ab/notebook.css"


def answered(path: str = "/", status: int = 200, given: dict[str, str] | None = None) -> Answer:
    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        headers = [(name.encode(), value.encode()) for name, value in (given or {}).items()]
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": b""})

    return ask(_guarded(app), path)


def _guarded(app: ASGIApp) -> ASGIApp:
    return guarded(app, Settings(root=Path(), port=8420))


def _directives(policy: str) -> dict[str, list[str]]:
    return {part.split()[0]: part.split()[1:] for part in policy.split(";")}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("x-content-type-options", "nosniff"),
        ("x-frame-options", "DENY"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
        ("referrer-policy", "same-origin"),
    ],
)
def test_every_answer_carries_each_header_once_whatever_the_application_says(name: str, value: str) -> None:
    weakened = answered(given={name: "unsafe-none"})
    refused = ask(_guarded(CountingApp()), headers={"host": "evil.example"})
    assert [weakened.header(name), refused.header(name)] == [value, value]


def test_every_answer_carries_one_policy_that_is_ours_whatever_the_application_says() -> None:
    weakened = answered(given={"content-security-policy": "default-src *"})
    refused = ask(_guarded(CountingApp()), headers={"host": "evil.example"})
    policies = [answer.header("content-security-policy") for answer in (weakened, refused)]
    assert policies == [PAGE_POLICY, PART_POLICY]
    assert refused.header("content-type") == "application/json"


def test_the_policy_of_pages_allows_no_inline_script_no_eval_and_no_other_site() -> None:
    rules = _directives(PAGE_POLICY)
    assert rules["script-src"] == ["'self'"]
    assert rules["default-src"] == rules["base-uri"] == rules["frame-ancestors"] == ["'none'"]
    assert not any("://" in source or source in {"*", "https:", "http:"} for part in rules.values() for source in part)
    assert "unsafe-eval" not in PAGE_POLICY


@pytest.mark.parametrize("kind", ["application/json", "text/css; charset=utf-8", "text/javascript"])
def test_what_is_no_page_may_do_nothing_at_all_when_it_is_looked_at_by_itself(kind: str) -> None:
    answer = answered("/api/x", given={"content-type": kind, "content-security-policy": "default-src *"})
    assert answer.header("content-security-policy") == PART_POLICY
    assert answer.header("x-content-type-options") == "nosniff"
    assert _directives(PART_POLICY) == {
        "default-src": ["'none'"], "style-src": ["'unsafe-inline'"], "frame-ancestors": ["'none'"],
    }  # fmt: skip


@pytest.mark.parametrize(
    "kind", ["text/html; charset=utf-8", "image/svg+xml", "text/plain", "application/json, text/html", ""]
)
def test_whatever_may_be_a_page_carries_the_policy_of_pages_and_gets_no_device(kind: str) -> None:
    answer = answered("/api/x", given={"content-type": kind})
    assert answer.header("content-security-policy") == PAGE_POLICY
    assert "microphone=()" in answer.header("permissions-policy")


def test_a_report_is_shut_off_from_the_notebook_and_from_everything_else() -> None:
    answer = answered(given={"Content-Security-Policy": "sandbox allow-scripts allow-same-origin; default-src *"})
    rules = _directives(answer.header("content-security-policy"))
    assert answer.header("content-security-policy") == REPORT_POLICY
    assert "allow-same-origin" not in rules["sandbox"]
    assert rules["default-src"] == ["'none'"]
    assert "connect-src" not in rules
    assert rules["frame-ancestors"] == ["'self'"]


def test_pages_and_answers_are_never_kept_and_hashed_assets_for_ever() -> None:
    assert answered("/s/a").header("cache-control") == "no-store"
    assert answered("/api/sessions").header("cache-control") == "no-store"
    assert "immutable" in answered(HASHED).header("cache-control")
    assert answered("/assets/notebook.css").header("cache-control") == "no-cache"


def test_an_asset_that_is_not_there_is_not_remembered() -> None:
    assert answered(HASHED, 404).header("cache-control") == "no-store"


def test_the_application_may_say_how_long_an_answer_is_kept() -> None:
    answer = answered("/api/x", given={"cache-control": "private, max-age=60"})
    assert answer.header("cache-control") == "private, max-age=60"
