"""A folder that is dropped or chosen is opened, and the files in it are taken as if each had been dropped by itself."""

from __future__ import annotations

import tomllib
from itertools import count
from typing import TYPE_CHECKING, Final

import pytest
from browser.elements import bench, file_of, opened, recorded, settled, told_by
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_numbers: Final = count(1)  # no folder is used twice, not even by a test that is run once more

_FILES: Final = ("run-10.csv", "run-2.csv", "evening/run-1.csv", "evening/late/run-3.csv")
_HIDDEN: Final = (".DS_Store", "evening/.backup/run-1.csv", "Thumbs.db")


@pytest.fixture
def folder(busy_server: Served, request: pytest.FixtureRequest) -> Path:
    """A session with one pull on the disk."""
    return bench(busy_server, f"{request.node.originalname[5:50]}-{next(_numbers)}")


@pytest.fixture
def page(busy_server: Served, folder: Path, visit: Callable[..., Visit]) -> Page:
    """Its page."""
    seen = opened(visit, busy_server, folder)
    seen.forgive("ERR_FAILED")  # files that are kept from arriving by a test
    settled(seen.page)
    return seen.page


@pytest.fixture
def monday(tmp_path: Path) -> Path:
    """A folder of the bench, with folders in it and with what a system hides in folders."""
    top = tmp_path / "monday"
    for number, name in enumerate((*_FILES, *_HIDDEN)):
        path = top / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(file_of(number), encoding="utf-8")
    return top


def drop(page: Page, place: Locator, *paths: Path) -> None:
    """Let go of files and folders over something, as a person does who drags them from the system's own window."""
    place.scroll_into_view_if_needed()
    box = place.bounding_box()
    assert box is not None
    where = {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}
    data = {"items": [], "files": [str(path) for path in paths], "dragOperationsMask": 1}
    tools = page.context.new_cdp_session(page)
    for step in ("dragEnter", "dragOver", "drop"):
        tools.send("Input.dispatchDragEvent", {"type": step, **where, "data": data})


def run_order(folder: Path) -> list[tuple[str, str]]:
    values = tomllib.loads((folder / "session.toml").read_text(encoding="utf-8"))
    return [(pull["build"], pull["file"]) for pull in values["pull"]]


def texts(folder: Path) -> set[str]:
    return {path.read_text(encoding="utf-8") for path in (folder / "pulls").iterdir()}


def test_a_folder_dropped_on_a_build_gives_its_files_in_the_order_in_which_they_are_numbered(
    page: Page, folder: Path, monday: Path
) -> None:
    recorded(page, "#told")
    drop(page, page.locator('.targets [data-drop="B"]'), monday)
    expect(page.locator("#run-order .pull")).to_have_count(5)
    # Folders come where their names stand among those of the files: evening before run; two files of one name are both
    # kept, the second under another name.
    numbers = [
        _FILES.index(name) for name in ("evening/late/run-3.csv", "evening/run-1.csv", "run-2.csv", "run-10.csv")
    ]
    stored = [(build, (folder / file).read_text(encoding="utf-8")) for build, file in run_order(folder)[1:]]
    assert stored == [("B", file_of(number)) for number in numbers]
    expect(page.locator(".left-out")).to_have_text("Left out: 3 hidden files or folders.")
    settled(page)
    assert told_by(page)[0] == "4 files are on the way. Left out: 3 hidden files or folders."
    assert told_by(page)[-1] == "4 files have arrived."


def test_a_folder_and_files_beside_it_are_taken_together(
    page: Page, folder: Path, monday: Path, tmp_path: Path
) -> None:
    beside = tmp_path / ".hidden-but-meant.csv"
    beside.write_text(file_of(9), encoding="utf-8")
    drop(page, page.locator(".drop > .hint"), monday, beside)
    expect(page.locator("#files .card .assign").first).to_be_visible()
    settled(page)
    assert {file_of(number) for number in (0, 1, 2, 3, 9)} <= texts(folder)
    assert not {file_of(number) for number in (4, 5, 6)} & texts(folder)


def test_a_folder_is_chosen_by_keyboard(page: Page, folder: Path, monday: Path) -> None:
    page.locator("#pick-build").select_option("B")
    chooser = page.get_by_label("Choose a folder")
    page.locator("#pick-files").focus()
    page.keyboard.press("Tab")
    expect(chooser).to_be_focused()
    with page.expect_file_chooser() as asked:
        page.keyboard.press("Enter")
    asked.value.set_files(monday)
    expect(page.locator("#run-order .pull")).to_have_count(5)
    expect(page.locator(".left-out")).to_have_text("Left out: 3 hidden files or folders.")
    assert [build for build, _ in run_order(folder)[1:]] == ["B"] * 4


def test_an_empty_folder_says_so_and_the_words_go_with_the_next_files(page: Page, folder: Path, tmp_path: Path) -> None:
    (tmp_path / "nothing" / "in it").mkdir(parents=True)
    drop(page, page.locator(".drop > .hint"), tmp_path / "nothing")
    expect(page.locator(".left-out")).to_have_text("There is no file in it.")
    expect(page.locator("#told")).to_have_text("There is no file in it.")
    (tmp_path / "one.csv").write_text(file_of(1), encoding="utf-8")
    drop(page, page.locator(".drop > .hint"), tmp_path / "one.csv")
    expect(page.locator('.card[data-file="pulls/one.csv"]')).to_be_visible()
    expect(page.locator(".left-out")).to_have_text("")
    assert file_of(1) in texts(folder)


def test_of_more_than_two_thousand_files_the_first_are_taken_and_the_rest_is_counted(
    page: Page, tmp_path: Path
) -> None:
    top = tmp_path / "year"
    top.mkdir()
    for number in range(2_003):
        (top / f"{number:05}.csv").write_text("", encoding="utf-8")  # refused one by one, which is the fastest end
    page.route("**/files?name=*", lambda route: route.abort())
    drop(page, page.locator(".drop > .hint"), top)
    expect(page.locator(".left-out")).to_have_text("Left out: 3 beyond the first 2,000; hand the rest over by itself.")
    expect(page.locator(".queue > li")).to_have_count(2_000)
