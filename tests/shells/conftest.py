"""Reports opened in a real Chromium."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from builders import make_result
from builders_crowd import make_crowd
from opened_report import Opened

from pullbook.publish.page import render_page

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, BrowserContext


@pytest.fixture(scope="session")
def reports(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder: Path = tmp_path_factory.mktemp("reports")
    made = {}
    for name, result in (("plain", make_result()), ("crowd", make_crowd())):
        for kind, interactive in (("", True), (" pictures", False)):
            path = folder / f"{name}{kind}.html"
            path.write_text(render_page(result, interactive=interactive), encoding="utf-8")
            made[f"{name}{kind}"] = path.as_uri()
    return made


@pytest.fixture
def open_report(browser: Browser, reports: dict[str, str]) -> Iterator[Callable[..., Opened]]:
    contexts: list[BrowserContext] = []

    def opened(name: str = "plain", width: int = 1280, *, scripts: bool = True, **options: Any) -> Opened:
        context = browser.new_context(
            viewport={"width": width, "height": 900}, java_script_enabled=scripts, offline=True, **options
        )
        contexts.append(context)
        return Opened(context, reports[name])

    yield opened
    for context in contexts:
        context.close()
