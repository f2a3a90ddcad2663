"""A claim as a sentence with a number in it: what is chosen stands in the file, in words and as keys."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import pytest
from browser.elements import bench, opened, settled
from browser.walk import until
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def folder(busy_server: Served, request: pytest.FixtureRequest) -> Path:
    """A session with one claim."""
    return bench(busy_server, request.node.name.split("[")[0][5:60] + str(abs(hash(request.node.name)) % 1000))


@pytest.fixture
def page(busy_server: Served, folder: Path, visit: Callable[..., Visit]) -> Page:
    """Its page with the claims unfolded."""
    seen = opened(visit, busy_server, folder)
    seen.forgive("status of 422", "status of 409")
    settled(seen.page)
    seen.page.locator("#setup > summary").click()
    return seen.page


def claims(folder: Path) -> list[dict[str, Any]]:
    return list(tomllib.loads((folder / "session.toml").read_text(encoding="utf-8")).get("claim", []))


def form(page: Page) -> Locator:
    return page.locator("form[data-claim]")


def state(page: Page, folder: Path, **words: str) -> dict[str, Any]:
    """State a claim, and give what the file holds of it."""
    before = len(claims(folder))
    for name, value in words.items():
        one = form(page).locator(f"[name='{name.rstrip('_')}']")
        if one.evaluate("(field) => field.tagName") == "SELECT":
            one.select_option(value)
        else:
            one.fill(value)
    form(page).get_by_role("button", name="Add the claim").click()
    until(page, "the claim is in the file", lambda: len(claims(folder)) > before)
    expect(page.locator("[data-claim-id]")).to_have_count(before + 1)
    return claims(folder)[-1]


@pytest.mark.parametrize(
    ("words", "sentence", "keys"),
    [
        (
            {"number": "8 kW", "quantity": "power"},
            "B has at least 8 kW more power than A at the peak",
            {"at_least": "8 kW", "quantity": "power", "where": "peak", "of": "B", "from": "A"},
        ),
        (
            {"limit": "at_most", "number": "-2 N m", "where": "2000..3000 rpm"},
            "B has at most -2 N m more torque than A over 2000..3000 rpm",
            {"at_most": "-2 N m", "quantity": "torque", "where": "2000..3000 rpm", "of": "B", "from": "A"},
        ),
        (
            {"of": "A", "from_": "B", "limit": "within", "number": "3 %", "where": "4200 rpm"},
            "A and B are no more than 3 % of torque apart at 4200 rpm",
            {"within": "3 %", "quantity": "torque", "where": "4200 rpm", "of": "A", "from": "B"},
        ),
    ],
    ids=["at least", "at most", "within"],
)
def test_the_sentence_of_the_form_becomes_a_claim_of_the_file(
    page: Page, folder: Path, words: dict[str, str], sentence: str, keys: dict[str, str]
) -> None:
    claim = state(page, folder, **words)
    told = {key: value for key, value in claim.items() if key != "id"}
    assert told == {"says": sentence, **keys}
    expect(page.locator("[data-at='claim[2].says']")).to_have_value(sentence)


def test_a_claim_is_kept_in_the_words_in_which_it_was_said(page: Page, folder: Path) -> None:
    claim = state(
        page, folder, number="10 kW", quantity="power", says="Kurze Rohre: \u201ezehn Kilowatt\u201c <b>oben</b>"
    )
    assert claim["says"] == "Kurze Rohre: \u201ezehn Kilowatt\u201c <b>oben</b>"
    assert claim["id"] == "kurze-rohre-zehn-kilowatt-b-oben-b"
    expect(page.locator("[data-at='claim[2].says']")).to_have_value(claim["says"])


def test_the_same_sentence_twice_gets_names_that_differ(page: Page, folder: Path) -> None:
    first = state(page, folder, number="8 kW", quantity="power")
    second = state(page, folder, number="8 kW", quantity="power")
    assert first["says"] == second["says"]
    assert second["id"] == f"{first['id']}-2"


def test_the_form_is_empty_and_in_focus_for_the_next_claim(page: Page, folder: Path) -> None:
    state(page, folder, number="8 kW", quantity="power", says="It pays")
    expect(form(page).locator("[name=number]")).to_have_value("")
    expect(form(page).locator("[name=says]")).to_have_value("")
    expect(form(page).locator("[name=where]")).to_have_value("peak")
    page.wait_for_function("() => document.querySelector('form[data-claim]').contains(document.activeElement)")


@pytest.mark.parametrize("number", ["8", "8 bananas", "8 N m"])
def test_a_number_that_is_none_of_its_quantity_is_refused_at_its_place(page: Page, folder: Path, number: str) -> None:
    before = (folder / "session.toml").read_bytes()
    form(page).locator("[name=quantity]").select_option("power")
    field = form(page).locator("[name=number]")
    field.fill(number)
    form(page).get_by_role("button").click()
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_be_focused()
    expect(field).to_have_value(number)
    assert (folder / "session.toml").read_bytes() == before


def test_the_kind_of_limit_of_a_claim_is_changed_with_its_number(page: Page, folder: Path) -> None:
    page.locator("[data-limit='claim[1]']").select_option("at_most")
    until(page, "the limit is another", lambda: claims(folder)[0].get("at_most") == "8 kW")
    assert "at_least" not in claims(folder)[0]
    expect(page.locator("[data-at='claim[1].at_most']")).to_have_value("8 kW")


def test_a_claim_whose_sentence_was_made_of_its_numbers_follows_them(page: Page, folder: Path) -> None:
    state(page, folder, number="8 kW", quantity="power")
    number = page.locator("[data-at='claim[2].at_least']")
    number.fill("12 kW")
    number.press("Tab")
    sentence = "B has at least 12 kW more power than A at the peak"
    until(page, "the sentence says the number", lambda: claims(folder)[1]["says"] == sentence)
    expect(page.locator("[data-at='claim[2].says']")).to_have_value(sentence)
    page.locator("[data-limit='claim[2]']").select_option("at_most")
    sentence = "B has at most 12 kW more power than A at the peak"
    until(page, "the sentence says the limit", lambda: claims(folder)[1]["says"] == sentence)
    page.locator("[data-at='claim[1].at_least']").fill("9 kW")
    page.keyboard.press("Tab")
    until(page, "the number is in the file", lambda: claims(folder)[0]["at_least"] == "9 kW")
    assert claims(folder)[0]["says"] == "Short runners are worth 8 kW", "what somebody said is theirs to change"


def test_a_claim_is_taken_out_with_a_second_press(page: Page, folder: Path) -> None:
    button = page.locator("button[data-remove='claim[1]']")
    button.click()
    expect(button).to_have_text("Take out the claim Short runners are worth 8 kW?")
    assert len(claims(folder)) == 1
    button.click()
    until(page, "the claim is gone", lambda: claims(folder) == [])
    expect(page.locator("[data-claim-id]")).to_have_count(0)
