"""The report in a real browser: offline, whole without scripts, live with them, and all of it by keyboard."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from opened_report import Opened

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("name", ["plain", "crowd"])
def test_report_opens_offline_asks_for_nothing_and_does_not_complain(
    open_report: Callable[..., Opened], name: str
) -> None:
    opened = open_report(name)
    page = opened.live()
    for figure in page.locator("figure.chart").all():
        figure.scroll_into_view_if_needed()
    page.wait_for_timeout(800)
    assert [url for url in opened.requests if not url.startswith(("file:", "blob:", "data:"))] == []
    assert len([url for url in opened.requests if url.startswith("file:")]) == 1
    assert opened.complaints == []


def test_first_chart_is_a_picture_before_the_chart_library_is_read(open_report: Callable[..., Opened]) -> None:
    opened = open_report()
    page = opened.page
    assert page.locator("#chart-torque .picture:visible").count() == 1
    paint = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    parsed = page.evaluate("performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd")
    assert paint < 1000.0  # ms
    assert parsed < 1000.0  # ms; by now every picture stands in the page, and the library is still only text
    opened.live()


def test_nothing_offers_to_share_or_upload(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    page.locator("#chart-torque .plot").hover()
    assert page.locator("[data-title^=Share], [data-title*=cloud], .modebar-btn--logo, .plotlyjsicon").count() == 0
    assert page.locator(".modebar:visible").count() == 0


def test_without_scripts_the_report_is_whole_and_units_switch(open_report: Callable[..., Opened]) -> None:
    page = open_report(scripts=False).page
    findings = page.locator("#findings")
    assert "6.0\u00a0±\u00a02.2\u00a0N\u00a0m" in findings.inner_text()
    for section in (
        "question",
        "findings",
        "curves",
        "windows",
        "claims",
        "effects",
        "pulls",
        "method",
        "cautions",
        "provenance",
    ):
        assert page.locator(f"#{section}").is_visible()
    assert not page.locator(".toggle, .range").first.is_visible()
    page.locator("label:has(#units-us)").click()
    assert "4.4\u00a0±\u00a01.6\u00a0lb\u00a0ft" in findings.inner_text()
    for section in ("findings", "curves", "windows", "effects"):
        assert "N\u00a0m" not in page.locator(f"#{section}").inner_text()


def test_units_switch_charts_too_and_are_remembered(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    assert "torque, N m" in page.locator("#chart-torque .plot").inner_text()
    page.locator("label:has(#units-us)").click()
    page.wait_for_function("document.querySelector('#chart-torque .plot').innerText.includes('torque, lb ft')")
    page.reload()
    assert page.locator("#units-us").is_checked()


def test_zoom_by_keyboard_moves_all_charts_and_can_be_undone(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    page.locator("#chart-power").scroll_into_view_if_needed()
    page.wait_for_selector("#chart-power.is-live")
    page.locator(".range .from").fill("4000")
    page.keyboard.press("Enter")
    ranges = "['torque', 'power'].map((key) => document.querySelector(`#chart-${key} .plot`).layout.xaxis.range[0])"
    page.wait_for_function(f"({ranges}).every((low) => low === 4000)")
    page.locator(".range .reset").click()
    page.wait_for_function(f"({ranges}).every((low) => low === 2000)")
    assert page.locator(".range .from").input_value() == "2000"


def test_hiding_a_build_takes_its_curve_and_its_difference_away(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    plot = page.locator("#chart-torque .plot")
    before = plot.bounding_box()
    page.locator(".toggle[value=C]").uncheck()
    page.wait_for_function("!document.querySelector('#chart-torque .plot').innerText.includes('C minus A')")
    after = plot.bounding_box()
    assert before is not None
    assert after is not None
    assert after["height"] < before["height"] - 100.0
    shown = page.evaluate(
        "document.querySelector('#chart-torque .plot').data"
        ".filter((trace) => trace.visible && trace.meta.builds.includes('C')).length"
    )
    assert shown == 0


def test_hovering_reads_curves_and_differences_at_one_speed(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    plot = page.locator("#chart-torque .plot")
    plot.hover(position={"x": 300, "y": 150})
    page.wait_for_selector("#chart-torque .hoverlayer text")
    page.wait_for_function("document.querySelector('#chart-torque .hoverlayer').textContent.includes('B\u2212A')")
    read = page.locator("#chart-torque .hoverlayer").text_content() or ""
    assert re.search(r"\d,\d{3} rpm", read)
    assert len(re.findall(r"\(\S+ to \S+\) N m", read)) == 4 + 3  # four curves, three differences, each with its band


def test_everything_can_be_reached_by_keyboard_with_visible_focus(open_report: Callable[..., Opened]) -> None:
    page = open_report(reduced_motion="reduce").live()
    reached: list[str] = []
    page.locator("body").press("Home")
    page.evaluate("document.activeElement.blur()")
    for _ in range(80):
        page.keyboard.press("Tab")
        found = page.evaluate(
            """() => { const e = document.activeElement; if (!e || e === document.body) return null;
            const mark = e.type === 'radio' ? e.nextElementSibling : e; const style = getComputedStyle(mark);
            return [e.id || e.className || e.tagName, style.outlineStyle, parseFloat(style.outlineWidth)]; }"""
        )
        if found is None:
            break
        reached.append(found[0])
        assert found[1] != "none", found
        assert found[2] >= 2, found
    for wanted in ("skip", "units-metric", "toggle", "from", "to"):
        assert wanted in reached, reached
    assert reached[0] == "skip"


def test_on_a_touch_screen_a_chart_does_not_trap_the_finger(open_report: Callable[..., Opened]) -> None:
    page = open_report("plain", 360, has_touch=True, is_mobile=True).live()
    assert page.evaluate("document.querySelector('#chart-torque .plot').layout.dragmode") is False
    assert page.locator(".fine-only:visible").count() == 0


def test_a_number_opens_what_stands_behind_it_by_pointer_and_by_keyboard(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    link = page.locator("#findings .comparison").first.locator("a.q").first
    said = link.inner_text()
    link.focus()
    page.keyboard.press("Enter")
    dialog = page.locator("dialog#origin")
    assert dialog.get_by_role("heading").first.inner_text() == said
    assert page.evaluate("document.activeElement.id") == "origin-title"
    told = dialog.inner_text()
    for pull in ("pulls/a1.csv", "pulls/b1.csv", "pulls/b3.csv"):  # the first comparison is B with A; b3 was left out
        assert pull in told
    assert "pulls/c1.csv" not in told
    assert "2 to 768" in told  # rows of the file: 767 samples of builders.make_pull from row 2
    assert "SAE J1349" in told
    dialog.get_by_text("assumed").click()
    assert page.locator("#method #assumptions + ul li").first.inner_text() in dialog.inner_text()
    page.keyboard.press("Escape")
    assert not dialog.is_visible()
    assert page.evaluate("document.activeElement.textContent") == said


def test_any_number_of_a_statement_can_be_clicked(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    row = page.locator("table.windows:visible tbody:not(.chosen) tr").first
    number = row.locator("span.q").last
    said = number.inner_text()
    number.click()
    dialog = page.locator("dialog#origin")
    assert dialog.get_by_role("heading").first.inner_text() == said
    dialog.get_by_role("button", name="Close").click()
    assert not dialog.is_visible()


def test_without_scripts_a_number_leads_to_its_origin(open_report: Callable[..., Opened]) -> None:
    page = open_report(scripts=False).page
    page.locator("#claims a.q:visible").first.click()
    assert page.locator("#provenance .origin:target").is_visible()


def test_a_pull_in_the_dialog_leads_to_its_recipe(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    page.locator("#effects a.q:visible").first.click()
    page.locator("dialog#origin").get_by_role("link", name="pulls/b1.csv").click()
    assert not page.locator("dialog#origin").is_visible()
    page.wait_for_selector("details.source[open]:has(.file:text('pulls/b1.csv')) .steps")


def test_charts_say_where_their_axis_lies_and_tell_when_they_are_drawn(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    plot = page.locator("#chart-torque .plot")
    assert plot.get_attribute("data-rpm") == "2000 6500"
    left, right = (float(end) for end in str(plot.get_attribute("data-area")).split())
    frame = page.evaluate(
        """() => { const plot = document.querySelector('#chart-torque .plot').getBoundingClientRect();
        const box = document.querySelector('#chart-torque .plot .nsewdrag, #chart-torque .plot .bglayer .bg')
          .getBoundingClientRect();
        return [box.left - plot.left, box.right - plot.left]; }"""
    )
    assert [left, right] == pytest.approx(frame, abs=1.5)
    page.evaluate(
        "addEventListener('pullbook:drawn', ({ detail }) => { if (detail.key === 'torque') window.told = detail.rpm; })"
    )
    page.locator(".range .from").fill("4000")
    page.keyboard.press("Enter")
    page.wait_for_function("window.told && window.told[0] === 4000")
    assert plot.get_attribute("data-rpm") == "4000 6500"


def test_pictures_say_where_their_axis_lies(open_report: Callable[..., Opened]) -> None:
    page = open_report("plain pictures", scripts=False).page
    faults = page.evaluate(
        """() => [...document.querySelectorAll('svg.picture[data-rpm]')].filter((svg) => {
          if (!svg.getBoundingClientRect().width) return false;
          const boxes = [...svg.querySelectorAll('rect.box')];
          const panels = svg.dataset.panels.split(' ').map(Number), area = svg.dataset.area.split(' ').map(Number);
          return !boxes.length || boxes.some((box, i) => {
            const { x, y, width, height } = box.getBBox();
            return Math.max(Math.abs(x - area[0]), Math.abs(x + width - area[1]), Math.abs(y - panels[2 * i]),
              Math.abs(y + height - panels[2 * i + 1])) > 0.2;
          });
        }).map((svg) => svg.id)"""
    )
    assert faults == []
    assert page.locator("#chart-torque svg.picture[data-rpm='2000 6500']").count() == 6  # three sizes, two unit systems
