"""Every route against its own description: whatever is asked, no route fails, and each refusal has the error form."""

from __future__ import annotations

import json
import os
import urllib.request
from typing import TYPE_CHECKING, Any, Final

import pytest
from browser.served import Served
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.core.result import Ok

from pullbook.bench.demo import demo_session

if TYPE_CHECKING:
    from collections.abc import Iterator

    from schemathesis import BaseSchema, Case
    from schemathesis.core.transport import Response
    from schemathesis.schemas import APIOperation

pytestmark = pytest.mark.slow

_EXAMPLES: Final = 15 if os.environ.get("CI") else 10
# Last words of routes that begin work of a second or more with each question.
_LONG: Final = frozenset(
    {"findings", "parts", "windows", "compare", "report", "remembered", "{chart}", "waves", "check", "plan", "next"}
)
_ENGINE: Final = "engines-a"  # of the demo
_FORM: Final = {"what", "where", "value", "remedy"}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("promises")
    for name, content in demo_session().items():
        path = folder / "sessions" / "demo" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    with Served(folder / "sessions", folder / "home") as running:
        yield running


@pytest.fixture(scope="module")
def description(server: Served) -> BaseSchema:
    from schemathesis import openapi

    return openapi.from_url(f"{server.address}/api/openapi.json")


def ask(server: Served, path: str) -> Any:
    with urllib.request.urlopen(server.address + path, timeout=30.0) as answer:  # noqa: S310 - our own server
        return json.loads(answer.read())


def test_no_route_fails_whatever_it_is_asked(
    server: Served, description: BaseSchema, subtests: pytest.Subtests
) -> None:
    token = ask(server, "/api/token")["token"]
    session = ask(server, "/api/sessions")["sessions"][0]["id"]
    operations = [found.ok() for found in description.get_all_operations() if isinstance(found, Ok)]
    assert len(operations) >= 12
    for operation in operations:
        with subtests.test(operation.label):
            examine(operation, {"X-Pullbook-Token": token, "Origin": server.address}, session)


def examine(operation: APIOperation[Any, Any, Any, Any], headers: dict[str, str], session: str) -> None:
    """Ask one route for many things, every other time of the session that is there."""
    few = operation.path.rstrip("/").rsplit("/", 1)[-1] in _LONG

    @settings(max_examples=4 if few else _EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
    @given(case=operation.as_strategy(), there=st.booleans())
    def asked(case: Case[Any], *, there: bool) -> None:
        if there and "session" in (case.path_parameters or {}):
            case.path_parameters["session"] = session
            if "engine" in case.path_parameters:
                case.path_parameters["engine"] = _ENGINE
        expect_kept(case, case.call(headers=headers, timeout=60.0))

    asked()


def expect_kept(case: Case[Any], answer: Response) -> None:
    """No failure inside; a refusal says what, where, which value and what to do, in the form that is described."""
    from schemathesis.checks import not_a_server_error, response_schema_conformance, status_code_conformance

    case.validate_response(answer, checks=[not_a_server_error, status_code_conformance, response_schema_conformance])
    if answer.status_code >= 400:
        assert set(answer.json()) >= _FORM
        assert answer.json()["what"]
