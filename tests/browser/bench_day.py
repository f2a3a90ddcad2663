"""A small unfinished session for tests of its page: two builds, one pull, a claim; nothing in it takes long."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Locator, Page

__all__ = ["SESSION", "assert_refused", "described", "opened", "place"]

SESSION: Final = """\
# Written by hand, with a remark that has to stay.
[session]
title = "A day on the bench"
question = "Do short runners pay?"
date = 2026-05-04
dyno = "engine"
standard = "none"
received = "observed"

[[factor]]
name = "runners"
levels = ["340 mm", "260 mm"]

[[build]]
name = "A"
baseline = true
label = "long runners"
levels = { runners = "340 mm" }

[[build]]
name = "B"
label = "short runners"
levels = { runners = "260 mm" }

[[pull]]
build = "A"
file = "pulls/a1.csv"

[[claim]]
id = "short-at-the-top"
says = "Short runners are worth 8 kW"
of = "B"
from = "A"
quantity = "power"
where = "peak"
at_least = "8 kW"
"""
_ROWS: Final = "".join(f"{n / 10:.1f},{2000 + 50 * n},{150 + n / 4:.2f}\n" for n in range(81))
PULL: Final = f"time [s],engine speed [rpm],torque [N m]\n{_ROWS}"


def place(root: Path) -> Path:
    """Put the session into a served folder."""
    folder = root / "day"
    (folder / "pulls").mkdir(parents=True)
    (folder / "session.toml").write_text(SESSION, encoding="utf-8")
    (folder / "pulls" / "a1.csv").write_text(PULL, encoding="utf-8")
    return folder


def opened(visit: Callable[..., Visit], server: Served, width: int = 1280) -> Visit:
    """Page of the session, with everything unfolded that is folded in its forms."""
    seen = visit(server, "/", width, reduced_motion="reduce")
    seen.forgive("status of 422", "status of 409")  # refusals, which are looked at on the page
    seen.page.set_default_timeout(30_000)
    seen.page.locator("#sessions a").first.click()
    unfold(seen.page)
    return seen


def unfold(page: Page) -> None:
    """Open the forms of the session and the lines of its pulls."""
    expect(page.locator("html")).to_have_attribute("data-connected", "")
    expect(page.locator("#files .card progress")).to_have_count(0, timeout=30_000)
    for details in page.locator("#setup, #run-order details, #as-file").all():
        details.evaluate("(one) => { one.open = true; }")


def described(field: Locator) -> str:
    """What a screen reader reads after the name of a field."""
    ids = (field.get_attribute("aria-describedby") or "").split()
    page = field.page
    return " ".join(page.locator(f"[id='{one}']").inner_text() for one in ids if page.locator(f"[id='{one}']").count())


def assert_refused(field: Locator, *words: str) -> None:
    """The field is marked, and the message that it is described by says what to do."""
    expect(field).to_have_attribute("aria-invalid", "true")
    said = described(field)
    assert all(word in said for word in words), said
