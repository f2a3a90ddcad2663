"""Parts of an open page are put in anew when something changed: what is under somebody's hands goes over to them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pytest
from browser.bench_day import SESSION
from browser.elements import bench, opened, settled
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

# A file whose torque has no unit, so that it leaves a question with several answers.
_ASKS: Final = "rpm,torque\n" + "".join(f"{2000 + 50 * n},{20 + n / 8:.3f}\n" for n in range(81))
MARK: Final = "(part) => { part.dataset.old = ''; }"


@pytest.fixture
def folder(busy_server: Served, request: pytest.FixtureRequest) -> Path:
    """A session on the disk."""
    return bench(busy_server, request.node.name[5:60], compared="chart" in request.node.name)


@pytest.fixture
def page(busy_server: Served, folder: Path, visit: Callable[..., Visit]) -> Page:
    """Its page."""
    seen = opened(visit, busy_server, folder)
    settled(seen.page)
    return seen.page


def text_of(folder: Path) -> str:
    return (folder / "session.toml").read_text(encoding="utf-8")


def change(folder: Path, old: str = "short runners", new: str = "shorter runners") -> None:
    """Change the file, as another program would."""
    assert old in text_of(folder)
    (folder / "session.toml").write_text(text_of(folder).replace(old, new), encoding="utf-8")


def part(page: Page, name: str) -> Locator:
    return page.locator(f"[data-part={name}]")


def marked(page: Page, name: str) -> Locator:
    """A part as it stands there now, so that its successor can be told from it."""
    part(page, name).evaluate(MARK)
    return page.locator(f"[data-part={name}]:not([data-old])")


def test_the_focus_and_the_place_in_a_field_stay(page: Page, folder: Path) -> None:
    page.locator("#setup > summary").click()
    field = page.locator("[data-at='build[1].label']")
    field.focus()
    field.evaluate("(one) => one.setSelectionRange(2, 6)")
    fresh = marked(page, "setup")
    change(folder)
    expect(fresh).to_be_attached()
    expect(page.locator("[data-at='build[2].label']")).to_have_value("shorter runners")
    expect(field).to_be_focused()
    assert field.evaluate("(one) => [one.selectionStart, one.selectionEnd]") == [2, 6]


def test_the_focus_stays_on_a_button_a_link_and_a_summary(page: Page, folder: Path) -> None:
    page.locator("#setup > summary").click()
    for number, (name, focused) in enumerate(
        [
            ("setup", page.locator("[data-add=build] button")),
            ("setup", page.locator("#setup > summary")),
            ("runsheet", page.locator("#line-of-1 > summary")),
            ("files", page.locator("#pick-build")),
            ("text", page.locator("#as-file > summary")),
        ]
    ):
        focused.focus()
        fresh = marked(page, name)
        change(folder, "A day" if not number else f"Day {number}", f"Day {number + 1}")
        expect(fresh).to_be_attached()
        expect(focused).to_be_focused()


def test_what_is_open_stays_open_and_what_is_closed_stays_closed(page: Page, folder: Path) -> None:
    for name in ("#setup", "#line-of-1", "#weather"):
        page.locator(f"{name} > summary").click()
    fresh = marked(page, "runsheet")
    change(folder)
    expect(fresh).to_be_attached()
    expect(marked(page, "setup").or_(part(page, "setup")).first).to_be_attached()
    for name in ("#setup", "#line-of-1", "#weather"):
        expect(page.locator(name)).to_have_attribute("open", "")
    expect(page.locator("#as-file")).not_to_have_attribute("open", "")
    page.locator("#setup > summary").click()
    fresh = marked(page, "setup")
    change(folder, "shorter", "short")
    expect(fresh).to_be_attached()
    expect(page.locator("#setup")).not_to_have_attribute("open", "")


def test_what_is_typed_into_forms_stays(page: Page, folder: Path) -> None:
    page.locator("#setup > summary").click()
    page.locator("#line-of-1 > summary").click()
    typed = {
        "#a-build-label": "with a spacer", "#a-claim-number": "12 kW", "#a-factor-levels": "one, two",
        "#why-1": "cold oil",
    }  # fmt: skip
    for field, text in typed.items():
        page.locator(field).fill(text)
    page.locator("#a-claim-quantity").select_option("power")
    setup, runsheet = marked(page, "setup"), marked(page, "runsheet")
    change(folder)
    expect(setup).to_be_attached()
    expect(runsheet).to_be_attached()
    for field, text in typed.items():
        expect(page.locator(field)).to_have_value(text)
    expect(page.locator("#a-claim-quantity")).to_have_value("power")
    expect(page.locator("[data-at='build[2].label']")).to_have_value("shorter runners")


def test_chosen_answers_and_builds_of_files_stay(page: Page, folder: Path) -> None:
    (folder / "pulls" / "asks.csv").write_text(_ASKS, encoding="utf-8")
    card = page.locator('.card[data-file="pulls/asks.csv"]')
    choice = card.locator("form.ask input[type=radio]").nth(1)
    choice.check()
    rule = choice.get_attribute("data-rule")
    page.locator("#pick-build").select_option("B")
    fresh = marked(page, "files")
    change(folder)
    expect(fresh).to_be_attached()
    expect(page.locator("#pick-build")).to_have_value("B")
    chosen = card.locator("input[type=radio]:checked")
    expect(chosen).to_have_count(1)
    assert chosen.get_attribute("data-rule") == rule


def test_a_part_that_is_typed_in_waits_and_is_brought_up_to_date_afterwards(page: Page, folder: Path) -> None:
    page.locator("#setup > summary").click()
    field = page.locator("[data-at='build[1].label']")
    field.focus()
    field.press("End")
    field.press_sequentially(", pol")
    fresh = marked(page, "setup")
    change(folder)
    expect(page.locator("#file .lines")).to_contain_text("shorter runners")  # other parts follow at once
    field.press_sequentially("ished")
    expect(field).to_have_value("long runners, polished")
    expect(fresh).to_have_count(0)
    field.press("Tab")
    expect(fresh).to_be_attached()
    expect(page.locator("[data-at='build[2].label']")).to_have_value("shorter runners")
    expect(field).to_have_value("long runners, polished")
    expect(page.locator("#file .lines")).to_contain_text("long runners, polished")
    assert 'label = "long runners, polished"' in text_of(folder)
    assert 'label = "shorter runners"' in text_of(folder)


def test_a_change_that_is_not_of_a_part_leaves_the_part_alone(page: Page, folder: Path) -> None:
    for name in ("setup", "text", "runsheet"):
        part(page, name).evaluate(MARK)
    (folder / "pulls" / "other.csv").write_text(_ASKS, encoding="utf-8")
    expect(page.locator('.card[data-file="pulls/other.csv"] form.ask').first).to_be_visible()
    for name in ("setup", "text", "runsheet"):
        expect(part(page, name)).to_have_attribute("data-old", "")


def test_what_somebody_looks_at_stays_where_it_is(page: Page, folder: Path) -> None:
    text = page.locator("#as-file > summary")
    text.focus()
    page.set_viewport_size({"width": 1280, "height": 500})
    text.scroll_into_view_if_needed()
    before = text.bounding_box()
    rows = "".join(f'\n[[build]]\nname = "X{n}"\nlevels = {{ runners = "260 mm" }}\n' for n in range(3))
    (folder / "session.toml").write_text(SESSION + rows, encoding="utf-8")
    expect(page.locator(".targets li")).to_have_count(5)
    after = text.bounding_box()
    assert before is not None
    assert after is not None
    assert abs(after["y"] - before["y"]) < 2.0, (before, after)


def test_charts_that_are_replaced_are_given_back_and_their_successors_come_alive(page: Page, folder: Path) -> None:
    figure = page.locator("#chart-torque")
    figure.scroll_into_view_if_needed()
    expect(page.locator("#chart-torque.is-live")).to_be_visible()
    page.evaluate("""() => {
      window.purged = [];
      const purge = Plotly.purge;
      Plotly.purge = (plot) => { window.purged.push(plot); return purge(plot); };
      window.plots = [...document.querySelectorAll("figure.is-live .plot")]; }""")
    alive = page.evaluate("window.plots.length")
    fresh = marked(page, "curves")
    change(folder)
    fresh.locator("#chart-torque").scroll_into_view_if_needed()
    expect(fresh.locator("#chart-torque.is-live")).to_be_visible()
    expect(fresh.locator("#chart-torque")).to_contain_text("shorter runners")
    page.wait_for_function("() => window.purged.length === window.plots.length")
    assert page.evaluate("window.plots.every((plot) => window.purged.includes(plot) && !plot.isConnected)")
    page.wait_for_function("(alive) => document.querySelectorAll('figure.is-live .plot').length >= alive", arg=alive)
    assert page.evaluate("[...document.querySelectorAll('figure.is-live')].every((one) => one.querySelector('.plot'))")
    assert fresh.locator("#chart-torque .plot").count() == 1


def test_a_page_that_missed_changes_while_the_notebook_was_away_catches_up(
    own_server: Served, visit: Callable[..., Visit]
) -> None:
    folder = bench(own_server, "away")
    seen = opened(visit, own_server, folder)
    seen.forgive("ERR_", "WebSocket", "Failed to fetch")
    page = seen.page
    settled(page)
    page.locator("#setup > summary").click()
    page.locator("#a-build-label").fill("with a spacer")
    own_server.kill()
    expect(page.locator("#news")).to_contain_text("does not answer")
    change(folder)
    own_server.restart()
    expect(page.locator("[data-at='build[2].label']")).to_have_value("shorter runners")
    expect(page.locator("#news")).to_have_text("")
    expect(page.locator("#a-build-label")).to_have_value("with a spacer")
