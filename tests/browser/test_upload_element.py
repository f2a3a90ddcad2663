"""Files on their way: several at once, each with its own bar, its own end and its own mistake."""

from __future__ import annotations

import tomllib
from base64 import b64encode
from typing import TYPE_CHECKING, Final

import pytest
from browser.elements import Line, bench, file_of, opened, recorded, settled, told_by
from browser.hands import DROP
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

ROWS: Final = 6_000  # lines of a file that takes seconds on a slow line


@pytest.fixture
def folder(busy_server: Served, request: pytest.FixtureRequest) -> Path:
    """A session with one pull on the disk."""
    return bench(busy_server, request.node.name.split("[")[0][5:60])


@pytest.fixture
def page(busy_server: Served, folder: Path, visit: Callable[..., Visit]) -> Page:
    """Its page."""
    seen = opened(visit, busy_server, folder)
    seen.forgive("status of 422", "ERR_ABORTED")
    settled(seen.page)
    return seen.page


@pytest.fixture
def line(page: Page) -> Iterator[Line]:
    """Its line to the notebook."""
    made = Line(page)
    yield made
    made.free()


def drop(place: Locator, files: Mapping[str, str]) -> None:
    """Let files fall on something."""
    place.evaluate(DROP, [(name, "text/csv", b64encode(text.encode()).decode()) for name, text in files.items()])


def on_the_page(page: Page) -> Locator:
    """The place for files that are of no build yet."""
    return page.locator(".drop > .hint")


def pulls_of(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in (folder / "pulls").iterdir()}


def left_behind(folder: Path) -> list[str]:
    uploads = folder / ".pullbook" / "uploads"
    return [path.name for path in uploads.iterdir()] if uploads.is_dir() else []


def way_of(page: Page, name: str) -> Locator:
    """Line of a file that is on its way."""
    return page.locator(".queue > li", has=page.locator(".file", has_text=name))


HALF_WAY: Final = """(names) => {
  const bars = names.map((name) => document.querySelector(`progress[aria-label="Sending ${name}"]`));
  return bars.every((bar) => bar && bar.value > 0 && bar.value < 1); }"""


def test_several_files_are_sent_at_once_and_each_shows_its_own_progress(page: Page, folder: Path, line: Line) -> None:
    files = {f"run-{n}.csv": file_of(n, ROWS) for n in (1, 2, 3)}
    line.slow()
    drop(on_the_page(page), files)
    page.wait_for_function(HALF_WAY, arg=list(files))
    expect(page.locator(".queue .doing")).to_have_text(["on its way"] * 3)
    assert set(pulls_of(folder)) == {"a1.csv"}, "a file stands among the pulls when all of it is there"
    line.free()
    for name in files:
        expect(page.locator(f'.card[data-file="pulls/{name}"]')).to_contain_text("rpm")
    expect(page.locator(".queue > li")).to_have_count(0)
    assert {name: text for name, text in pulls_of(folder).items() if name != "a1.csv"} == files


def test_one_is_stopped_and_the_others_go_on(page: Page, folder: Path, line: Line) -> None:
    files = {f"run-{n}.csv": file_of(n, ROWS) for n in (1, 2, 3)}
    line.slow()
    drop(on_the_page(page), files)
    page.wait_for_function(HALF_WAY, arg=list(files))
    page.get_by_role("button", name="Stop sending run-2.csv").click()
    expect(page.locator(".queue .file")).to_have_text(["run-1.csv", "run-3.csv"])
    line.free()
    expect(page.locator(".queue > li")).to_have_count(0)
    settled(page)
    assert sorted(pulls_of(folder)) == ["a1.csv", "run-1.csv", "run-3.csv"]
    assert left_behind(folder) == []


def test_more_than_five_wait_for_their_turn_and_one_that_waits_can_be_stopped(
    page: Page, folder: Path, line: Line
) -> None:
    line.slow()
    drop(on_the_page(page), {f"run-{n}.csv": file_of(n, ROWS) for n in range(1, 8)})
    expect(page.locator(".queue .doing")).to_have_text(["on its way"] * 5 + ["waiting"] * 2)
    page.get_by_role("button", name="Stop sending run-7.csv").click()
    page.get_by_role("button", name="Stop sending run-1.csv").click()
    expect(page.locator(".queue .doing")).to_have_text(["on its way"] * 5)
    line.free()
    expect(page.locator(".queue > li")).to_have_count(0)
    assert sorted(pulls_of(folder)) == ["a1.csv", *(f"run-{n}.csv" for n in (2, 3, 4, 5, 6))]


