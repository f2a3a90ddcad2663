"""Sessions that are served, and pages of them that are opened in a real Chromium."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import pytest
from browser.looks import ARTEFACTS
from browser.served import Served
from browser.visit import Visit

from pullbook.bench.demo import demo_session

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, BrowserContext


_FAILED: Final = pytest.StashKey[bool]()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    item.stash[_FAILED] = item.stash.get(_FAILED, False) or report.failed
    return report


@pytest.fixture(scope="session")
def demo_files() -> dict[str, bytes]:
    """Files of the invented session."""
    return dict(demo_session())


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory, demo_files: dict[str, bytes]) -> Iterator[Served]:
    """A notebook with the demo in it, for tests that only read."""
    folder = tmp_path_factory.mktemp("served")
    write(folder / "sessions" / "demo", demo_files)
    with Served(folder / "sessions", folder / "home") as server:
        yield server


@pytest.fixture(scope="session")
def busy_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A notebook into whose folder many tests put sessions of their own."""
    folder = tmp_path_factory.mktemp("busy")
    (folder / "sessions").mkdir()
    with Served(folder / "sessions", folder / "home") as server:
        yield server


@pytest.fixture
def own_server(tmp_path: Path) -> Iterator[Served]:
    """A notebook on an empty folder, for a test that writes into it or kills it."""
    (tmp_path / "sessions").mkdir()
    with Served(tmp_path / "sessions", tmp_path / "home") as server:
        yield server


@pytest.fixture
def visit(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Callable[..., Visit]]:
    """Opens a page of a server; at the end of the test nothing may have been complained about."""
    contexts: list[BrowserContext] = []
    visits: list[Visit] = []

    def opened(server: Served, path: str = "/", width: int = 1280, **options: Any) -> Visit:
        contexts.append(browser.new_context(viewport={"width": width, "height": 900}, **options))
        visits.append(Visit(contexts[-1], server.address))
        visits[-1].go(path)
        return visits[-1]

    yield opened
    if request.node.stash.get(_FAILED, False):
        ARTEFACTS.mkdir(exist_ok=True)
        for number, one in enumerate(visits):
            print(*one.changes, sep="\n")  # noqa: T201 - shown beside the failure
            one.page.screenshot(path=ARTEFACTS / f"failed-{request.node.originalname}-{number}.png", full_page=True)
    faults = [fault for one in visits for fault in one.faults()]
    for context in contexts:
        context.close()
    assert faults == []


def write(folder: Path, files: dict[str, bytes]) -> None:
    """Put files into a folder."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
