"""The virtual engine on the page: from no engine file to curves beside the pulls, by mouse and by keyboard alone."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from browser.accessibility import violations
from browser.conftest import write
from browser.hands import ByKeyboard, ByMouse
from browser.walk import PATIENCE
from playwright.sync_api import expect

from pullbook.engine.templates import template_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WAIT = PATIENCE * 1000.0  # ms


@pytest.fixture
def session(own_server: Served, demo_files: dict[str, bytes]) -> Path:
    """The demo session without its engine files, in a notebook of the test's own."""
    folder = own_server.root / "demo"
    write(folder, {name: content for name, content in demo_files.items() if not name.startswith("engines/")})
    return folder


def opened(visit: Callable[..., Visit], server: Served, scheme: str = "light", width: int = 1280) -> Page:
    """Page of the only session, with its findings."""
    seen = visit(server, "/", width, reduced_motion="reduce", color_scheme=scheme)
    seen.forgive("status of 422", "status of 409")  # refusals, which are looked at on the page
    page = seen.page
    page.set_default_timeout(WAIT)
    page.locator("#sessions a").first.click()
    expect(page.locator("section#findings")).to_be_visible(timeout=WAIT)
    return page


def make(hands: ByMouse | ByKeyboard, place: Locator, like: str, about: str) -> None:
    """Make an engine file out of another."""
    hands.choose(place.get_by_label("Begin with"), like)
    hands.choose(place.get_by_label("It is about"), about)
    hands.press(place.get_by_role("button", name="Make the engine file"))


def run(hands: ByMouse | ByKeyboard, low: str, high: str, step: str) -> None:
    """Ask for the curves of the engines that are ticked."""
    form = hands.page.locator("[data-engine-run]")
    for name, value in (("From, rpm", low), ("to, rpm", high), ("step, rpm", step)):
        hands.write(form.get_by_label(name, exact=True), value)
    hands.press(form.get_by_role("button", name="Compute"))


@pytest.mark.parametrize("hands_of", [ByMouse, ByKeyboard], ids=["mouse", "keyboard"])
def test_a_tester_describes_two_engines_and_lays_their_curves_beside_the_pulls(
    hands_of: type[ByMouse | ByKeyboard], own_server: Served, session: Path, visit: Callable[..., Visit]
) -> None:
    page = opened(visit, own_server)
    hands = hands_of(page)
    hands.press(page.locator("#describe-engine > summary"))
    make(hands, page.locator("#describe-engine"), "single", "build A")
    first = page.locator("#engine-engines-a")
    expect(first).to_be_visible(timeout=WAIT)
    assert (session / "engines" / "a.toml").read_text(encoding="utf-8") == template_text("single")
    hands.press(first.locator("> summary"))
    expect(first.locator(".drawing img")).to_be_visible(timeout=WAIT)
    assert first.locator(".drawing img").evaluate("(image) => image.decode().then(() => image.naturalWidth)") > 0
    expect(first).to_contain_text("Every number is inside its usual range")
    hands.press(page.locator("#another-engine > summary"))
    make(hands, page.locator("#another-engine"), "engines/a.toml", "build B")
    expect(page.locator("#engine-engines-b")).to_be_visible(timeout=WAIT)
    run(hands, "3000", "4000", "500")
    figure = page.locator("#chart-engine")
    expect(figure).to_be_visible(timeout=WAIT)
    expect(page.locator("#engine")).to_contain_text("B minus A, computed")
    figure.scroll_into_view_if_needed()
    expect(figure).to_have_class(re.compile(r"\bis-live\b"), timeout=WAIT)
    hands.press(figure.locator("summary"))
    expect(figure.locator("tbody tr")).to_have_count(3)
    assert violations(page) == []
    page.reload()  # nothing is kept in the page: the result is
    expect(page.locator("#chart-engine")).to_be_visible(timeout=WAIT)
    expect(page.locator("#engine pullbook-job")).to_have_count(0)


def test_a_run_can_be_stopped_and_asked_for_again(
    own_server: Served, session: Path, visit: Callable[..., Visit]
) -> None:
    write(session, {"engine.toml": template_text("inline-four").encode()})
    page = opened(visit, own_server)
    run(ByMouse(page), "2000", "6950", "25")
    job = page.locator("#engine pullbook-job")
    expect(job.locator("progress")).to_be_visible(timeout=WAIT)
    job.get_by_role("button", name="Stop").click()
    expect(job).to_contain_text("stopped", timeout=WAIT)
    expect(job.get_by_role("button", name="Try again")).to_be_visible()
    run(ByMouse(page), "3000", "3500", "500")
    expect(page.locator("#chart-engine")).to_be_visible(timeout=WAIT)


def test_a_wrong_text_of_an_engine_stays_in_its_field_and_a_changed_file_is_shown_beside_it(
    own_server: Served, session: Path, visit: Callable[..., Visit]
) -> None:
    text = template_text("single")
    write(session, {"engine.toml": text.encode()})
    page = opened(visit, own_server)
    page.locator("#engine-engine > summary").click()
    page.locator("#text-engine > summary").click()
    field = page.locator("#engine-text-engine")
    expect(field).to_have_value(text, timeout=WAIT)
    save = page.get_by_role("button", name="Save engine.toml")
    field.fill(text.replace("[engine]", "[engine]\nbananas = 3", 1))
    save.click()
    expect(field).to_have_attribute("aria-invalid", "true", timeout=WAIT)
    expect(page.locator("#text-engine")).to_contain_text("bananas")
    assert (session / "engine.toml").read_text(encoding="utf-8") == text
    (session / "engine.toml").write_text("# theirs\n" + text, encoding="utf-8")
    field.fill("# mine\n" + text)
    save.click()
    theirs = page.locator("#engine-theirs-engine")
    expect(theirs).to_have_value("# theirs\n" + text, timeout=WAIT)
    assert violations(page) == []
    save.click()
    expect(theirs).to_have_count(0, timeout=WAIT)
    assert (session / "engine.toml").read_text(encoding="utf-8") == "# mine\n" + text


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_waves_are_readable_on_a_narrow_page(
    own_server: Served, session: Path, visit: Callable[..., Visit], scheme: str
) -> None:
    write(session, {"engine.toml": template_text("single").encode()})
    page = opened(visit, own_server, scheme, 360)
    page.get_by_label("at, rpm").fill("4000")
    page.get_by_role("button", name="Draw the wave map").click()
    picture = page.locator("#engine figure img")
    expect(picture).to_be_visible(timeout=WAIT)
    picture.scroll_into_view_if_needed()
    assert f"waves-{scheme}" in picture.evaluate("(image) => image.decode().then(() => image.currentSrc)")
    page.get_by_text("The waves that come back at").click()
    expect(page.get_by_role("table", name="Waves that come to the exhaust port")).to_be_visible()
    sides = "(part) => part.getBoundingClientRect().right - document.documentElement.clientWidth"
    assert page.locator("#engine").evaluate(sides) <= 0
    assert violations(page) == []
