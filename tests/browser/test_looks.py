"""The pages as a person last looked at them: three widths, light, dark and print; `python3 tasks.py looks` renews."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from browser.accessibility import violations
from browser.looks import LOOKS
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WAYS = [(360, "light"), (1024, "light"), (1920, "light"), (360, "dark"), (1024, "dark"), (1920, "dark"), (794, "print")]


def demo_page(visit: Callable[..., Visit], server: Served, width: int, scheme: str) -> Page:
    """Page of the demo session with its findings, as a reader without motion sees it."""
    page = visit(server, "/", width, reduced_motion="reduce", color_scheme="dark" if scheme == "dark" else "light").page
    page.locator("#sessions a").first.click()
    expect(page.locator("section#findings")).to_be_visible(timeout=60_000)
    return page


def alive(page: Page) -> None:
    """The charts of the curves are drawn, and the page is at its top again."""
    for figure in page.locator("#curves figure.chart").all():
        figure.scroll_into_view_if_needed()
        expect(figure).to_have_class(re.compile("is-live"), timeout=30_000)
    page.evaluate("scrollTo(0, 0)")
    page.mouse.move(0, 0)


def picture_of(page: Page) -> bytes:
    """Picture of the whole page."""
    return page.screenshot(full_page=True, animations="disabled", caret="hide")


@pytest.mark.parametrize(("width", "way"), WAYS, ids=[f"{width}-{way}" for width, way in WAYS])
def test_the_page_of_a_session_looks_as_it_was_approved(
    visit: Callable[..., Visit], served: Served, width: int, way: str
) -> None:
    page = demo_page(visit, served, width, way)
    alive(page)
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    if way == "print":
        page.emulate_media(media="print")
    else:
        assert violations(page) == []
    LOOKS.hold(page, f"session-{width}-{way}", picture_of(page))


@pytest.mark.parametrize(("width", "way"), WAYS[:-1], ids=[f"{width}-{way}" for width, way in WAYS[:-1]])
def test_the_list_of_sessions_looks_as_it_was_approved(
    visit: Callable[..., Visit], served: Served, width: int, way: str
) -> None:
    seen = visit(served, "/", width, reduced_motion="reduce", color_scheme=way)
    page = seen.page
    page.locator("#sessions a").first.click()
    expect(page.locator("section#findings")).to_be_visible(timeout=60_000)
    seen.go("/")  # the list says now what is open in the session, and not that it is being compared
    page.evaluate("document.querySelectorAll('.masthead .meta b').forEach((one) => { one.textContent = 'sessions'; })")
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    assert violations(page) == []
    LOOKS.hold(page, f"list-{width}-{way}", picture_of(page))
