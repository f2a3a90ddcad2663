"""A real Chromium, and reports opened in it."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING, Any, Final

import pytest
from builders import make_result
from builders_crowd import make_crowd
from opened_report import Opened

from pullbook.publish.page import render_page

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, BrowserContext

_CHROMIUM: Final = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if _CHROMIUM is None:
        pytest.skip("no Chromium on this machine; `python3 tasks.py browser` installs one")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=_CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


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
