"""The report as it looks in a real browser: no width scrolls sideways, no text is cut off, contrast, print, dark."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from opened_report import Opened

pytestmark = pytest.mark.browser


WIDTHS = (360, 768, 1280, 1920)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["plain", "crowd"])
def test_no_width_scrolls_sideways_and_one_picture_of_each_chart_shows(
    open_report: Callable[..., Opened], name: str, width: int
) -> None:
    page = open_report(f"{name} pictures", width, scripts=False).page
    box = page.locator("html").bounding_box()
    widest = max(
        (
            element["x"] + element["width"]
            for part in page.locator("main > section").all()
            if (element := part.bounding_box())
        ),
        default=0.0,
    )
    assert box is not None
    assert box["width"] <= width
    assert widest <= width
    for figure in page.locator("figure.chart").all():
        assert figure.locator(".picture:visible").count() == 1


@pytest.mark.parametrize(("name", "width"), [("plain", 360), ("crowd", 360), ("crowd", 1280)])
def test_live_page_does_not_scroll_sideways_either(open_report: Callable[..., Opened], name: str, width: int) -> None:
    page = open_report(name, width).live()
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["plain", "crowd"])
def test_no_text_of_a_picture_is_cut_off_or_lies_on_other_text(
    open_report: Callable[..., Opened], name: str, width: int
) -> None:
    page = open_report(f"{name} pictures", width).page
    faults = page.evaluate(
        """() => [...document.querySelectorAll('svg.picture')].filter((svg) => svg.getBoundingClientRect().width > 0)
        .flatMap((svg) => {
          const frame = svg.getBoundingClientRect();
          const scale = frame.width / svg.viewBox.baseVal.width;
          const texts = [...svg.querySelectorAll('text')]
            .map((text) => [text.textContent, text.getBoundingClientRect()]);
          const out = texts.filter(([, box]) => box.left < frame.left - 1 || box.right > frame.right + 1
            || box.top < frame.top - 1 || box.bottom > frame.bottom + 1).map(([text]) => `cut off: ${text}`);
          texts.forEach(([one, a], i) => texts.slice(i + 1).forEach(([other, b]) => {
            const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
            const tall = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
            if (wide > 2 * scale && tall > 4 * scale) out.push(`${one} | ${other}`);
          }));
          return out.map((fault) => `${svg.classList[1]} ${svg.querySelector('title').textContent}: ${fault}`);
        })"""
    )
    assert faults == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["plain", "crowd"])
def test_text_has_contrast_in_both_schemes(open_report: Callable[..., Opened], name: str, scheme: str) -> None:
    page = open_report(f"{name} pictures", 1280, color_scheme=scheme).page
    faults = page.evaluate(
        """() => {
        const channel = (c) => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
        const luminance = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
        const numbers = (text) => (text.match(/[\\d.]+/g) || []).map(Number);
        const ground = (e) => { for (; e; e = e.parentElement) { const c = numbers(getComputedStyle(e).backgroundColor);
          if (c.length === 3 || c[3] > 0.5) return c; } return [255, 255, 255]; };
        const faults = [];
        document.querySelectorAll('body *').forEach((e) => {
          if (![...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim())) return;
          const box = e.getBoundingClientRect();
          if (!box.width || e.closest('script, style, title, desc, defs') || e.disabled) return;
          const style = getComputedStyle(e);
          if (parseFloat(style.opacity) < 1) faults.push(`opacity ${e.textContent}`);
          const ink = numbers(e instanceof SVGElement ? style.fill : style.color);
          const [a, b] = [luminance(ink), luminance(ground(e))].sort((x, y) => y - x);
          const ratio = (a + 0.05) / (b + 0.05);
          if (ratio < 4.5) faults.push(`${ratio.toFixed(2)} ${e.textContent.slice(0, 40)}`);
        });
        return faults; }"""
    )
    assert faults == []


def test_the_dark_scheme_recolours_pictures_and_live_charts(open_report: Callable[..., Opened]) -> None:
    strokes = []
    for scheme in ("light", "dark"):
        page = open_report(color_scheme=scheme).live()
        picture = page.evaluate("getComputedStyle(document.querySelector('#chart-torque .picture .l')).stroke")
        live = page.evaluate(
            "getComputedStyle(document.querySelector('#chart-torque .plot .scatterlayer .js-line')).stroke"
        )
        strokes.append((picture, live))
    assert strokes[0][0] != strokes[1][0]
    assert strokes[0][1] != strokes[1][1]


def test_the_printed_report_has_pictures_and_no_switches(open_report: Callable[..., Opened]) -> None:
    page = open_report(color_scheme="dark").live()
    page.emulate_media(media="print")
    for gone in (".units", ".contents", ".range", ".plot", ".toggle"):
        assert page.locator(f"{gone}:visible").count() == 0, gone
    assert page.locator("#chart-torque .picture:visible").count() == 1
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(253, 252, 248)"  # light paper
    assert page.evaluate("getComputedStyle(document.querySelector('figure')).breakInside") == "avoid"
    assert page.pdf(format="A4").startswith(b"%PDF")


def test_motion_is_left_out_where_the_reader_wants_none(open_report: Callable[..., Opened]) -> None:
    smooth = "getComputedStyle(document.documentElement).scrollBehavior"
    assert open_report(reduced_motion="no-preference").page.evaluate(smooth) == "smooth"
    assert open_report(reduced_motion="reduce").page.evaluate(smooth) == "auto"


@pytest.mark.parametrize("width", [360, 1280])
def test_what_can_be_pressed_is_large_enough_for_a_finger(open_report: Callable[..., Opened], width: int) -> None:
    page = open_report(width=width).live()
    for selector in (".units label", ".key label", ".range input", ".range button", "summary"):
        for element in page.locator(f"{selector}:visible").all():
            box = element.bounding_box()
            assert box is not None
            assert box["height"] >= 24.0, selector  # WCAG 2.2, 2.5.8


def test_labels_of_the_live_chart_are_not_cut_off_on_a_phone(open_report: Callable[..., Opened]) -> None:
    page = open_report("plain", 360).live()
    faults = page.evaluate(
        """() => { const frame = document.querySelector('#chart-torque .plot').getBoundingClientRect();
        return [...document.querySelectorAll('#chart-torque .plot text')].filter((text) => text.textContent.trim())
        .map((text) => [text.textContent, text.getBoundingClientRect()])
        .filter(([, box]) => box.width && (box.left < frame.left - 1 || box.right > frame.right + 1))
        .map(([text]) => text); }"""
    )
    assert faults == []
