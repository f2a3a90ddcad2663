"""Server and workers are killed in the middle of work: no session file is damaged, the page comes back whole."""

from __future__ import annotations

import os
import random
import signal
import tomllib
from contextlib import suppress
from typing import TYPE_CHECKING, Final

import pytest
from browser.conftest import write
from playwright.sync_api import expect

from pullbook.capture.session_file_problems import find_problems

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_MOMENTS: Final = int(os.environ.get("PULLBOOK_MOMENTS", "24"))
_LONGEST: Final = 0.4  # s from an action to the blow
_SERVER: Final = 3  # every how many moments it is the server and not a worker


def test_no_moment_of_dying_damages_a_session_or_the_page(
    own_server: Served, visit: Callable[..., Visit], demo_files: dict[str, bytes]
) -> None:
    folder = own_server.root / "demo"
    write(folder, demo_files)
    seen = visit(own_server, reduced_motion="reduce")
    seen.forgive("ERR_", "WebSocket", "Failed to fetch")
    # The token is that of the server before; an edit was made whose answer got lost; the server is about to end.
    seen.forgive("status of 403", "status of 409", "status of 503")
    page = seen.page
    page.locator("#sessions a").first.click()
    expect(page.locator("section#findings")).to_be_visible(timeout=60_000)
    chance = random.Random(20260504)  # noqa: S311 - moments, no secrets
    for moment in range(_MOMENTS):
        act(page, moment)
        page.wait_for_timeout(1000.0 * chance.uniform(0.0, _LONGEST))
        strike(own_server, chance, at_server=moment % _SERVER == 0)
        assert_whole(folder)
    assert_comes_back(page, folder)


def act(page: Page, moment: int) -> None:
    """Begin something without waiting for it: another title, a pull left out or taken back, other units."""
    if moment % 3 == 0:
        page.locator('[data-at="session.title"]').evaluate(
            "(field, text) => { field.closest('details').open = true; field.value = text;"
            " field.dispatchEvent(new Event('input', {bubbles: true}));"
            " field.dispatchEvent(new Event('change', {bubbles: true})); }",
            f"Moment {moment}",
        )
    elif moment % 3 == 1:
        out = page.locator("#run-3 form.leave-out")
        if out.count():
            out.locator("input").evaluate("(field) => { field.value = 'the clutch slipped'; }")
            out.locator("button").evaluate("(button) => button.click()")
        else:
            page.locator("#run-3 [data-unset]").evaluate_all("(all) => all.forEach((button) => button.click())")
    else:
        page.locator(".units input:not(:checked)").first.evaluate("(one) => one.click()")


def strike(server: Served, chance: random.Random, *, at_server: bool) -> None:
    """Kill the server and start it again, or kill one of its workers."""
    if at_server:
        server.kill()
        server.restart()
    elif workers := server.workers():
        with suppress(ProcessLookupError):
            os.kill(chance.choice(workers), signal.SIGKILL)


def assert_whole(folder: Path) -> None:
    """The session file is one that somebody wrote: it parses, and nothing in it is wrong."""
    text = (folder / "session.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["session"]["title"]
    assert find_problems(text) == ()
    assert list(folder.glob("*.tmp")) == []


def assert_comes_back(page: Page, folder: Path) -> None:
    """The page that was open all the time takes a change, and shows what the file says, findings and all."""
    path = folder / "session.toml"
    path.write_text(path.read_text(encoding="utf-8").replace(_title(folder), "After the storm"), encoding="utf-8")
    expect(page.get_by_role("heading", level=1)).to_contain_text("After the storm", timeout=30_000)
    expect(page.locator("section#findings")).to_be_visible(timeout=60_000)
    expect(page.locator("#findings-pending")).to_have_count(0, timeout=60_000)


def _title(folder: Path) -> str:
    return str(tomllib.loads((folder / "session.toml").read_text(encoding="utf-8"))["session"]["title"])
