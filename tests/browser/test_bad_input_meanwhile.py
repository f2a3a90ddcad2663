"""File, folder, disk, server or workers change while somebody types: nothing that was typed is lost."""

from __future__ import annotations

import os
import resource
import signal
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final

import pytest
from browser.bench_day import PULL, SESSION, assert_refused, opened, place, unfold
from browser.conftest import write
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_AWAY: Final = ("ERR_CONNECTION", "WebSocket", "Failed to fetch", "ERR_EMPTY_RESPONSE", "ERR_SOCKET")
_PATIENCE: Final = 60_000  # ms


@pytest.fixture
def folder(own_server: Served) -> Path:
    """The session on the disk."""
    return place(own_server.root)


@pytest.fixture
def seen(own_server: Served, folder: Path, visit: Callable[..., Visit]) -> Visit:
    """A visit to its page, with everything unfolded."""
    assert folder.is_dir()
    return opened(visit, own_server)


def text_of(folder: Path) -> str:
    return (folder / "session.toml").read_text(encoding="utf-8")


def change(folder: Path, *pairs: tuple[str, str]) -> str:
    """Change the file as another program does."""
    text = text_of(folder)
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    (folder / "session.toml").write_text(text, encoding="utf-8")
    return text


def type_into(page: Page, at: str, text: str) -> None:
    """Write into a field and stay in it."""
    field = page.locator(f'[data-at="{at}"]')
    field.click()
    field.fill(text)
    expect(field).to_be_focused()


def test_another_field_of_the_same_part_follows_while_somebody_types(seen: Visit, folder: Path) -> None:
    page = seen.page
    type_into(page, "build[2].label", "very short")
    change(folder, ("long runners", "long pipes"))
    expect(page.locator('[data-at="build[1].label"]')).to_have_value("long pipes")
    expect(page.locator('[data-at="build[2].label"]')).to_have_value("very short")
    expect(page.locator('[data-at="build[2].label"]')).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.locator('[data-at="build[2].label"]')).to_have_attribute("data-was", "very short")
    assert text_of(folder) == SESSION.replace("long runners", "long pipes").replace('"short runners"', '"very short"')


