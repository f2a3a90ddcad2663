"""The script modules of the page as a server gives them: strict policy, charts by address, parts put in anew."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from builders import make_result

from pullbook.publish.interactive import plotly_figure
from pullbook.publish.parts import charts_of
from pullbook.publish.scripts import plotly_source
from pullbook.publish.sections import PageParts, render_sections
from pullbook.publish.styles import page_styles
from pullbook.publish.telling import Telling

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser, Page, Route

pytestmark = pytest.mark.browser

_ORIGIN: Final = "http://127.0.0.1:9"  # nobody listens there: every request is answered by the test
_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src data: blob:; connect-src 'self'"
)
_START: Final = """
import { enliven, showRange, shownRange, startCharts } from "./page/charts.js";
import { addressLoader } from "./page/loader.js";
import { startOrigins } from "./page/origin.js";
startOrigins();
Object.assign(window, { enliven, showRange, shownRange, complaints: [] });
addEventListener("securitypolicyviolation", (event) => window.complaints.push(event.violatedDirective));
window.started = startCharts(addressLoader("/plotly.js"));
"""


@cache
def parts() -> PageParts:
    return render_sections(make_result())


def _answers() -> dict[str, tuple[str, str]]:
    """Content type and text for each address."""
    body = "".join(parts().sections.values())
    page = (
        '<!doctype html><html lang="en" data-system="metric"><head><title>t</title>'
        '<link rel="stylesheet" href="/a.css">'
        f'<script type="module" src="/start.js"></script></head><body><main data-charts="/charts/">{body}</main></body>'
    )
    folder = files("pullbook.publish").joinpath("static", "page")
    modules = {f"/page/{path.name}": path.read_text(encoding="utf-8") for path in folder.iterdir()}
    charts = {f"/charts/{key}.json": text for key, text in parts().charts.items()}
    return {
        "/": ("text/html", page), "/a.css": ("text/css", page_styles()), "/start.js": ("text/javascript", _START),
        "/plotly.js": ("text/javascript", plotly_source()),
        **{name: ("text/javascript", text) for name, text in modules.items()},
        **{name: ("application/json", text) for name, text in charts.items()},
    }  # fmt: skip


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    context = browser.new_context(viewport={"width": 1280, "height": 900})

    def opened(*missing: str, torque: str = "") -> Page:
        answers = _answers()
        if torque:
            answers["/charts/torque.json"] = ("application/json", torque)

        def answer(route: Route) -> None:
            address = route.request.url.removeprefix(_ORIGIN)
            if address in missing or address not in answers:
                route.fulfill(status=404, body="")
                return
            kind, text = answers[address]
            headers = {"content-type": f"{kind}; charset=utf-8", "content-security-policy": _POLICY}
            route.fulfill(status=200, headers=headers, body=text)

        page = context.new_page()
        page.route("**/*", answer)
        page.goto(_ORIGIN + "/")
        return page

    yield opened
    context.close()


def live(page: Page, key: str = "torque") -> None:
    page.locator(f"#chart-{key}").scroll_into_view_if_needed()
    page.wait_for_selector(f"#chart-{key}.is-live .plot .main-svg")


def until(page: Page, condition: str) -> None:
    """Wait until something holds in the page; Playwright's own way needs eval, which the policy forbids."""
    for _ in range(200):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never came true: {condition}")


def test_charts_by_address_are_the_figures_that_were_packed_digit_for_digit(open_page: Callable[..., Page]) -> None:
    page = open_page()
    drawn = charts_of(Telling(result=make_result()))
    for key in parts().charts:
        live(page, key)
        shown: list[dict[str, Any]] = page.evaluate(
            f"document.querySelector('#chart-{key} .plot').data.map(({{x, y, customdata, meta}}) => "
            "({x, y, customdata, meta}))"
        )
        wanted = plotly_figure(drawn[key])
        assert len(shown) == len(wanted["data"])
        for one, other in zip(shown, wanted["data"], strict=True):
            assert one["meta"] == other["meta"]
            assert one["x"] == other["x"]
            assert one.get("customdata") == other.get("customdata")
            ends = wanted["layout"]["yaxis" + other["yaxis"].removeprefix("y")]["range"]
            y, exact = (np.array([np.nan if value is None else value for value in part["y"]]) for part in (one, other))
            np.testing.assert_allclose(y, exact, atol=(ends[1] - ends[0]) / 10_000)
    assert page.evaluate("window.complaints") == []