def test_the_same_file_again_is_said_and_stored_once(page: Page, folder: Path) -> None:
    text = file_of(7)
    drop(on_the_page(page), {"monday.csv": text, "tuesday.csv": text})
    expect(page.locator(".queue > li")).to_have_count(1)
    expect(page.locator(".queue > li")).to_contain_text("is the same file as")
    assert list(pulls_of(folder).values()).count(text) == 1
    drop(on_the_page(page), {"third.csv": text})
    stored = next(name for name, held in pulls_of(folder).items() if held == text)
    expect(way_of(page, "third.csv")).to_contain_text(f"'third.csv' is the same file as pulls/{stored}")
    expect(page.locator(".queue > li")).to_have_count(1)  # what was said of earlier files has made room
    assert list(pulls_of(folder).values()).count(text) == 1
    way_of(page, "third.csv").get_by_role("button", name="Put away").click()
    expect(page.locator(".queue > li")).to_have_count(0)


def test_a_refused_file_says_why_until_it_is_put_away_and_the_others_arrive(page: Page, folder: Path) -> None:
    drop(on_the_page(page), {"empty.csv": "", "full.csv": file_of(1)})
    expect(page.locator('.card[data-file="pulls/full.csv"]')).to_be_visible()
    refused = way_of(page, "empty.csv")
    expect(refused.locator(".wrong")).to_have_text("The file is empty; export it again, or name another.")
    settled(page)
    expect(refused).to_be_visible()  # the part was drawn anew meanwhile
    refused.get_by_role("button", name="Put away").click()
    expect(refused).to_have_count(0)
    assert sorted(pulls_of(folder)) == ["a1.csv", "full.csv"]
    assert left_behind(folder) == []


def test_a_file_of_another_kind_is_kept_and_its_card_says_why_it_is_not_read(page: Page, folder: Path) -> None:
    drop(page.locator('.targets [data-drop="B"]'), {"letter.csv": "Dear tester,\nthe engine is fine.\n"})
    refused = way_of(page, "letter.csv")
    expect(refused.locator(".wrong")).to_be_visible()
    card = page.locator('.card[data-file="pulls/letter.csv"]')
    expect(card.locator(".wrong")).to_be_visible()
    refused.get_by_role("button", name="Put away").click()
    card.get_by_role("button", name="Put aside").click()
    expect(card).to_have_count(0)
    assert sorted(pulls_of(folder)) == ["a1.csv"]


def test_files_dropped_on_a_build_become_pulls_of_it(page: Page, folder: Path) -> None:
    target = page.locator('.targets [data-drop="B"]')
    target.evaluate("""(one) => {
      const carried = new DataTransfer();
      carried.items.add(new File(["1"], "b1.csv"));
      one.dispatchEvent(new DragEvent("dragover", {bubbles: true, cancelable: true, dataTransfer: carried})); }""")
    expect(target).to_have_class("is-over")
    drop(target, {"b1.csv": file_of(1), "b2.csv": file_of(2)})
    expect(page.locator("#run-order .pull")).to_have_count(3)
    expect(target).not_to_have_class("is-over")
    values = tomllib.loads((folder / "session.toml").read_text(encoding="utf-8"))
    named = sorted((pull["file"], pull["build"]) for pull in values["pull"])
    assert named == [("pulls/a1.csv", "A"), ("pulls/b1.csv", "B"), ("pulls/b2.csv", "B")]


def test_files_dropped_beside_the_place_are_taken_for_the_build_that_is_chosen(page: Page, folder: Path) -> None:
    here = page.url
    drop(page.locator("h1"), {"loose.csv": file_of(1)})
    expect(page.locator('.card[data-file="pulls/loose.csv"] .assign')).to_be_visible()
    page.locator("#pick-build").select_option("B")
    drop(page.locator("body"), {"mine.csv": file_of(2)})
    expect(page.locator("#run-order .pull")).to_have_count(2)
    assert 'file = "pulls/mine.csv"' in (folder / "session.toml").read_text(encoding="utf-8")
    assert page.locator("#pick-build").input_value() == "B"
    assert page.url == here


def test_chosen_files_go_to_the_chosen_build(page: Page, folder: Path) -> None:
    page.locator("#pick-build").select_option("B")
    page.locator("#pick-files").set_input_files({"name": "b1.csv", "mimeType": "", "buffer": file_of(1).encode()})
    expect(page.locator("#run-order .pull")).to_have_count(2)
    assert 'file = "pulls/b1.csv"' in (folder / "session.toml").read_text(encoding="utf-8")


