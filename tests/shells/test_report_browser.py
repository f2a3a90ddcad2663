"""The report in a real browser: offline, whole without scripts, readable on a phone and by keyboard."""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING, Final

import pytest
from builders import make_result
from builders_crowd import make_crowd

from pullbook.publish.page import render_page

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, BrowserContext, Dialog, Page

pytestmark = pytest.mark.browser

_CHROMIUM: Final = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
WIDTHS: Final = (360, 768, 1280, 1920)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if _CHROMIUM is None:
        pytest.skip("no Chromium on this machine; `python3 tasks.py browser` installs one")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=_CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def reports(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder: Path = tmp_path_factory.mktemp("reports")
    made = {}
    for name, result in (("plain", make_result()), ("crowd", make_crowd())):
        for kind, interactive in (("", True), (" pictures", False)):
            path = folder / f"{name}{kind}.html"
            path.write_text(render_page(result, interactive=interactive), encoding="utf-8")
            made[f"{name}{kind}"] = path.as_uri()
    return made


class Opened:
    """A page with everything it asked for and complained about."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.page: Page = context.new_page()
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("dialog", self._refuse)
        self.page.goto(address)

    def _refuse(self, dialog: Dialog) -> None:
        self.complaints.append("a dialog opened")
        dialog.dismiss()

    def live(self) -> Page:
        """The page once its first chart can be hovered over."""
        self.page.locator("#chart-torque").scroll_into_view_if_needed()
        self.page.wait_for_selector("#chart-torque.is-live .plot .main-svg")
        return self.page


@pytest.fixture
def open_report(browser: Browser, reports: dict[str, str]) -> Iterator[Callable[..., Opened]]:
    contexts: list[BrowserContext] = []

    def opened(
        name: str = "plain",
        width: int = 1280,
        *,
        scheme: str = "light",
        scripts: bool = True,
        motion: str = "no-preference",
    ) -> Opened:
        context = browser.new_context(
            viewport={"width": width, "height": 900}, color_scheme=scheme, java_script_enabled=scripts,  # type: ignore[arg-type] # a literal type of playwright
            reduced_motion=motion, offline=True,  # type: ignore[arg-type] # as above
        )  # fmt: skip
        contexts.append(context)
        return Opened(context, reports[name])

    yield opened
    for context in contexts:
        context.close()


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
    page = open_report().page
    assert page.locator("#chart-torque .picture.wide:visible, #chart-torque .picture.middle:visible").count() > 0
    paint = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    assert paint < 1000.0  # ms; the whole point of the pictures
    page.wait_for_selector(".is-live .plot .main-svg")


def test_nothing_offers_to_share_or_upload(open_report: Callable[..., Opened]) -> None:
    page = open_report().live()
    page.locator("#chart-torque .plot").hover()
    assert page.locator("[data-title^=Share], [data-title*=cloud], .modebar-btn--logo, .plotlyjsicon").count() == 0
    assert page.locator(".modebar:visible").count() == 0


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
    page = open_report(motion="reduce").live()
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


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["plain", "crowd"])
def test_text_has_contrast_in_both_schemes(open_report: Callable[..., Opened], name: str, scheme: str) -> None:
    page = open_report(f"{name} pictures", 1280, scheme=scheme).page
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
        page = open_report(scheme=scheme).live()
        picture = page.evaluate("getComputedStyle(document.querySelector('#chart-torque .picture .l')).stroke")
        live = page.evaluate(
            "getComputedStyle(document.querySelector('#chart-torque .plot .scatterlayer .js-line')).stroke"
        )
        strokes.append((picture, live))
    assert strokes[0][0] != strokes[1][0]
    assert strokes[0][1] != strokes[1][1]


def test_the_printed_report_has_pictures_and_no_switches(open_report: Callable[..., Opened]) -> None:
    page = open_report(scheme="dark").live()
    page.emulate_media(media="print")
    for gone in (".units", ".contents", ".range", ".plot", ".toggle"):
        assert page.locator(f"{gone}:visible").count() == 0, gone
    assert page.locator("#chart-torque .picture:visible").count() == 1
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(253, 252, 248)"  # light paper
    assert page.evaluate("getComputedStyle(document.querySelector('figure')).breakInside") == "avoid"
    assert page.pdf(format="A4").startswith(b"%PDF")


def test_motion_is_left_out_where_the_reader_wants_none(open_report: Callable[..., Opened]) -> None:
    smooth = "getComputedStyle(document.documentElement).scrollBehavior"
    assert open_report(motion="no-preference").page.evaluate(smooth) == "smooth"
    assert open_report(motion="reduce").page.evaluate(smooth) == "auto"


@pytest.mark.parametrize("width", [360, 1280])
def test_what_can_be_pressed_is_large_enough_for_a_finger(open_report: Callable[..., Opened], width: int) -> None:
    page = open_report(width=width).live()
    for selector in (".units label", ".key label", ".range input", ".range button", "summary"):
        for element in page.locator(f"{selector}:visible").all():
            box = element.bounding_box()
            assert box is not None
            assert box["height"] >= 24.0, selector  # WCAG 2.2, 2.5.8
