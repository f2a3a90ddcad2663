"""The whole way of a tester, from an empty folder and logs of a bench to a published report: mouse, keyboard."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser.accessibility import violations
from browser.bench_logs import write_logs
from browser.hands import ByKeyboard, ByMouse
from browser.walk import Walk, choose_window, look_behind, switch_units, until
from playwright.sync_api import expect

from pullbook.cli.main import _status

if TYPE_CHECKING:
    from collections.abc import Callable

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Browser, Page

# Build, file and number in it, in the order in which they were made.
_PULLS = (
    ("A", "run-6", 1),
    ("B", "three-pulls", 1),
    ("A", "run-6", 2),
    ("B", "three-pulls", 2),
    ("B", "three-pulls", 3),
)

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Logs of an engine brake: real ones, or invented ones where the real ones are not beside this repository."""
    real = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "engine-brake-logs"
    return real if real.is_dir() else write_logs(tmp_path_factory.mktemp("logs"))


@pytest.mark.parametrize(
    "hands",
    [pytest.param(ByMouse, id="mouse"), pytest.param(ByKeyboard, id="keyboard", marks=pytest.mark.thorough)],
)
def test_a_tester_walks_from_an_empty_folder_to_a_published_report(
    hands: type[ByMouse | ByKeyboard],
    own_server: Served,
    visit: Callable[..., Visit],
    browser: Browser,
    logs: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    seen = visit(own_server, reduced_motion="reduce")
    seen.forgive("status of 422", "status of 409")  # refusals, which are looked at on the page
    page = seen.page
    expect(page.locator("#sessions")).to_contain_text("No session yet")
    assert_accessible(page)
    walk = Walk(hands(page), own_server.root)
    describe(walk)
    assert_accessible(page)
    edit_by_hand(walk)
    bring_files(walk, logs)
    read_findings(walk, capsys)
    assert_accessible(page)
    report = walk.publish()
    assert_opens_without_a_network(browser, report)


def describe(walk: Walk) -> None:
    """Title, engine, what is changed, builds, a claim, limits."""
    walk.make_session("Two fuel maps on a small four", "Does map B pull harder than map A?")
    walk.state("session.date", "2026-05-04", lambda v: v["session"]["date"], dt.date(2026, 5, 4))
    walk.state("session.standard", "none", lambda v: v["session"]["standard"])
    walk.state("engine.displacement", "0.6 L", lambda v: v["engine"]["displacement"])
    walk.add_factor("map", "one, two", "5 min")
    walk.add_build("A", "map one", "one")
    walk.add_build("B", "map two", "two")
    assert walk.values["build"][1]["levels"] == {"map": "two"}
    walk.add_claim("B", "A", "at least", "1 %", "11000..13000 rpm")
    walk.state("limits.mixture", "0.70..1.40 lambda", lambda v: v["limits"]["mixture"])
    refuse_a_wrong_value(walk)


def refuse_a_wrong_value(walk: Walk) -> None:
    """A wrong value keeps what was typed, marks the field, says the remedy and changes nothing on the disk."""
    before = (walk.folder / "session.toml").read_bytes()
    field = walk.field("engine.displacement")
    walk.hands.write(field, "large")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_have_value("large")
    assert (walk.folder / "session.toml").read_bytes() == before
    walk.hands.write(field, "0.6 L")
    expect(field).not_to_have_attribute("aria-invalid", "true")


def edit_by_hand(walk: Walk) -> None:
    """Another program changes the file: the page shows it within a second, a wrong line at its place."""
    path, page = walk.folder / "session.toml", walk.page
    good = path.read_text(encoding="utf-8")
    path.write_text(good.replace("Two fuel maps", "Two maps"), encoding="utf-8")
    title = page.get_by_role("heading", level=1)
    until(page, "the page shows what the file says", lambda: "Two maps" in title.inner_text(), 2.0)
    wrong = good.replace("0.70..1.40 lambda", "0.70..1.40 bananas")
    line = next(n for n, text in enumerate(wrong.splitlines(), start=1) if "bananas" in text)
    path.write_text(wrong, encoding="utf-8")
    expect(page.locator(".problems")).to_contain_text(f"line {line}")
    expect(page.locator(f"#line-{line}")).to_have_class("bad")
    path.write_text(good, encoding="utf-8")
    expect(page.locator(".problems li.warning")).to_have_count(0)


def bring_files(walk: Walk, logs: Path) -> None:
    """Logs with a doubtful column: settled once, remembered for the layout; a pull that was saved twice."""
    page = walk.page
    walk.give_files([logs / "day-b-run-6.csv", logs / "day-b-three-pulls.csv"])
    walk.settle("day-b-run-6", "Analog #8")
    expect(walk.card("day-b-three-pulls").locator("form.ask")).to_have_count(0)
    walk.give_files([logs / "day-b-run-5.csv"])
    expect(walk.card("day-b-run-5").locator("form.ask")).to_have_count(0)
    for build, stem, which in _PULLS:
        walk.assign(f"day-b-{stem}", build, which)
    files = {path.name for path in (walk.folder / "pulls").iterdir()}
    walk.hands.give_files(page.locator("#pick-files"), [logs / "day-b-run-6.csv"])
    expect(page.locator("pullbook-upload .queue")).to_contain_text("byte for byte")
    assert {path.name for path in (walk.folder / "pulls").iterdir()} == files


def read_findings(walk: Walk, capsys: pytest.CaptureFixture[str]) -> None:
    """Findings as the command line gives them; without one pull, and with it again; in other units."""
    walk.until_found()
    walk.leave_out(5, "the clutch slipped")
    expect(walk.page.locator("#pulls")).to_contain_text("the clutch slipped")
    walk.take_back(5)
    walk.until_found()
    choose_window(walk, 9000, 11000)
    look_behind(walk, walk.page.locator('#findings a[href^="#origin"]').first)
    switch_units(walk, "us")
    assert "units=us" in walk.page.url
    switch_units(walk, "metric")
    assert _status(["compare", str(walk.folder), "--json", "-"]) == 0
    told = json.loads(capsys.readouterr().out)
    home, rest = walk.page.url.split("/s/")
    session = rest.split("?")[0].split("#")[0]
    assert walk.page.request.get(f"{home}/api/sessions/{session}/findings").json() == told


def assert_accessible(page: Page) -> None:
    """No violation in either scheme."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert violations(page) == [], scheme
    page.emulate_media(color_scheme="light")


def assert_opens_without_a_network(browser: Browser, report: Path) -> None:
    """The report opens from the disk and asks for nothing."""
    context = browser.new_context(offline=True)
    page, asked, said = context.new_page(), [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(report.as_uri())
    page.locator("#curves figure").first.scroll_into_view_if_needed()
    page.wait_for_selector("#curves figure.is-live", timeout=90_000)
    assert [url for url in asked if not url.startswith(("file:", "blob:", "data:"))] == []
    assert said == []
    context.close()
