"""What every test may ask for: a real browser, real measurements; and how long hypothesis may search."""

from __future__ import annotations

import asyncio
import os
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pytest
from _pytest.runner import runtestprotocol
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser

# As the program itself does it; several tests at once whose linear algebra has threads take four times as long.
for _name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_name, "1")

SHARED_DATA = Path(__file__).resolve().parents[1].parent / "shared" / "data"

# Minutes in a browser, about one thing each; walk, looks, numbers of windows, tour and faults stay in every run.
_THOROUGH = frozenset({
    "test_at_work.py", "test_bad_input.py", "test_bad_input_meanwhile.py", "test_claim_sentence.py", "test_engine.py",
    "test_findings_of_before.py", "test_folder_drop.py", "test_job_element.py", "test_refresh.py", "test_switches.py",
    "test_text_element.py", "test_upload_element.py",
    "test_window.py", "test_window_picture.py",
})  # fmt: skip

_QUIET = (HealthCheck.too_slow, HealthCheck.function_scoped_fixture)  # a busy machine must not fail a test
settings.register_profile("dev", max_examples=30, deadline=None, suppress_health_check=_QUIET)
settings.register_profile("ci", max_examples=200, deadline=None, derandomize=True, suppress_health_check=_QUIET)
settings.load_profile("ci" if os.environ.get("CI") else "dev")


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Folder of real measurements beside the repository; tests that need it are skipped where it is absent."""
    if not SHARED_DATA.is_dir():
        pytest.skip("the real measurements are not beside this repository (../shared/data)")
    return SHARED_DATA


_CHROMIUM: Final = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
# The network is cut to everything but this machine, without the detour that would switch the browser's cache off.
_CUT: Final = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A real Chromium that reaches nothing but this machine."""
    if _CHROMIUM is None:
        pytest.skip("no Chromium on this machine; `python3 tasks.py test` installs one")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=_CHROMIUM, args=["--no-sandbox", _CUT])
        yield opened
        opened.close()


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item, nextitem: pytest.Item | None) -> bool:
    """Hide the loop of an open browser from tests that run their own; a browser test that fails is run once more.

    Two cores that do other work beside it make a browser late by seconds now and then; what is broken fails twice.
    """
    is_browsing = "browser" in getattr(item, "fixturenames", ())
    item.ihook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    loop = asyncio._get_running_loop()
    if not is_browsing:
        asyncio._set_running_loop(None)
    try:
        reports = runtestprotocol(item, log=False, nextitem=nextitem)
        if is_browsing and any(report.failed for report in reports):
            item._initrequest()  # type: ignore[attr-defined] # what a function has, and its class does not name
            reports = runtestprotocol(item, log=False, nextitem=nextitem)
    finally:
        if not is_browsing:
            asyncio._set_running_loop(loop)
    for report in reports:
        item.ihook.pytest_runtest_logreport(report=report)
    item.ihook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)
    return True


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let one browser be open at a time where tests run side by side: two of them starve each other on two cores."""
    for item in items:
        if item.path.name in _THOROUGH and item.path.parent.name == "browser":
            item.add_marker(pytest.mark.thorough)
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.xdist_group("browser"))
