"""While findings are computed anew those of before stay under the eyes of the reader, marked, and go without a jerk."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING, Final

import pytest
from browser.accessibility import violations
from browser.elements import Held, bench, opened, recorded, settled, told_by
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_numbers: Final = count(1)  # no folder is used twice, not even by a test that is run once more

_SLACK: Final = 2.0  # px; half a line would be seen as a jerk
_LONG: Final = "Is it the runners, the header, or the weather of the day? " * 6
# What stands at the top of the view below the masthead: its words and where it is.
_TOP: Final = """() => {
  const left = document.getElementById("main").getBoundingClientRect().left + 20;
  for (let y = 60; y < innerHeight; y += 6) {
    const hit = document.elementFromPoint(left, y);
    if (hit?.closest("[data-part] > *") && hit.matches("h2, h3, p, th, td, figcaption, dt, dd, li, caption"))
      return [hit.tagName, hit.textContent.trim().slice(0, 40), hit.getBoundingClientRect().top];
  }
  return null; }"""
# Charts and tables are filled in after the page is there.
_REST: Final = """() => {
  const now = [document.documentElement.scrollHeight, performance.now()], last = window.atRest;
  if (!last || last[0] !== now[0]) window.atRest = now;
  return now[1] - window.atRest[1] > 800; }"""
_WHERE: Final = """([tag, words]) => [...document.querySelectorAll(`main ${tag}`)]
  .filter((one) => one.textContent.trim().slice(0, 40) === words).map((one) => one.getBoundingClientRect().top)"""


@pytest.fixture
def folder(busy_server: Served, request: pytest.FixtureRequest) -> Path:
    """A session of which findings can be made; no other has the same content."""
    made = bench(busy_server, f"{request.node.originalname[5:50]}-{next(_numbers)}", compared=True)
    change(made, "by hand", made.name)
    return made


@pytest.fixture
def page(busy_server: Served, folder: Path, visit: Callable[..., Visit], request: pytest.FixtureRequest) -> Page:
    """Its page with its findings, as wide as a test asks for."""
    seen = opened(visit, busy_server, folder, width=getattr(request, "param", 1280))
    seen.forgive("status of 422")
    settled(seen.page)
    expect(seen.page.locator("section#findings")).to_be_visible()
    expect(seen.page.locator("html.windowed")).to_be_attached()
    seen.page.wait_for_function(_REST)
    return seen.page


def change(folder: Path, old: str, new: str) -> None:
    path = folder / "session.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def ask_something_long(folder: Path) -> None:
    """A change that makes the page longer above everything that somebody reads in the findings."""
    change(folder, "Do short runners pay?", _LONG)


def read_at(page: Page, section: str) -> tuple[str, str, float]:
    """Scroll into the middle of a section; gives what stands at the top of the view."""
    page.evaluate(
        """(name) => { const {top, height} = document.getElementById(name).getBoundingClientRect();
          scrollBy({top: top + height / 3, behavior: "instant"}); }""", section,
    )  # fmt: skip
    page.evaluate("delete window.atRest")
    page.wait_for_function(_REST)
    tag, words, top = page.evaluate(_TOP)
    return str(tag), str(words), float(top)


def off(page: Page, mark: tuple[str, str, float]) -> float:
    """How far what was read has moved. [px]"""
    found: list[float] = page.evaluate(_WHERE, list(mark[:2]))
    assert found, f"{mark[1]} is no longer on the page"
    return min(abs(top - mark[2]) for top in found)


def state(page: Page) -> str:
    return str(page.locator("#session").get_attribute("data-shown"))


def test_charts_that_come_to_life_above_do_not_push_away_what_is_read(page: Page) -> None:
    page.evaluate("scrollTo({top: document.getElementById('windows').offsetTop, behavior: 'instant'})")
    top = "document.getElementById('windows').getBoundingClientRect().top"
    before = page.evaluate(top)
    expect(page.locator("figure[data-chart=power].is-live")).to_be_attached()
    page.wait_for_timeout(300)
    assert abs(page.evaluate(top) - before) < 60.0  # a live chart is a little taller than its picture


@pytest.mark.parametrize("page", [1280, 360], indirect=True)
def test_what_is_read_stays_where_it_is_when_the_findings_are_marked_and_when_they_are_replaced(
    page: Page, folder: Path, busy_server: Served
) -> None:
    mark = read_at(page, "windows")
    with Held(busy_server) as held:
        ask_something_long(folder)
        expect(page.locator("#session[data-shown=before]")).to_be_attached()
        page.wait_for_timeout(400)
        assert off(page, mark) < _SLACK
        before = page.locator("#session").get_attribute("data-key")
        held.let_go()
        expect(page.locator("#session[data-shown=now]")).to_be_attached()
    expect(page.locator("#question")).to_contain_text("the weather of the day")
    assert page.locator("#session").get_attribute("data-key") != before
    page.evaluate("delete window.atRest")
    page.wait_for_function(_REST)
    assert off(page, mark) < _SLACK


def test_the_findings_of_before_are_told_from_current_ones_by_words(
    page: Page, folder: Path, busy_server: Served
) -> None:
    with Held(busy_server):
        change(folder, "A day on the bench", "A day at the bench")
        head = page.locator("#findings-pending.before")
        expect(head).to_contain_text("These findings are from before")
        expect(head).to_contain_text("Changed since then: the title. They are being computed anew.")
        expect(head.get_by_role("progressbar", name="Comparing")).to_be_visible()
        expect(head.get_by_role("button", name="Stop")).to_be_visible()
        expect(page.locator(".masthead")).to_contain_text("findings from before")
        words = "(one) => getComputedStyle(one, '::before').content"
        for name in ("question", "pulls", "findings", "curves", "windows", "claims"):
            assert page.locator(f"[data-part={name}]").evaluate(words) == '"from before the change"', name
        assert page.locator("[data-part=curves]").evaluate("(one) => getComputedStyle(one).opacity") == "1"
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            assert violations(page) == []
    expect(page.locator("#session[data-shown=now]")).to_be_attached()
    assert page.locator("[data-part=curves]").evaluate(words) == "none"
    expect(page.locator(".masthead")).not_to_contain_text("findings from before")


def test_a_listener_hears_once_that_they_are_computed_anew_and_once_that_they_are_there(
    page: Page, folder: Path, busy_server: Served
) -> None:
    recorded(page, "#told, #news, #findings-pending :is([aria-live], [role=status], [role=alert])")
    with Held(busy_server) as held:
        change(folder, "A day on the bench", "A day at the bench")
        expect(page.locator("#findings-pending.before")).to_be_visible()
        held.until_running(page, "page", done=1)
    expect(page.locator("#session[data-shown=now]")).to_be_attached()
    expect(page.locator("#told")).to_have_text("Comparing: done.")
    assert told_by(page) == [
        "Changed: the title. The findings are being computed anew; until then the page shows those of before.",
        "Comparing: done.",
    ]


def test_what_is_opened_and_in_focus_in_the_findings_of_before_is_left_alone(
    page: Page, folder: Path, busy_server: Served
) -> None:
    part = page.locator("[data-part=curves]")
    part.evaluate("(one) => { one.dataset.old = ''; }")
    with Held(busy_server):
        change(folder, "A day on the bench", "A day at the bench")
        expect(page.locator("#session[data-shown=before]")).to_be_attached()
        expect(part).to_have_attribute("data-old", "")
    expect(page.locator("[data-part=curves]:not([data-old])")).to_be_attached()


def test_a_page_that_is_loaded_meanwhile_shows_the_findings_of_before_as_well(
    page: Page, folder: Path, busy_server: Served
) -> None:
    with Held(busy_server):
        change(folder, "A day on the bench", "A day at the bench")
        expect(page.locator("#session[data-shown=before]")).to_be_attached()
        page.reload()
        expect(page.locator("#findings-pending.before")).to_contain_text("the title")
        expect(page.locator("section#curves")).to_be_visible()
    expect(page.locator("#session[data-shown=now]")).to_be_attached()


def test_the_reason_of_a_refusal_comes_to_whoever_was_reading_what_is_taken_away(
    page: Page, folder: Path, busy_server: Served
) -> None:
    read_at(page, "windows")
    with Held(busy_server):
        change(folder, "pulls/b2.csv", "pulls/gone.csv")
        expect(page.locator("#session[data-shown=before]")).to_be_attached()
        expect(page.locator("section#windows")).to_be_visible()
    expect(page.locator("#findings-pending .refused .lead")).to_be_in_viewport()
    expect(page.locator("section#windows")).to_have_count(0)
    expect(page.locator("#told")).to_contain_text("no such file")


def test_other_units_are_computed_while_those_of_before_stay_and_say_so(page: Page, busy_server: Served) -> None:
    with Held(busy_server):
        page.locator("label", has=page.locator("#units-us")).click()
        expect(page.locator("#findings-pending.before")).to_contain_text("Changed since then: the units.")
        expect(page.locator("section#curves")).to_be_visible()
    expect(page.locator("#session[data-shown=now]")).to_be_attached()
    expect(page.locator("section#findings")).to_contain_text("lb ft")


def test_publishing_waits_until_the_report_is_of_the_session_as_it_stands_and_its_end_is_told(
    page: Page, folder: Path
) -> None:
    page.locator("label", has=page.locator("#units-us")).click()  # what is drawn up is what the page asks, units too
    expect(page.locator("#session[data-shown=now]")).to_be_attached()
    page.goto(page.url.split("?")[0])  # the address names no units; those of the last choice hold
    page.get_by_role("button", name="Draw it up").click()
    expect(page.get_by_role("button", name="Publish it")).to_be_visible()
    change(folder, "A day on the bench", "A day at the bench")
    expect(page.locator("#publish")).to_contain_text("Draw it up again to publish it")
    expect(page.get_by_role("button", name="Publish it")).to_have_count(0)
    expect(page.locator("#session[data-shown=now]")).to_be_attached()
    page.get_by_role("button", name="Draw it up").click()
    expect(page.locator("#publish")).to_contain_text("What will be public")
    page.get_by_role("button", name="Publish it").click()
    expect(page.locator("#told[role=status]")).to_have_text(
        "The report is published: it is in the folder report of the session."
    )
    assert "A day at the bench" in (folder / "report" / "report.html").read_text(encoding="utf-8")
