"""Planning on the page: from builds to an order that is taken and a look between pulls, by mouse and by keyboard."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

import numpy as np
import pytest
from browser.accessibility import violations
from browser.hands import ByKeyboard, ByMouse
from browser.walk import PATIENCE
from plan_cases import PLAIN
from playwright.sync_api import expect
from session_folder import pull_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WAIT = PATIENCE * 1000.0  # ms
AIR = 'air = { temperature = "22.0 degC", pressure = "99.0 kPa", humidity = "45 %" }'
ASKED = "6 N m over 2500..3500 rpm"


@pytest.fixture
def session(own_server: Served) -> Path:
    """A session with two builds and no pulls, in a notebook of the test's own."""
    folder = own_server.root / "runners"
    folder.mkdir()
    (folder / "session.toml").write_text(PLAIN, encoding="utf-8")
    return folder


def opened(visit: Callable[..., Visit], server: Served, scheme: str = "light", width: int = 1280) -> Page:
    """Page of the session."""
    page = visit(server, width=width, color_scheme=scheme).page
    page.get_by_role("link", name="Runners").click()
    expect(page.locator("#plan, #what-next")).to_be_visible(timeout=WAIT)
    return page


def make_pulls(folder: Path, made: int) -> None:
    """Files for the first pulls of the run order, and the weather of all of them."""
    file = folder / "session.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('.csv"\n', f'.csv"\n{AIR}\n'), encoding="utf-8")
    rng = np.random.default_rng(5)
    (folder / "pulls").mkdir()
    for pull in tomllib.loads(text)["pull"][:made]:
        gain = 9.0 if pull["build"] == "B" else 0.0
        (folder / pull["file"]).write_text(pull_text(rng, gain=gain), encoding="utf-8")


@pytest.mark.parametrize("hands_of", [ByMouse, ByKeyboard], ids=["mouse", "keyboard"])
def test_a_tester_plans_takes_an_order_and_looks_what_is_next(
    hands_of: type[ByMouse | ByKeyboard], own_server: Served, session: Path, visit: Callable[..., Visit]
) -> None:
    before = visit(own_server)
    before.forgive("422")  # newton metres without a torque
    page = before.page
    page.get_by_role("link", name="Runners").click()
    hands, plan = hands_of(page), page.locator("#plan")
    hands.write(plan.get_by_label("Difference to tell"), ASKED)
    hands.press(plan.get_by_role("button", name="Plan"))
    expect(plan.locator(".wrong")).to_contain_text("Mean torque", timeout=WAIT)
    expect(plan.get_by_label("Difference to tell")).to_be_focused()
    hands.press(plan.locator("#plan-terms > summary"))
    hands.write(plan.get_by_label("Mean torque"), "180 N m")
    hands.choose(plan.get_by_label("Odds wanted"), "90 %")
    hands.press(plan.get_by_role("button", name="Plan"))
    table = plan.get_by_role("table", name="Orders to choose from")
    expect(table).to_be_visible(timeout=WAIT)
    assert violations(page) == []
    sheet = table.get_by_role("link").first
    assert page.request.get(own_server.address + (sheet.get_attribute("href") or "")).ok
    page.reload()  # nothing is kept in the page: the result is
    expect(table).to_be_visible(timeout=WAIT)
    expect(plan.get_by_label("Odds wanted")).to_have_value("90.0")
    hands.press(table.get_by_role("button", name="Take this order").first)
    expect(plan).to_contain_text("This is the run order now", timeout=WAIT)
    run = tomllib.loads((session / "session.toml").read_text(encoding="utf-8"))["pull"]
    expect(page.locator("#run-order .pull")).to_have_count(len(run))
    make_pulls(session, len(run) - 1)
    look = page.get_by_role("button", name="Look now")
    expect(look).to_be_visible(timeout=WAIT)
    expect(plan).to_have_count(0)
    hands.press(look)
    told = page.locator("#what-next")
    expect(told).to_contain_text(f"{len(run) - 1} of {len(run)} planned pulls made", timeout=WAIT)
    assert violations(page) == []
    looks = tomllib.loads((session / "session.toml").read_text(encoding="utf-8"))["plan"]["looks"]
    assert looks == [f"{len(run) - 1} of {len(run)}"]


def test_planning_can_be_stopped_and_begun_again(
    own_server: Served, session: Path, visit: Callable[..., Visit]
) -> None:
    text = PLAIN + "".join(f'\n[[build]]\nname = "{name}"\nlevels = {{ runners = "{mm} mm" }}\n'
                           for name, mm in zip("CDEFG", (180, 200, 220, 240, 300), strict=True))  # fmt: skip
    text = text.replace('"260 mm"]', '"260 mm", "180 mm", "200 mm", "220 mm", "240 mm", "300 mm"]')
    (session / "session.toml").write_text(text, encoding="utf-8")
    page = opened(visit, own_server)
    page.get_by_role("button", name="Plan", exact=True).click()
    job = page.locator("#plan pullbook-job")
    job.get_by_role("button", name="Stop").click(timeout=WAIT)
    expect(job).to_contain_text("stopped", timeout=WAIT)
    job.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("table", name="Orders to choose from")).to_be_visible(timeout=4 * WAIT)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_plan_is_readable_on_a_narrow_page(
    own_server: Served, session: Path, visit: Callable[..., Visit], scheme: str
) -> None:
    page = opened(visit, own_server, scheme, 360)
    assert violations(page) == []
    page.get_by_role("button", name="Plan", exact=True).click()
    expect(page.locator("#plan table")).to_be_visible(timeout=WAIT)
    page.locator("#plan-terms > summary").click()
    page.locator("#plan-assumed > summary").click()
    sides = "(part) => part.getBoundingClientRect().right - document.documentElement.clientWidth"
    assert page.locator("#plan").evaluate(sides) <= 0
    assert violations(page) == []
    assert session.is_dir()