def test_a_part_that_is_put_in_anew_comes_alive_and_what_was_there_is_disposed_of(
    open_page: Callable[..., Page],
) -> None:
    page = open_page()
    live(page)
    page.locator(".toggle[value=C]").uncheck()
    page.evaluate("showRange([3000, 5000])")
    until(page, "document.querySelector('#chart-torque .plot').dataset.rpm === '3000 5000'")
    page.evaluate(
        """(html) => { window.before = document.querySelector('#chart-torque .plot');
        const held = document.createElement('template'); held.innerHTML = html;
        document.querySelector('#curves').replaceWith(held.content); enliven(document); }""",
        parts().sections["curves"],
    )
    live(page)
    assert page.evaluate("window.before.data") is None  # given back
    assert page.evaluate("document.querySelectorAll('#chart-torque .plot').length") == 1
    assert page.locator("#chart-torque .plot").get_attribute("data-rpm") == "3000 5000"
    assert page.locator(".range .from").input_value() == "3000"
    assert not page.locator(".toggle[value=C]").is_checked()
    assert "C minus A" not in page.locator("#chart-torque .plot").inner_text()
    page.locator(".toggle[value=C]").check()
    until(page, "document.querySelector('#chart-torque .plot').innerText.includes('C minus A')")


def test_bringing_a_page_to_life_twice_makes_no_second_chart(open_page: Callable[..., Page]) -> None:
    page = open_page()
    live(page)
    page.evaluate("enliven(document); enliven(document.querySelector('#curves'))")
    page.wait_for_timeout(500)
    assert page.evaluate("document.querySelectorAll('#chart-torque .plot').length") == 1


def test_a_chart_is_asked_for_once_however_often_it_is_drawn(open_page: Callable[..., Page]) -> None:
    page = open_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.reload()
    live(page)
    for low in (3000, 3500, 4000):
        page.evaluate(f"showRange([{low}, 5000])")
        until(page, f"document.querySelector('#chart-torque .plot').dataset.rpm === '{low} 5000'")
    assert [url for url in asked if url.endswith("/torque.json")] == [f"{_ORIGIN}/charts/torque.json"]


def test_a_chart_whose_data_cannot_be_had_stays_a_picture(open_page: Callable[..., Page]) -> None:
    page = open_page("/charts/torque.json")
    live(page, "power")
    page.locator("#chart-torque").scroll_into_view_if_needed()
    page.wait_for_timeout(500)
    assert page.locator("#chart-torque .plot").count() == 0
    assert page.locator("#chart-torque .picture:visible").count() == 1


def test_without_the_chart_library_the_pictures_stay_and_no_switch_is_offered(open_page: Callable[..., Page]) -> None:
    page = open_page("/plotly.js")
    assert page.evaluate("window.started") is False
    assert page.locator("#chart-torque .picture:visible").count() == 1
    assert page.locator(".toggle:visible, .range:visible").count() == 0


def test_a_chart_follows_the_width_that_it_is_given(open_page: Callable[..., Page]) -> None:
    page = open_page()
    live(page)
    before = page.locator("#chart-torque .plot .main-svg").first.bounding_box()
    page.set_viewport_size({"width": 700, "height": 900})
    until(page, "document.querySelector('#chart-torque .plot .main-svg').getBoundingClientRect().width < 701")
    after = page.locator("#chart-torque .plot .main-svg").first.bounding_box()
    assert before is not None
    assert after is not None
    assert after["width"] < before["width"]
    area = [float(end) for end in str(page.locator("#chart-torque .plot").get_attribute("data-area")).split()]
    assert area[1] < after["width"]


def test_what_is_laid_over_a_chart_stays_when_it_is_drawn_again(open_page: Callable[..., Page]) -> None:
    page = open_page()
    live(page)
    page.evaluate(
        "document.querySelector('#chart-torque .plot').append(Object.assign(document.createElement('i'), {id: 'over'}))"
    )
    page.evaluate("showRange([3000, 5000])")
    until(page, "document.querySelector('#chart-torque .plot').dataset.rpm === '3000 5000'")
    assert page.locator("#chart-torque .plot #over").count() == 1


def test_labels_of_markers_lie_on_no_other_label(open_page: Callable[..., Page]) -> None:
    figure = json.loads(parts().charts["torque"])
    marker = next(trace for trace in figure["data"] if trace["meta"]["part"] == "marker" and trace["text"][0])
    for beside in (100.0, 250.0, 2500.0):
        figure["data"].append({**marker, "x": [marker["x"][0] + beside], "error_x": None})
    page = open_page(torque=json.dumps(figure))
    live(page)
    page.wait_for_timeout(300)
    panel = [one["key"] for one in figure["panels"]].index(marker["meta"]["panel"])
    assert page.locator(f"#chart-torque .plot .subplot.xy{panel + 1} .textpoint").count() >= 2
    faults = page.evaluate(
        """() => { const boxes = [...document.querySelectorAll('#chart-torque .plot .textpoint')]
          .map((text) => [text.textContent, text.getBoundingClientRect()]).filter(([, box]) => box.width);
        return boxes.flatMap(([one, a], i) => boxes.slice(i + 1).filter(([, b]) =>
          Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1
          && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1).map(([other]) => `${one} | ${other}`)); }"""
    )
    assert faults == []
