"""A job on the page: how far it is, stopped, run again after every way to end, told once to those who listen."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Final

import pytest
from browser.elements import Held, bench, file_of, opened, recorded, settled, told_by
from browser.walk import until
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SPEAKING: Final = "#told, #news, :is(pullbook-job, #findings-pending) :is([aria-live], [role=status], [role=alert])"


@pytest.fixture
def folder(busy_server: Served, request: pytest.FixtureRequest) -> Path:
    """A session of which findings can be made; no other has the same content."""
    made = bench(busy_server, request.node.name[5:60], compared=True)
    path = made / "session.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("by hand", made.name), encoding="utf-8")
    return made


@pytest.fixture
def held(busy_server: Served) -> Iterator[Held]:
    """Workers that stand still."""
    with Held(busy_server) as workers:
        yield workers


@pytest.fixture
def page(held: Held, busy_server: Served, folder: Path, visit: Callable[..., Visit]) -> Page:
    """Page of the session, which waits for its findings."""
    del held
    seen = opened(visit, busy_server, folder)
    seen.forgive("status of 422")
    return seen.page


def job_of(page: Page) -> Locator:
    return page.locator("#findings-pending pullbook-job")


def shown(page: Page) -> tuple[str, float, float]:
    """Words and bar of the comparison."""
    job = job_of(page)
    bar = job.locator("progress")
    return (
        job.locator(".doing").inner_text(),
        float(bar.evaluate("(one) => one.value")),
        float(bar.evaluate("(one) => one.max")),
    )


def test_progress_is_shown_in_words_and_as_a_bar(page: Page, held: Held) -> None:
    expect(job_of(page).locator(".doing")).to_have_text("waiting for a worker")
    expect(job_of(page).get_by_role("progressbar", name="Comparing")).to_be_visible()
    held.until_running(page, "page", done=1)
    job = held.job_on(page, "page")
    until(page, "the page shows where the job is", lambda: shown(page) == (job["doing"], job["done"], job["total"]))
    held.let_go()
    expect(page.locator("section#findings")).to_be_visible()
    expect(page.locator("pullbook-job")).to_have_count(0)


def test_a_stopped_job_stays_stopped_in_every_tab_until_somebody_tries_again(
    page: Page, held: Held, busy_server: Served, folder: Path, visit: Callable[..., Visit]
) -> None:
    held.until_running(page, "page")
    second = opened(visit, busy_server, folder).page
    page.get_by_role("button", name="Stop").click()
    for tab in (page, second):
        expect(job_of(tab)).to_contain_text("The comparison was stopped.")
        expect(job_of(tab).locator("progress")).to_have_count(0)
    held.let_go()
    page.reload()
    (folder / "pulls" / "other.csv").write_text(file_of(3), encoding="utf-8")  # the page asks for itself
    expect(page.locator('.card[data-file="pulls/other.csv"] svg')).to_be_visible()
    expect(job_of(page)).to_contain_text("The comparison was stopped.")
    second.get_by_role("button", name="Try again").click()
    for tab in (page, second):
        expect(tab.locator("section#findings")).to_be_visible()
        expect(tab.locator("pullbook-job")).to_have_count(0)


def test_a_job_whose_worker_was_killed_says_so_and_can_be_run_again(page: Page, held: Held) -> None:
    held.until_running(page, "page")
    held.kill()
    job = job_of(page)
    expect(job.locator(".lead")).to_contain_text("worker")
    expect(job).to_contain_text("Run it again")
    page.reload()
    job.get_by_role("button", name="Try again").click()
    expect(page.locator("section#findings")).to_be_visible()


def test_a_job_that_failed_says_why_and_can_be_run_again(page: Page, held: Held, folder: Path) -> None:
    held.until_running(page, "page")
    named = folder / "pulls" / "a1.csv"
    os.utime(named, (1, 1))  # another program wrote it anew, with the same content
    held.let_go()
    job = job_of(page)
    expect(job.locator(".lead")).to_contain_text("changed while they were read")
    job.get_by_role("button", name="Try again").click()
    expect(page.locator("section#findings")).to_be_visible()


def test_what_can_never_succeed_says_the_same_again_until_the_files_are_others(
    page: Page, held: Held, folder: Path
) -> None:
    held.let_go()
    settled(page)
    named = folder / "pulls" / "b2.csv"
    content = named.read_bytes()
    named.write_text("nobody measured anything\n", encoding="utf-8")
    lead = job_of(page).locator(".lead")
    expect(lead).to_be_visible()
    said = lead.inner_text()
    held.hold()
    page.get_by_role("button", name="Try again").click()
    expect(job_of(page).locator(".doing")).to_have_text("waiting for a worker")
    held.let_go()
    expect(lead).to_have_text(said)
    named.write_bytes(content)
    expect(page.locator("section#findings")).to_be_visible()


def test_a_listener_hears_of_a_job_when_it_begins_and_when_it_ends(page: Page, held: Held) -> None:
    expect(page.locator("#told")).to_have_text("Comparing.")
    recorded(page, SPEAKING)
    held.until_running(page, "page")
    held.let_go()
    expect(page.locator("section#findings")).to_be_visible()
    expect(page.locator("#told")).to_have_text("Comparing: done.")
    assert told_by(page) == ["Comparing: done."]


def test_a_listener_hears_that_a_job_was_stopped_and_that_it_begins_again(page: Page, held: Held) -> None:
    held.until_running(page, "page")
    recorded(page, SPEAKING)
    page.get_by_role("button", name="Stop").press("Enter")
    expect(page.locator("#told")).to_have_text("Comparing: stopped.")
    expect(page.get_by_role("button", name="Try again")).to_be_focused()  # where the other button was
    page.keyboard.press("Enter")
    expect(page.locator("#told")).to_have_text("Comparing.")
    held.let_go()
    expect(page.locator("#told")).to_have_text("Comparing: done.")
    assert told_by(page) == ["Comparing: stopped.", "Comparing.", "Comparing: done."]


def test_a_report_that_is_drawn_up_can_be_stopped_and_drawn_up_again(page: Page, held: Held) -> None:
    held.let_go()
    settled(page)
    held.hold()
    page.get_by_role("button", name="Draw it up").click()
    job = page.locator("#publish pullbook-job")
    expect(job.get_by_role("progressbar", name="Drawing up the report")).to_be_visible()
    job.get_by_role("button", name="Stop").click()
    expect(job).to_contain_text("Drawing up the report: stopped.")
    expect(job.locator("progress")).to_have_count(0)
    job.get_by_role("button", name="Try again").click()
    expect(job.get_by_role("progressbar", name="Drawing up the report")).to_be_visible()
    job.get_by_role("button", name="Stop").click()
    expect(job).to_contain_text("Drawing up the report: stopped.")


def test_a_file_whose_reader_was_killed_can_be_read_again(page: Page, held: Held, folder: Path) -> None:
    held.let_go()
    settled(page)
    held.hold()
    (folder / "pulls" / "other.csv").write_text(file_of(3, 30_000), encoding="utf-8")
    card = page.locator('.card[data-file="pulls/other.csv"]')
    expect(card.locator("progress")).to_be_visible()
    held.until_running(page, "read")
    held.kill()
    expect(card.locator(".wrong")).to_contain_text("worker")
    card.get_by_role("button", name="Read it again").click()
    expect(card.locator("svg")).to_be_visible()
