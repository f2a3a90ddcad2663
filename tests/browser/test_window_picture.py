"""The rpm window in the picture of mean gains and in the table of both results: they follow it as the charts do."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import pytest
from browser.accessibility import violations
from browser.window_page import WIDE, asked, compared, drag, session_page, told
from opened_report import Opened
from playwright.sync_api import expect

from pullbook.publish.page import render_page
from pullbook.publish.speeds import rpm_range
from pullbook.publish.tables import both_table
from pullbook.publish.telling import Telling
from pullbook.publish.typeset import typeset
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Browser, BrowserContext, Locator, Page

    from pullbook.records.result import SessionResult

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PLACES: Final = """(picture) => [...picture.querySelectorAll("g[data-panel]")].map((group) => {
  const box = (part) => { const { x, y, width, height } = part.getBBox(); return [x, y, x + width, y + height]; };
  const marks = (css) => [...group.querySelectorAll(css)].map(box);
  return { frame: box(group.querySelector(".box")), whiskers: marks(".whisker"), dots: marks("circle"),
    labels: [...group.querySelectorAll("text[text-anchor=end]:not(.soft)")].map((label) => label.textContent),
    scale: [...group.querySelectorAll("text[text-anchor=middle]")].map((label) =>
      [Number(label.textContent.replace("\u2212", "-")), Number(label.getAttribute("x"))]) };
})"""
WORDS: Final = typeset(rpm_range(*WIDE))


@pytest.fixture
def context(browser: Browser) -> BrowserContext:
    """Windows of a usual size, closed when the browser is."""
    return browser.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce")


def _opened(context: BrowserContext, tmp_path: Path, result: SessionResult, window: str = "") -> Page:
    path = tmp_path / "report.html"
    path.write_text(render_page(result), encoding="utf-8")
    opened = Opened(context, path.as_uri() + window)
    opened.page.wait_for_selector(".window-bar")
    assert opened.complaints == []
    return opened.page


def _picture(page: Page) -> Locator:
    return page.locator("#chart-windows svg.picture:visible")


def _values(picture: Locator) -> list[list[str]]:
    """What stands beside the rows of each panel."""
    panels = picture.locator("g[data-panel]").all()
    return [panel.locator("text[class=''],text:not([class])").all_text_contents() for panel in panels]


def test_the_picture_gets_a_row_for_the_window_in_every_panel(context: BrowserContext, tmp_path: Path) -> None:
    page = _opened(context, tmp_path, compared())
    before = _values(_picture(page))
    page.locator("#chart-torque").scroll_into_view_if_needed()
    page.wait_for_selector("#chart-torque.is-live .plot .main-svg")
    drag(page, *WIDE)
    expect(_picture(page).locator(f"text:text-is('{WORDS}')").first).to_be_visible()
    assert _values(_picture(page)) == [[*own, row[0]] for own, row in zip(before, told(WIDE), strict=True)]
    page.locator("#units-us").check()
    after = [values[-1] for values in _values(_picture(page))]
    assert after == [row[0] for row in told(WIDE, UnitSystem.US)]
    for panel in _picture(page).locator("g[data-panel]").all():
        expect(panel.locator(f"text:text-is('{WORDS}')")).to_have_count(1)
    expect(_picture(page).locator("desc")).to_contain_text(f"Chosen: {WORDS}: B minus A {after[0]}")


def test_the_interval_in_the_picture_lies_where_its_axis_says(context: BrowserContext, tmp_path: Path) -> None:
    page = _opened(context, tmp_path, compared(), "?window=3000-4400")
    panels = _picture(page).evaluate(PLACES)
    _held_by_the_axis(
        panels, [[window for window in one.windows if _is(window, WIDE)] for one in asked().findings.differences]
    )


def test_the_axis_grows_where_the_window_gains_more_than_it_holds(context: BrowserContext, tmp_path: Path) -> None:
    # Over the whole range the gains are a few N m, at the top up to twenty.
    broad = asked().findings.differences
    whole = max(broad[0].windows, key=lambda window: window.to_rpm - window.from_rpm)
    ends = (whole.from_rpm, whole.to_rpm)
    own = {one.of: [window for window in one.windows if _is(window, ends)] for one in broad}
    differences = tuple(replace(one, windows=tuple(own[one.of])) for one in compared().findings.differences)
    result = replace(compared(), findings=replace(compared().findings, differences=differences))
    page = _opened(context, tmp_path, result, "?window=6300-6900")
    panels = _picture(page).evaluate(PLACES)
    top = [[w for w in one.windows if _is(w, (6300.0, 6900.0))] for one in compared().findings.differences]
    _held_by_the_axis(panels, [[*own[one.of], *new] for one, new in zip(broad, top, strict=True)])
    for panel in panels:
        left, top_edge, right, bottom = panel["frame"]
        for mark in panel["whiskers"]:
            assert left < mark[0] < mark[2] < right
            assert top_edge < mark[1] < mark[3] < bottom


def _is(window: object, ends: tuple[float, float]) -> bool:
    return (window.from_rpm, window.to_rpm) == ends  # type: ignore[attr-defined] # a WindowGain


def _held_by_the_axis(panels: list[dict[str, list[list[float]]]], gains: list[list[object]]) -> None:
    """Every last whisker of a panel spans its interval, on the axis under the last panel."""
    (first, at_first), *_, (last, at_last) = panels[-1]["scale"]
    pixels = (at_last - at_first) / (last - first)
    for panel, own in zip(panels, gains, strict=True):
        for mark, gain in zip(panel["whiskers"][-len(own) :], own, strict=True):
            ends = [at_first + (end - first) * pixels for end in (gain.torque.low, gain.torque.high)]  # type: ignore[attr-defined] # a WindowGain
            # The half-width in the page is one that prints the same two digits.
            assert [mark[0], mark[2]] == pytest.approx(ends, abs=0.03 * (ends[1] - ends[0]))
            assert mark[0] + mark[2] == pytest.approx(sum(ends), abs=0.4)


def test_a_window_of_the_session_is_marked_in_the_picture_and_not_drawn_twice(
    context: BrowserContext, tmp_path: Path
) -> None:
    page = _opened(context, tmp_path, compared())  # begins with the first window of the session
    for panel in _picture(page).locator("g[data-panel]").all():
        expect(panel.locator("circle")).to_have_count(3)
        mark, first = panel.locator(".chosen-row").bounding_box(), panel.locator("circle").first.bounding_box()
        assert mark is not None
        assert first is not None
        assert mark["y"] + mark["height"] / 2 == pytest.approx(first["y"] + first["height"] / 2, abs=1.5)


def test_without_scripts_and_on_paper_the_picture_is_that_of_the_session(
    context: BrowserContext, tmp_path: Path
) -> None:
    page = _opened(context, tmp_path, compared(), "?window=3000-4400")
    page.emulate_media(media="print")
    expect(_picture(page)).to_have_count(1)
    expect(_picture(page).locator(".chosen-row")).to_have_count(0)
    assert [len(values) for values in _values(_picture(page))] == [3, 3, 3, 3]


def test_the_table_of_both_results_follows_in_the_report(context: BrowserContext, tmp_path: Path) -> None:
    page = _opened(context, tmp_path, compared(), "?window=3000-4400")
    page.locator("#both-results summary").click()
    _both_follow(page)


def test_the_table_of_both_results_follows_in_the_notebook_and_is_read_when_it_is_opened(
    served: Served, visit: Callable[..., Visit]
) -> None:
    seen = visit(served, "/", reduced_motion="reduce")
    page = session_page(seen)
    drag(page, *WIDE)
    assert not [one for one in seen.requests if "windows-with-all" in one]
    page.locator("#both-results summary").click()
    _both_follow(page)
    drag(page, 5000.0, 5600.0)
    expect(page.locator("table.left-out tbody.chosen td").first).to_have_text(typeset("5,000 to 5,600 rpm, chosen"))
    assert len([one for one in seen.requests if "windows-with-all" in one]) == 1


def _both_follow(page: Page) -> None:
    table = both_table(Telling(result=asked(), system=UnitSystem.METRIC))
    assert table is not None
    wanted = [row for row in table.rows if row[1] == rpm_range(*WIDE)]
    rows = page.locator("table.left-out:visible tbody.chosen tr")
    expect(rows).to_have_count(len(wanted))
    for row, (pair, window, *numbers) in zip(rows.all(), wanted, strict=True):
        cells = [typeset(text) for text in (pair, f"{window}, chosen", *numbers)]
        assert row.locator("th,td").all_text_contents() == cells


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_picture_and_table_are_accessible(scheme: str, width: int, served: Served, visit: Callable[..., Visit]) -> None:
    page = session_page(visit(served, "/", width, color_scheme=scheme, reduced_motion="reduce"))
    field = page.get_by_label("Upper end of the window, rpm")
    field.fill("4400")
    field.press("Enter")
    page.locator("#both-results summary").click()
    page.wait_for_selector("table.left-out tbody.chosen tr")
    assert violations(page) == []


def test_the_step_is_said_beside_the_fields(context: BrowserContext, tmp_path: Path) -> None:
    page = _opened(context, tmp_path, compared())
    expect(page.locator(".window-fields")).to_contain_text("in steps of 100")