@pytest.mark.parametrize("chosen", ["Write mine", "Keep that of the file"])
def test_both_versions_of_one_field_are_shown_and_either_can_be_chosen(seen: Visit, folder: Path, chosen: str) -> None:
    page = seen.page
    type_into(page, "session.title", "Typed here")
    other = change(folder, ("A day on the bench", "Written there"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Written there")
    page.keyboard.press("Tab")
    field = page.locator('[data-at="session.title"]')
    assert_refused(field, "Written there", "Typed here")
    expect(field).to_have_value("Typed here")
    assert text_of(folder) == other
    page.get_by_role("button", name=chosen).click()
    expect(field).not_to_have_attribute("aria-invalid", "true")
    expect(field).to_be_focused()
    title = "Typed here" if chosen == "Write mine" else "Written there"
    expect(field).to_have_value(title)
    expect(page.get_by_role("heading", level=1)).to_have_text(title)
    assert text_of(folder) == SESSION.replace("A day on the bench", title)


@pytest.mark.parametrize("mine", [True, False], ids=["mine", "theirs"])
def test_both_whole_texts_are_shown_and_either_can_be_chosen(seen: Visit, folder: Path, *, mine: bool) -> None:
    page = seen.page
    text = page.locator("#whole-text")
    typed = SESSION.replace("Do short runners pay?", "Typed here?")
    text.fill(typed)
    other = change(folder, ("A day on the bench", "Written there"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Written there")
    page.get_by_role("button", name="Save the file").click()
    assert_refused(text, "somebody else")
    expect(page.locator("#whole-text-theirs")).to_have_value(other)
    assert text.input_value() == typed
    assert text_of(folder) == other
    if mine:
        page.get_by_role("button", name="Save the file").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("A day on the bench")
        assert text_of(folder) == typed
    else:
        page.get_by_role("button", name="Keep that of the file").click()
        expect(text).to_have_value(other)
        assert text_of(folder) == other
    expect(page.locator("#whole-text-theirs")).to_have_count(0)
    kept = list((folder / ".pullbook" / "kept").glob("*.toml"))
    assert [path.read_text(encoding="utf-8") for path in kept] == [typed]


def test_what_is_typed_goes_to_its_own_line_though_another_came_before_it(seen: Visit, folder: Path) -> None:
    page = seen.page
    type_into(page, "pull[1].air.pressure", "99.2 kPa")
    (folder / "pulls" / "a0.csv").write_text(PULL.replace("150.", "151."), encoding="utf-8")
    change(folder, ("[[pull]]", '[[pull]]\nbuild = "B"\nfile = "pulls/a0.csv"\n\n[[pull]]'))
    page.wait_for_timeout(1_500)
    page.keyboard.press("Tab")
    expect(page.locator('[data-at="pull[2].air.pressure"]')).to_have_attribute("data-was", "99.2 kPa")
    assert 'file = "pulls/a1.csv"\nair = { pressure = "99.2 kPa" }' in text_of(folder)
    assert 'file = "pulls/a0.csv"\n\n' in text_of(folder)


def test_two_tabs_that_change_the_same_line_show_both_versions(
    seen: Visit, own_server: Served, folder: Path, visit: Callable[..., Visit]
) -> None:
    first, second = seen.page, opened(visit, own_server).page
    type_into(first, "claim[1].at_least", "9 kW")
    type_into(second, "claim[1].at_least", "7 kW")
    second.keyboard.press("Tab")
    expect(second.locator('[data-at="claim[1].at_least"]')).to_have_attribute("data-was", "7 kW")
    first.keyboard.press("Tab")
    field = first.locator('[data-at="claim[1].at_least"]')
    assert_refused(field, "7 kW", "9 kW")
    first.get_by_role("button", name="Write mine").click()
    expect(second.locator('[data-at="claim[1].at_least"]')).to_have_value("9 kW")
    assert text_of(folder) == SESSION.replace('at_least = "8 kW"', 'at_least = "9 kW"')


def test_a_folder_that_vanishes_takes_nothing_typed_with_it_and_may_come_back(seen: Visit, folder: Path) -> None:
    page = seen.page
    seen.forgive("status of 404")
    form = page.locator('form[data-add="build"]')
    form.locator("[name=name]").fill("C")
    type_into(page, "session.title", "Typed here")
    away = folder.rename(folder.parents[1] / "away")
    expect(page.locator("#news")).to_contain_text("no such session")
    expect(page.locator("#news")).to_contain_text("renamed or moved")
    page.keyboard.press("Tab")
    assert_refused(page.locator('[data-at="session.title"]'), "no such session")
    expect(page.locator('[data-at="session.title"]')).to_have_value("Typed here")
    expect(form.locator("[name=name]")).to_have_value("C")
    assert not folder.exists()
    away.rename(folder)
    expect(page.locator("#news")).to_be_empty()
    page.locator('[data-at="session.title"]').press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Typed here")
    expect(form.locator("[name=name]")).to_have_value("C")
    assert text_of(folder) == SESSION.replace("A day on the bench", "Typed here")


@contextmanager
def full_disk(server: Served) -> Iterator[None]:
    """No file of the server may grow beyond a few bytes, as the kernel sees to it: every write fails half way."""
    before = resource.prlimit(server.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(server.pid, resource.RLIMIT_FSIZE, (100, before[1]))
    try:
        yield
    finally:
        resource.prlimit(server.pid, resource.RLIMIT_FSIZE, before)


def test_a_disk_that_takes_no_more_is_told_and_leaves_everything_as_it_was(
    seen: Visit, own_server: Served, folder: Path, tmp_path: Path
) -> None:
    page = seen.page
    seen.forgive("507")
    (tmp_path / "b1.csv").write_text(PULL.replace("150.", "140."), encoding="utf-8")
    with full_disk(own_server):
        type_into(page, "session.title", "Typed here")
        page.keyboard.press("Tab")
        assert_refused(page.locator('[data-at="session.title"]'), "cannot be written", "free space")
        expect(page.locator('[data-at="session.title"]')).to_have_value("Typed here")
        page.locator("#pick-files").set_input_files(tmp_path / "b1.csv")
        expect(page.locator(".queue .wrong")).to_contain_text("The disk is full; make room")
    assert text_of(folder) == SESSION
    assert [path.name for path in (folder / "pulls").iterdir()] == ["a1.csv"]
    assert list(folder.glob(".session-*")) == []
    page.locator('[data-at="session.title"]').press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Typed here")


def test_a_page_is_whole_after_the_server_was_started_again(seen: Visit, own_server: Served, folder: Path) -> None:
    page = seen.page
    seen.forgive(*_AWAY, "status of 403")
    form = page.locator('form[data-add="build"]')
    form.locator("[name=name]").fill("C")
    type_into(page, "session.title", "Typed here")
    own_server.kill()
    expect(page.locator("#news")).to_contain_text("does not answer")
    page.keyboard.press("Tab")
    assert_refused(page.locator('[data-at="session.title"]'), "does not answer")
    assert text_of(folder) == SESSION
    own_server.restart()
    expect(page.locator("html")).to_have_attribute("data-connected", "", timeout=_PATIENCE)
    expect(page.locator("#news")).to_be_empty()
    expect(page.locator('[data-at="session.title"]')).to_have_value("Typed here")
    expect(form.locator("[name=name]")).to_have_value("C")
    page.locator('[data-at="session.title"]').press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Typed here")
    form.get_by_role("button").click()
    expect(page.locator('[data-at="build[3].name"]')).to_have_value("C")


def test_a_worker_that_dies_is_told_and_the_job_runs_again(
    own_server: Served, visit: Callable[..., Visit], demo_files: dict[str, bytes]
) -> None:
    write(own_server.root / "demo", demo_files)
    seen = visit(own_server, reduced_motion="reduce")
    page = seen.page
    page.locator("#sessions a").first.click()
    again = page.locator("#findings-pending [data-retry]")
    for _ in range(400):
        for worker in own_server.workers():
            with suppress(ProcessLookupError):
                os.kill(worker, signal.SIGKILL)
        page.wait_for_timeout(50)
        if again.count():
            break
    expect(again).to_be_visible(timeout=_PATIENCE)
    expect(page.locator("#findings-pending .refused")).to_contain_text("ended from outside")
    again.click()
    expect(page.locator("section#findings")).to_be_visible(timeout=_PATIENCE)
    expect(page.locator("#findings-pending")).to_have_count(0)
    unfold(page)