def test_text_that_is_dragged_is_left_to_the_browser(page: Page) -> None:
    taken = """(place) => {
      const carried = new DataTransfer();
      carried.setData("text/plain", "2,400 rpm");
      return ["dragover", "drop"].map((step) =>
        !place.dispatchEvent(new DragEvent(step, {bubbles: true, cancelable: true, dataTransfer: carried}))); }"""
    assert page.locator("#setup input").first.evaluate(taken) == [False, False]
    assert on_the_page(page).evaluate(taken) == [False, False]


def test_forty_files_come_in_five_at_a_time_and_are_told_of_in_few_words(page: Page, folder: Path) -> None:
    page.evaluate("""() => {
      window.most = 0;
      new MutationObserver(() => {
        const going = [...document.querySelectorAll(".queue .doing")].filter((one) => one.textContent === "on its way");
        window.most = Math.max(window.most, going.length);
      }).observe(document.body, {subtree: true, childList: true, characterData: true}); }""")
    recorded(page, "[aria-live], [role=status]")
    files = {f"run-{n:02}.csv": file_of(n) for n in range(40)}
    drop(on_the_page(page), files)
    expect(page.locator('.card[data-file^="pulls/run-"]')).to_have_count(40)
    expect(page.locator(".queue > li")).to_have_count(0)
    settled(page)
    assert {name: text for name, text in pulls_of(folder).items() if name != "a1.csv"} == files
    assert page.evaluate("window.most") <= 5
    assert told_by(page) == ["40 files are on the way.", "40 files have arrived."]


def test_a_broken_connection_is_said_and_the_file_can_be_sent_again(
    own_server: Served, visit: Callable[..., Visit]
) -> None:
    folder = bench(own_server, "broken")
    seen = opened(visit, own_server, folder)
    seen.forgive("ERR_", "WebSocket", "Failed to fetch", "status of 403")
    page = seen.page
    settled(page)
    line = Line(page)
    line.slow()
    drop(on_the_page(page), {"run-1.csv": file_of(1, ROWS)})
    page.wait_for_function(HALF_WAY, arg=["run-1.csv"])
    own_server.kill()
    way = way_of(page, "run-1.csv")
    expect(way.locator(".wrong")).to_contain_text("connection broke")
    way.get_by_role("button", name="Send again: run-1.csv").click()
    expect(way.locator(".wrong")).to_contain_text("connection broke")
    own_server.restart()
    line.free()
    way.get_by_role("button", name="Send again: run-1.csv").click()
    expect(page.locator('.card[data-file="pulls/run-1.csv"]')).to_be_visible()
    expect(way).to_have_count(0)
    assert pulls_of(folder)["run-1.csv"] == file_of(1, ROWS)


def test_the_line_of_a_file_and_the_focus_on_it_outlast_a_change_of_the_part(
    page: Page, folder: Path, line: Line
) -> None:
    line.slow()
    drop(on_the_page(page), {"run-1.csv": file_of(1, ROWS)})
    page.wait_for_function(HALF_WAY, arg=["run-1.csv"])
    stop = page.get_by_role("button", name="Stop sending run-1.csv")
    stop.focus()
    (folder / "pulls" / "other.csv").write_text(file_of(2), encoding="utf-8")
    expect(page.locator('.card[data-file="pulls/other.csv"]')).to_be_visible()
    expect(page.locator('progress[aria-label="Sending run-1.csv"]')).to_be_visible()
    expect(stop).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator(".queue > li")).to_have_count(0)


def test_leaving_the_page_while_files_are_on_their_way_asks_first(page: Page, line: Line) -> None:
    asks = "() => !dispatchEvent(new Event('beforeunload', {cancelable: true}))"
    assert not page.evaluate(asks)
    line.slow()
    drop(on_the_page(page), {"run-1.csv": file_of(1, ROWS)})
    page.wait_for_function(HALF_WAY, arg=["run-1.csv"])
    assert page.evaluate(asks)
    line.free()
    expect(page.locator('.card[data-file="pulls/run-1.csv"]')).to_be_visible()
    expect(page.locator(".queue > li")).to_have_count(0)
    assert not page.evaluate(asks)


def test_a_name_is_shown_as_it_is_and_never_as_markup(page: Page, folder: Path) -> None:
    name = '<img src=x onerror="document.title=1">.csv'
    drop(on_the_page(page), {name: ""})
    expect(way_of(page, "img src=x").locator(".file")).to_have_text(name)
    expect(page.locator(".queue img")).to_have_count(0)
    assert sorted(pulls_of(folder)) == ["a1.csv"]
