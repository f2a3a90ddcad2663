"""What happens under the hands of somebody who works on the page: nothing jumps, closes, or loses what is typed."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import pytest
from browser.bench_day import PULL, SESSION, opened, place
from browser.hands import ByMouse
from browser.walk import until
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def folder(own_server: Served) -> Path:
    """A session with four pulls, of which each has its own file."""
    made = place(own_server.root)
    more = ""
    for number, build in enumerate("BAB", start=2):
        name = f"pulls/{build.lower()}{number}.csv"
        (made / name).write_text(PULL.replace("150.", f"15{number}."), encoding="utf-8")
        more += f'[[pull]]\nbuild = "{build}"\nfile = "{name}"\n\n'
    (made / "session.toml").write_text(SESSION.replace("[[claim]]", f"{more}[[claim]]"), encoding="utf-8")
    return made


@pytest.fixture
def page(own_server: Served, folder: Path, visit: Callable[..., Visit]) -> Page:
    """Its page, with everything unfolded."""
    assert folder.is_dir()
    return opened(visit, own_server).page


def values(folder: Path) -> dict[str, Any]:
    return tomllib.loads((folder / "session.toml").read_text(encoding="utf-8"))


def files(folder: Path) -> list[str]:
    return [pull["file"] for pull in values(folder)["pull"]]


def test_builds_are_written_one_after_the_other_without_a_hand_on_the_mouse(page: Page, folder: Path) -> None:
    page.locator("#a-build-name").focus()
    for name in "CDEFG":
        page.keyboard.type(name)
        page.keyboard.press("Enter")
        expect(page.locator(f'[data-is="{name}"]')).to_have_count(1)
        expect(page.locator("#a-build-name")).to_be_focused()
        expect(page.locator("#a-build-name")).to_have_value("")
    assert [build["name"] for build in values(folder)["build"]] == list("ABCDEFG")


def test_what_is_typed_while_the_last_build_is_on_its_way_stays(page: Page, folder: Path) -> None:
    page.locator("#a-build-name").focus()
    page.keyboard.type("C")
    page.keyboard.press("Enter")
    page.keyboard.type("D two")
    expect(page.locator('[data-is="C"]')).to_have_count(1)
    expect(page.locator("#a-build-name")).to_be_focused()
    assert page.locator("#a-build-name").input_value().removeprefix("C") == "D two"
    assert [build["name"] for build in values(folder)["build"]] == list("ABC")


def test_a_half_written_build_holds_up_nothing_that_comes_from_elsewhere(page: Page, folder: Path) -> None:
    page.locator("#a-build-name").focus()
    page.keyboard.type("half")
    path = folder / "session.toml"
    path.write_text(path.read_text(encoding="utf-8") + '\n[[build]]\nname = "Z"\n', encoding="utf-8")
    expect(page.locator('[data-is="Z"]')).to_have_count(1)
    page.keyboard.type(" a name")
    expect(page.locator("#a-build-name")).to_have_value("half a name")


def test_a_build_that_is_called_otherwise_takes_its_pulls_and_claims_along(page: Page, folder: Path) -> None:
    name = page.locator('[data-at="build[2].name"]')
    name.fill("short")
    name.press("Tab")
    expect(page.locator("#run-2")).to_contain_text("short")
    expect(page.locator('[data-at="build[2].label"]')).to_be_focused()
    now = values(folder)
    assert [pull["build"] for pull in now["pull"]] == ["A", "short", "A", "short"]
    assert now["claim"][0]["of"] == "short"


def test_a_pull_that_is_moved_keeps_its_line_open_and_the_hand_on_its_button(page: Page, folder: Path) -> None:
    page.locator("#run-order details").evaluate_all("(all) => all.forEach((one) => { one.open = false; })")
    line = page.locator('[data-entry][data-is="pulls/a1.csv "]')
    line.locator("summary").click()
    line.get_by_role("button", name="Later").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    expect(page.locator("#run-3")).to_have_attribute("data-is", "pulls/a1.csv ")
    expect(line.get_by_role("button", name="Later")).to_be_focused()
    expect(line.locator("details")).to_have_attribute("open", "")
    page.keyboard.press("Enter")
    expect(page.locator("#run-4")).to_have_attribute("data-is", "pulls/a1.csv ")
    assert files(folder) == ["pulls/b2.csv", "pulls/a3.csv", "pulls/b4.csv", "pulls/a1.csv"]
    assert line.evaluate("(one) => one.contains(document.activeElement)")  # there is no later any more
    expect(page.locator("#run-order details[open]")).to_have_count(1)


def test_a_field_that_is_saved_keeps_its_place_open_and_the_focus(page: Page, folder: Path) -> None:
    for key, at in (("Enter", "pull[3].air.temperature"), ("Tab", "pull[3].air.pressure")):
        page.locator('[data-at="pull[3].air.temperature"]').focus()
        page.keyboard.press("Control+a")
        page.keyboard.type("24 degC" if key == "Enter" else "25 degC")
        page.keyboard.press(key)
        until(page, "it is saved", lambda: "air" in values(folder)["pull"][2])
        expect(page.locator('[data-at="pull[3].air.temperature"]')).not_to_have_attribute("data-was", "")
        expect(page.locator(f'[data-at="{at}"]')).to_be_focused()
        expect(page.locator("#line-of-3")).to_have_attribute("open", "")


def test_a_pull_is_left_out_and_taken_back_without_losing_the_place(page: Page, folder: Path) -> None:
    page.locator("#why-2").fill("the clutch slipped")
    page.locator("#why-2").press("Enter")
    expect(page.locator("#run-2 .left")).to_contain_text("the clutch slipped")
    assert page.evaluate("document.activeElement.closest('#run-2') !== null")
    page.get_by_role("button", name="Take it back").press("Enter")
    expect(page.locator("#run-2 .left")).to_have_count(0)
    assert page.evaluate("document.activeElement.closest('#run-2') !== null")
    assert "left_out" not in values(folder)["pull"][1]


def test_what_somebody_looks_at_stays_where_it_is_when_the_page_grows_above_it(page: Page, folder: Path) -> None:
    page.locator("#as-file").scroll_into_view_if_needed()
    page.evaluate("document.querySelector('#run-3').scrollIntoView({block: 'center', behavior: 'instant'})")
    before = page.locator("#run-3").bounding_box()
    path = folder / "session.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("date = 2026-05-04", 'date = "soon"\ninertia = "much"'), encoding="utf-8")
    expect(page.locator(".problems li")).to_have_count(2)
    after = page.locator("#run-3").bounding_box()
    assert before is not None
    assert after is not None
    assert abs(after["y"] - before["y"]) < 3.0


def test_thirty_files_that_are_dropped_on_a_build_become_its_pulls(
    own_server: Served, folder: Path, visit: Callable[..., Visit], tmp_path: Path
) -> None:
    seen = opened(visit, own_server)
    page = seen.page
    dropped = [tmp_path / f"run-{number:02d}.csv" for number in range(30)]
    for number, path in enumerate(dropped):
        path.write_text(PULL.replace("150.", f"{100 + number}."), encoding="utf-8")
    page.locator("#a-build-name").fill("half")
    target = page.locator('.targets [data-drop="B"]')
    ByMouse(page).give_files(target.locator("b"), dropped)
    until(page, "all are pulls", lambda: len(files(folder)) == 34, 60.0)
    expect(page.locator("#run-order .run > li")).to_have_count(34)
    expect(page.locator("#files .card progress")).to_have_count(0, timeout=60_000)
    expect(page.locator(".queue li")).to_have_count(0)
    expect(page.locator("#a-build-name")).to_have_value("half")
    assert files(folder)[4:] == [f"pulls/run-{number:02d}.csv" for number in range(30)]


def test_a_file_that_asks_first_becomes_a_pull_of_the_build_that_it_was_dropped_on(
    page: Page, folder: Path, tmp_path: Path
) -> None:
    doubtful = tmp_path / "b9.csv"
    doubtful.write_text(PULL.replace("engine speed [rpm],torque [N m]", "rpm,torque"), encoding="utf-8")
    ByMouse(page).give_files(page.locator('.targets [data-drop="B"] b'), [doubtful])
    expect(page.locator(".queue .wrong")).to_contain_text("answer the question on its card")
    form = page.locator('form.ask[data-settle*="b9.csv"]').first
    form.locator("input[type=radio]").first.check()
    form.get_by_role("button").click()
    until(page, "it is a pull", lambda: files(folder)[-1] == "pulls/b9.csv")
    assert values(folder)["pull"][-1]["build"] == "B"
