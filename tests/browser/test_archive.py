"""The archive on the pages: a session is remembered, told on the page of the next one, and found again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from browser.accessibility import violations
from browser.hands import ByKeyboard, ByMouse
from browser.walk import PATIENCE
from playwright.sync_api import expect
from session_folder import write_session

if TYPE_CHECKING:
    from collections.abc import Callable

    from browser.served import Served
    from browser.visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WAIT = PATIENCE * 1000.0  # ms


@pytest.mark.parametrize(
    ("hands_of", "width", "scheme"),
    [(ByMouse, 1024, "light"), (ByKeyboard, 360, "dark")],
    ids=["mouse-light", "keyboard-dark"],
)
def test_a_session_is_remembered_told_to_the_next_one_and_found_again(
    hands_of: type[ByMouse | ByKeyboard], width: int, scheme: str, own_server: Served, visit: Callable[..., Visit]
) -> None:
    for seed, name in enumerate(("first", "second"), start=5):
        write_session(own_server.root / name, "AABB", seed=seed)
    seen = visit(own_server, "/", width, reduced_motion="reduce", color_scheme=scheme)
    seen.forgive("status of 422")  # a question that cannot be asked, which is looked at on the page
    page = seen.page
    page.set_default_timeout(WAIT)
    hands = hands_of(page)
    expect(page.locator("#tested")).to_contain_text("Nothing is remembered yet")

    hands.press(page.locator("#sessions tr", has_text="first").get_by_role("link"))
    part = page.locator("#archive")
    expect(part).to_contain_text("Nothing is remembered yet", timeout=WAIT)
    assert not (own_server.root.parent / "home" / "data").exists()
    hands.press(part.get_by_role("button", name="Remember"))
    expect(part).to_contain_text("Remembered as it stands", timeout=WAIT)
    expect(part).to_contain_text("No earlier session tested header 4-2-1 from 4-1")
    expect(part.get_by_role("button")).to_have_count(0)
    expect(page.locator("#told")).to_have_text("Remembering the session: done.")
    assert violations(page) == []

    seen.go("/")
    hands.press(page.locator("#sessions tr", has_text="second").get_by_role("link"))
    expect(part).to_contain_text("One earlier session tested header 4-2-1 from 4-1", timeout=WAIT)
    expect(part).to_contain_text("rpm it gave")
    assert violations(page) == []
    sides = "(part) => part.getBoundingClientRect().right - document.documentElement.clientWidth"
    assert part.evaluate(sides) <= 0
    hands.press(part.get_by_role("link"))
    expect(part).to_contain_text("Remembered as it stands", timeout=WAIT)

    seen.go("/")
    tested = page.locator("#tested")
    words, button = tested.get_by_label("Words and dimensions"), tested.get_by_role("button", name="Find")
    hands.write(words, "primaries +3")
    hands.press(button)
    expect(words).to_have_attribute("aria-invalid", "true")
    expect(tested).to_contain_text("This step has no unit")
    hands.write(words, "camshaft")
    hands.press(button)
    expect(tested).to_contain_text("No remembered session answers", timeout=WAIT)
    assert page.evaluate("location.search").endswith("find=camshaft")
    assert violations(page) == []
    hands.write(words, "header")
    hands.press(button)
    expect(tested.get_by_role("row")).to_have_count(2, timeout=WAIT)
    expect(words).to_have_value("header")
    assert violations(page) == []
    page.reload()
    hands.press(tested.get_by_role("row").get_by_role("link"))
    expect(page.locator("#session[data-session^=first]")).to_be_attached(timeout=WAIT)


def test_remembering_can_be_stopped_and_leaves_no_archive(own_server: Served, visit: Callable[..., Visit]) -> None:
    write_session(own_server.root / "first", "AABBAABB" * 3)
    page = visit(own_server, "/", reduced_motion="reduce").page
    page.locator("#sessions tr", has_text="first").get_by_role("link").click()
    part = page.locator("#archive")
    part.get_by_role("button", name="Remember").click(timeout=WAIT)
    job = part.locator("pullbook-job")
    job.get_by_role("button", name="Stop").click(timeout=WAIT)
    expect(job).to_contain_text("stopped", timeout=WAIT)
    assert not list((own_server.root.parent / "home").rglob("archive.sqlite"))
    job.get_by_role("button", name="Try again").click()
    expect(part).to_contain_text("Remembered as it stands", timeout=WAIT)
