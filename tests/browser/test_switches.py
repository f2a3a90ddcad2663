"""Switches of the page: units, standard, pair. They stand in the address, so that a reload and a second tab show the
same; the last choice of units is remembered."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import parse_qs, urlsplit

import pytest
from browser.elements import bench, opened, settled
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture(scope="module")
def folder(busy_server: Served) -> Path:
    """A session of which findings can be made, in the air of the bench, read only by these tests."""
    made = bench(busy_server, "switches", compared=True)
    path = made / "session.toml"
    air = 'air = { temperature = "30 degC", pressure = "95 kPa", humidity = "40 %" }\n'
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r'(file = "pulls/.*"\n)', rf"\1{air}", text), encoding="utf-8")
    return made


@pytest.fixture
def page(busy_server: Served, folder: Path, visit: Callable[..., Visit]) -> Page:
    """Its page with its findings."""
    seen = opened(visit, busy_server, folder)
    shown(seen.page)
    return seen.page


def shown(page: Page) -> None:
    expect(page.locator("section#findings")).to_be_visible()
    settled(page)


def asked(page: Page) -> dict[str, str]:
    """What the address asks."""
    return {key: value[0] for key, value in parse_qs(urlsplit(page.url).query).items()}


def words(page: Page) -> str:
    return page.locator("section#findings").inner_text()


def unit(page: Page) -> str:
    return "us" if re.search(r"lb\W?ft", words(page)) else "metric" if re.search(r"N\W?m", words(page)) else "none"


def test_units_stand_in_the_address_and_outlast_a_reload_and_a_second_tab(page: Page) -> None:
    assert unit(page) == "metric"
    page.locator("#units-us").check()
    page.wait_for_url("**units=us*")
    expect(page.locator("section#findings")).to_contain_text(re.compile(r"lb\W?ft"))
    settled(page)
    assert asked(page) == {"units": "us"}
    assert unit(page) == "us"
    page.reload()
    shown(page)
    assert unit(page) == "us"
    expect(page.locator("#units-us")).to_be_checked()
    expect(page.locator("html")).to_have_attribute("data-system", "us")
    second = page.context.new_page()
    second.goto(page.url)
    shown(second)
    assert words(second) == words(page)


def test_the_last_choice_of_units_is_remembered_from_page_to_page(
    page: Page, busy_server: Served, visit: Callable[..., Visit]
) -> None:
    page.locator("#units-us").check()
    page.wait_for_url("**units=us*")
    later = page.context.new_page()
    later.goto(busy_server.address + "/")
    expect(later.locator("#units-us")).to_be_checked()
    later.goto(page.url.split("?")[0])
    shown(later)
    assert unit(later) == "us"
    later.goto(page.url.split("?")[0] + "?units=metric")  # an address that was handed on says what it shows
    shown(later)
    assert unit(later) == "metric"
    somebody_else = visit(busy_server, urlsplit(page.url).path).page
    shown(somebody_else)
    assert unit(somebody_else) == "metric"


def test_the_list_of_sessions_hands_the_units_on(page: Page, busy_server: Served) -> None:
    page.goto(busy_server.address + "/")
    row = page.locator("tr", has_text="switches")
    for system in ("us", "metric", "us"):  # the third time nothing else of the list is new
        page.locator(f"#units-{system}").check()
        page.wait_for_url(f"**units={system}*")
        expect(row.get_by_role("link")).to_have_attribute("href", re.compile(f"units={system}"))
        expect(row).not_to_contain_text("being compared")
    row.get_by_role("link").click()
    shown(page)
    assert unit(page) == "us"
    page.get_by_role("banner").get_by_role("link", name="Sessions").click()
    expect(page.locator("#units-us")).to_be_checked()


def test_the_standard_stands_in_the_address_and_changes_the_numbers(page: Page) -> None:
    before = words(page)
    page.get_by_label("Corrected to").select_option("SAE J1349")
    page.wait_for_url("**standard=*")
    expect(page.locator("section#findings")).to_be_visible()
    page.wait_for_function("(before) => document.querySelector('section#findings')?.innerText !== before", arg=before)
    settled(page)
    assert asked(page)["standard"] == "SAE J1349"
    corrected = words(page)
    assert corrected != before
    page.reload()
    shown(page)
    assert words(page) == corrected
    expect(page.get_by_label("Corrected to")).to_have_value("SAE J1349")
    page.get_by_label("Corrected to").select_option("")
    page.wait_for_function("(before) => document.querySelector('section#findings')?.innerText === before", arg=before)
    assert "standard" not in asked(page)


def test_the_pair_stands_in_the_address_and_turns_the_gain_round(page: Page) -> None:
    form = page.get_by_role("form", name="What is compared")
    expect(page.locator(".window-gains")).to_contain_text("B \u2212 A")
    form.get_by_label("compared with").select_option("B")
    form.get_by_label("Build").select_option("A")
    page.wait_for_function("() => location.search.includes('of=A') && location.search.includes('from=B')")
    expect(page.locator(".window-gains")).to_contain_text("A \u2212 B")
    settled(page)
    said = words(page)
    page.reload()
    shown(page)
    assert words(page) == said
    assert (asked(page)["of"], asked(page)["from"]) == ("A", "B")
    second = page.context.new_page()
    second.goto(page.url)
    shown(second)
    assert words(second) == said


def test_switches_add_up_and_keep_what_the_address_asks_besides(page: Page) -> None:
    page.goto(page.url.split("?")[0] + "?window=3000-4400#findings")
    shown(page)
    page.get_by_label("Corrected to").select_option("SAE J1349")
    page.wait_for_url("**standard=*")
    shown(page)
    page.locator("#units-us").check()
    page.wait_for_url("**units=us*")
    shown(page)
    assert asked(page) == {"standard": "SAE J1349", "units": "us", "window": "3000-4400"}
    assert page.url.endswith("#findings")
    expect(page.get_by_label("Lower end of the window, rpm")).to_have_value("3000")


def test_switching_back_and_forth_quickly_ends_at_the_last_choice(page: Page) -> None:
    for system in ("us", "metric", "us"):
        page.locator(f"#units-{system}").check()
    expect(page.locator("section#findings")).to_contain_text(re.compile(r"lb\W?ft"))
    settled(page)
    assert unit(page) == "us"
    assert asked(page) == {"units": "us"}
    expect(page.locator("#units-us")).to_be_checked()


def test_the_focus_stays_on_the_switch_that_was_used(page: Page) -> None:
    page.locator("#units-metric").focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("section#findings")).to_contain_text(re.compile(r"lb\W?ft"))
    settled(page)
    expect(page.locator("#units-us")).to_be_focused()
    choice = page.get_by_label("Corrected to")
    choice.focus()
    choice.select_option("SAE J1349")
    page.wait_for_url("**standard=*")
    shown(page)
    expect(choice).to_be_focused()
