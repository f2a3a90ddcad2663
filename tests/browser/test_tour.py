"""Pictures of the guided tour in `docs/tour.md`: made from the page as it is; `python3 tasks.py tour` renews them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from browser.looks import TOUR
from playwright.sync_api import expect
from repo.tree import ROOT

if TYPE_CHECKING:
    from collections.abc import Callable

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_PATIENCE = 90_000  # ms
_STEPS = ("sessions", "tested", "files", "run-sheet", "findings", "curves", "origin", "publish")


def picture_of(page: Page, selector: str, height: int = 700) -> bytes:
    """Picture of the page from the top of an element on, as a reader sees it."""
    part = page.locator(selector).first
    part.evaluate("(one) => { one.style.scrollMarginTop = '72px'; one.scrollIntoView({behavior: 'instant'}); }")
    page.mouse.move(0, 0)
    page.wait_for_timeout(400)
    width = page.viewport_size["width"] if page.viewport_size else 0
    return page.screenshot(animations="disabled", caret="hide", clip={"x": 0, "y": 0, "width": width, "height": height})


def test_pictures_of_the_tour_show_the_page_as_it_is(visit: Callable[..., Visit], served: Served) -> None:
    seen = visit(served, "/", 1000, reduced_motion="reduce")
    page = seen.page
    page.locator("#sessions a").first.click()
    expect(page.locator("section#findings")).to_be_visible(timeout=_PATIENCE)
    seen.go("/")  # the list says now what is open in the session, and not that it is being compared
    page.evaluate("document.querySelectorAll('.masthead .meta b').forEach((one) => { one.textContent = 'sessions'; })")
    TOUR.hold(page, "sessions", picture_of(page, "#sessions"))
    page.locator("#sessions a").first.click()
    expect(page.locator("section#findings")).to_be_visible(timeout=_PATIENCE)
    page.locator("#setup > summary").click()
    TOUR.hold(page, "tested", picture_of(page, "#setup"))
    page.locator("#setup > summary").click()
    TOUR.hold(page, "files", picture_of(page, "#files", 420))
    TOUR.hold(page, "run-sheet", picture_of(page, "#run-8", 420))
    TOUR.hold(page, "findings", picture_of(page, "#findings"))
    page.locator("#chart-torque").scroll_into_view_if_needed()
    expect(page.locator("#chart-torque.is-live")).to_be_visible(timeout=_PATIENCE)
    TOUR.hold(page, "curves", picture_of(page, "#chart-torque", 900))
    page.locator('#findings a[href^="#origin"]').first.click()
    expect(page.locator("dialog[open]")).to_be_visible()
    TOUR.hold(page, "origin", page.screenshot(animations="disabled", caret="hide"))
    page.keyboard.press("Escape")
    TOUR.hold(page, "publish", page.locator("#publish").screenshot(animations="disabled"))


def test_the_tour_tells_of_every_picture_that_is_kept_and_of_no_other() -> None:
    told = re.findall(r"\]\(tour/([\w-]+)\.png\)", (ROOT / "docs" / "tour.md").read_text(encoding="utf-8"))
    assert tuple(told) == _STEPS
    assert {path.stem for path in TOUR.folder.glob("*.png")} == set(_STEPS)
