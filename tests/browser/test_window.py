"""The rpm window: dragged, typed and moved by keys, on every chart and in every number of the page."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import pytest
from browser.accessibility import violations
from browser.window_page import WIDE, compared, drag, fields, plot_of, session_page, told
from opened_report import Opened
from playwright.sync_api import expect

from pullbook.publish.page import render_page
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Browser

    from pullbook.records.window_table import WindowStretch

pytestmark = [pytest.mark.browser, pytest.mark.slow]

TIMED: Final = """() => new Promise((done) => {
  const took = [];
  let began = 0;
  const figure = document.querySelector("#chart-torque");
  addEventListener("pointermove", () => { began = performance.now(); }, true);
  document.addEventListener("pullbook:window", () => requestAnimationFrame(() => {
    const channel = new MessageChannel();  // answers when the frame was painted
    channel.port1.onmessage = () => took.push(performance.now() - began);
    channel.port2.postMessage(null);
  }));
  addEventListener("pointerup", () => setTimeout(() => done(took), 100));
})"""


@pytest.fixture
def report(browser: Browser, tmp_path: Path) -> Iterator[Opened]:
    """The report, opened from a disk; at the end it may have asked for nothing and complained about nothing."""
    path = tmp_path / "report.html"
    path.write_text(render_page(compared()), encoding="utf-8")
    context = browser.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce")
    opened = Opened(context, path.as_uri())
    yield opened
    context.close()
    assert (opened.requests, opened.complaints) == ([path.as_uri()], [])


def test_dragging_sets_the_window_on_every_chart_and_in_every_number(report: Opened) -> None:
    page = report.live()
    drag(page, *WIDE)
    assert fields(page) == ["3000", "4400"]
    torque = [row[0] for row in told(WIDE)]
    expect(page.locator(".window-gains strong")).to_have_text(torque)
    rows = page.locator("div.metric tbody.chosen tr")
    for row, cells in zip(rows.all(), told(WIDE), strict=True):
        assert [cell.inner_text() for cell in row.locator("td").all()[1:]] == cells
    for key in ("torque", "power", "effects", "scatter"):
        across, _ = plot_of(page, key)
        for area in page.locator(f"#chart-{key} .window-area").all():
            box = area.bounding_box()
            assert box is not None
            assert (box["x"], box["x"] + box["width"]) == pytest.approx([across(rpm) for rpm in WIDE], abs=1.0)


def test_a_window_is_moved_from_inside_and_resized_at_its_ends(report: Opened) -> None:
    page = report.live()
    drag(page, *WIDE)
    drag(page, 3700.0, 4200.0)
    assert fields(page) == ["3500", "4900"]
    drag(page, 4900.0, 5600.0)
    assert fields(page) == ["3500", "5600"]
    drag(page, 3500.0, 6000.0)  # the lower end, past the upper
    assert fields(page) == ["5600", "6000"]
    drag(page, 2900.0, 2400.0, "power")
    assert fields(page) == ["2400", "2900"]


def test_dragging_takes_less_than_fifty_milliseconds_from_the_hand_to_the_screen(report: Opened) -> None:
    page = report.live()
    across, middle = plot_of(page)
    page.mouse.move(across(3000.0), middle)
    page.evaluate(f"() => {{ window.took = ({TIMED})(); }}")
    page.mouse.down()
    for rpm in range(3000, 6001, 100):
        page.mouse.move(across(float(rpm)), middle)
    page.mouse.up()
    took = sorted(page.evaluate("() => window.took"))
    assert len(took) > 20
    assert took[len(took) // 2] < 50.0, took


def test_the_window_is_moved_by_keys_and_by_typing(report: Opened) -> None:
    page = report.live()
    drag(page, *WIDE)
    upper = page.get_by_role("slider", name="Upper end of the window")
    upper.focus()
    for key, expected in (
        ("ArrowRight", ["3000", "4500"]), ("PageDown", ["3000", "4000"]), ("Shift+ArrowLeft", ["2900", "3900"]),
        ("End", ["2900", "6900"]), ("Home", ["2900", "3000"]),
    ):  # fmt: skip
        page.keyboard.press(key)
        assert fields(page) == expected, key
    expect(upper).to_have_attribute("aria-valuetext", "3,000 rpm")
    field = page.get_by_label("Upper end of the window, rpm")
    field.fill("5333")
    field.press("Enter")
    assert fields(page) == ["2900", "5300"]
    expect(page.locator(".window-status")).to_contain_text("2,900 to 5,300 rpm: B minus A")
    field.fill("")
    field.press("Enter")
    assert fields(page) == ["2900", "5300"]


def test_units_and_hidden_builds_are_followed(report: Opened) -> None:
    page = report.live()
    drag(page, *WIDE)
    page.locator("#units-us").check()
    torque = [row[0] for row in told(WIDE, UnitSystem.US)]
    expect(page.locator(".window-gains strong")).to_have_text(torque)
    page.get_by_label("Show build C").uncheck()
    expect(page.locator(".window-gains b")).to_have_text(["B \u2212 A", "D \u2212 A", "E \u2212 A"])


def test_charts_can_be_zoomed_to_the_window_and_back(report: Opened) -> None:
    page = report.live()
    drag(page, *WIDE)
    page.locator(".window-bar").get_by_role("button", name="Zoom").click()
    expect(page.locator("#chart-torque .plot")).to_have_attribute("data-rpm", "3000 4400")
    area = page.locator("#chart-torque .window-area").first.bounding_box()
    across, _ = plot_of(page)
    assert area is not None
    assert area["width"] == pytest.approx(across(4400.0) - across(3000.0), abs=1.0)
    page.get_by_role("button", name="Whole range").click()
    expect(page.locator("#chart-torque .plot")).to_have_attribute("data-rpm", "2100 6900")


def test_a_window_of_the_session_is_marked_in_the_table_and_not_told_twice(report: Opened) -> None:
    page = report.live()
    assert fields(page) == ["2200", "2800"]
    expect(page.locator("#windows div.metric tr.is-chosen")).to_have_count(4)
    expect(page.locator("#windows div.metric tbody.chosen tr")).to_have_count(0)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_the_line_and_the_handles_are_accessible(
    scheme: str, width: int, served: Served, visit: Callable[..., Visit]
) -> None:
    page = session_page(visit(served, "/", width, color_scheme=scheme, reduced_motion="reduce"))
    assert violations(page) == []


def test_the_notebook_keeps_the_window_in_its_address(served: Served, visit: Callable[..., Visit]) -> None:
    seen = visit(served, "/", reduced_motion="reduce")
    page = session_page(seen)
    before = len([one for one in seen.requests if "/api/" in one])
    drag(page, *WIDE)
    assert "window=3000-4400" in page.url
    assert len([one for one in seen.requests if "/api/" in one]) == before, "no question to the server"
    page.reload()
    page.wait_for_selector(".window-bar")
    assert fields(page) == ["3000", "4400"]
    expect(page.locator(".window-gains strong")).to_have_text([row[0] for row in told(WIDE)])


def test_a_window_across_a_gap_is_said_to_be_impossible(browser: Browser, tmp_path: Path) -> None:
    tables = []
    for table in compared().windows_any:
        (whole,) = table.stretches
        tables.append(replace(table, stretches=(_part(whole, 2100.0, 3400.0), _part(whole, 4000.0, 6900.0))))
    path = tmp_path / "gap.html"
    path.write_text(render_page(replace(compared(), windows_any=tuple(tables))), encoding="utf-8")
    context = browser.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce")
    page = Opened(context, path.as_uri()).live()
    drag(page, *WIDE)
    expect(page.locator(".window-gains")).to_have_text("Not measured throughout: a pull has a gap in this window.")
    drag(page, 4500.0, 5200.0)
    expect(page.locator(".window-gains strong")).to_have_count(4)
    context.close()


def _part(whole: WindowStretch, first: float, last: float) -> WindowStretch:
    """Part of a stretch; the half-widths are some or other."""
    ends = whole.ends_rpm[(whole.ends_rpm >= first) & (whole.ends_rpm <= last)]
    inside = (whole.speed_rpm >= first) & (whole.speed_rpm <= last)
    count = len(ends) * (len(ends) - 1) // 2
    some = {name: getattr(whole, name)[:count] for name in ("torque", "power", "percent", "check", "check_half")}
    return replace(
        whole,
        speed_rpm=whole.speed_rpm[inside],
        gain=whole.gain[inside],
        base=whole.base[inside],
        ends_rpm=ends,
        **some,
    )


def test_a_number_of_the_line_opens_where_it_came_from(report: Opened) -> None:
    page = report.live()
    drag(page, *WIDE)
    page.locator(".window-gains .more .q").nth(2).click()  # per cent of C, whose link is the torque beside it
    expect(page.locator("dialog#origin")).to_contain_text("C")
    page.keyboard.press("Escape")
    link = page.locator(".window-gains strong a").first
    link.focus()
    page.keyboard.press("Enter")
    expect(page.locator("dialog#origin")).to_contain_text("B")


def test_paper_shows_no_window(report: Opened) -> None:
    page = report.live()
    drag(page, *WIDE)
    page.emulate_media(media="print")
    for part in (".window-bar", ".window-layer.under", ".window-layer.over", "tbody.chosen"):
        for one in page.locator(part).all():
            expect(one).to_be_hidden()


def test_a_finger_drags_the_window_and_still_scrolls_the_page(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "touch.html"
    path.write_text(render_page(compared()), encoding="utf-8")
    context = browser.new_context(viewport={"width": 400, "height": 800}, has_touch=True, is_mobile=True)
    page = Opened(context, path.as_uri()).live()
    across, middle = plot_of(page)
    fingers = context.new_cdp_session(page)
    for kind, rpm, down in (("Start", 4000.0, 0.0), ("Move", 4300.0, 1.0), ("Move", 5000.0, 2.0), ("End", 5000.0, 2.0)):
        points = [] if kind == "End" else [{"x": across(rpm), "y": middle + down}]
        fingers.send("Input.dispatchTouchEvent", {"type": f"touch{kind}", "touchPoints": points})
    assert fields(page) == ["4000", "5000"]
    before = page.evaluate("scrollY")
    for kind, down in (("Start", 0.0), ("Move", -40.0), ("Move", -120.0), ("Move", -200.0), ("End", 0.0)):
        points = [] if kind == "End" else [{"x": across(3000.0), "y": middle + down}]
        fingers.send("Input.dispatchTouchEvent", {"type": f"touch{kind}", "touchPoints": points})
    page.wait_for_function("(before) => scrollY > before + 50", arg=before)
    assert fields(page) == ["4000", "5000"]
    context.close()


def test_other_findings_bring_their_own_numbers_and_keep_the_window(
    served: Served, visit: Callable[..., Visit]
) -> None:
    page = session_page(visit(served, "/", reduced_motion="reduce"))
    drag(page, *WIDE)
    page.locator("#units-us").check()
    torque = [row[0] for row in told(WIDE, UnitSystem.US)]
    expect(page.locator(".window-gains strong")).to_have_text(torque, timeout=90_000)
    assert fields(page) == ["3000", "4400"]
    assert "window=3000-4400" in page.url
    assert "units=us" in page.url


def test_numbers_of_other_findings_are_not_shown_while_the_new_ones_are_awaited(
    served: Served, visit: Callable[..., Visit]
) -> None:
    page = session_page(visit(served, "/", reduced_motion="reduce"))
    drag(page, *WIDE)
    page.route("**/windows.json", lambda route: route.abort())
    page.evaluate("""() => {
      const part = document.querySelector("[data-windows]"), fresh = part.cloneNode(true);
      fresh.querySelector(".window-bar").remove();
      fresh.dataset.windows += "?other";
      part.replaceWith(fresh);
      fresh.dispatchEvent(new CustomEvent("pullbook:changed", { bubbles: true }));
      const other = document.querySelector("[data-part=windows]");
      other.dispatchEvent(new CustomEvent("pullbook:changed", { bubbles: true }));
    }""")
    expect(page.locator(".window-bar")).to_have_count(0)
