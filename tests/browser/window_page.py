"""Hands and eyes of the tests of the rpm window: the demo compared, a drag across a chart, what the page says."""

from __future__ import annotations

import random
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.app.compare_builds import compare_session
from pullbook.app.ports import Silent
from pullbook.app.question import Question
from pullbook.bench.demo import demo_session
from pullbook.publish.speeds import rpm_range
from pullbook.publish.tables import windows_table
from pullbook.publish.telling import Telling
from pullbook.publish.typeset import typeset
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Callable

    from browser.visit import Visit
    from playwright.sync_api import Page

    from pullbook.records.result import SessionResult

__all__ = ["WIDE", "asked", "compared", "drag", "fields", "plot_of", "session_page", "told"]

WIDE: Final = (3000.0, 4400.0)
_SAMPLE: Final = 120  # windows asked for by name; all of them would take the command minutes


def _demo(question: Question, *, with_windows: bool) -> SessionResult:
    with tempfile.TemporaryDirectory() as folder:
        for name, content in demo_session().items():
            path = Path(folder, name)
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(content)
        return compare_session(Path(folder), question, Silent(), with_windows=with_windows)


@cache
def compared() -> SessionResult:
    """The invented session with the tables of all windows."""
    return _demo(Question(), with_windows=True)


@cache
def asked() -> SessionResult:
    """The same with many windows asked for by name, as on the command line."""
    ends = compared().windows_any[0].stretches[0].ends_rpm.tolist()
    every = [(low, high) for low in ends for high in ends if low < high]
    some = random.Random(20261127).sample(every, _SAMPLE)  # noqa: S311 - cases of a test
    return _demo(Question(windows=(WIDE, *some)), with_windows=False)


def plot_of(page: Page, key: str = "torque") -> tuple[Callable[[float], float], float]:
    """Where a speed is on a chart, and the middle of its first panel. [px]."""
    page.locator(f"#chart-{key}").scroll_into_view_if_needed()
    plot = page.locator(f"#chart-{key}.is-live .plot[data-rpm]")
    plot.scroll_into_view_if_needed()
    page.locator(f"#chart-{key} .window-area").first.wait_for(state="attached")
    box = plot.bounding_box()
    assert box is not None
    (low, high), (left, right), (top, bottom, *_) = (
        [float(word) for word in str(plot.get_attribute(f"data-{name}")).split()] for name in ("rpm", "area", "panels")
    )
    return lambda rpm: box["x"] + left + (rpm - low) / (high - low) * (right - left), box["y"] + (top + bottom) / 2


def drag(page: Page, start: float, end: float, key: str = "torque") -> None:
    """Drag across a chart from one speed to another."""
    across, middle = plot_of(page, key)
    page.mouse.move(across(start), middle)
    page.mouse.down()
    page.mouse.move(across((start + end) / 2), middle, steps=5)
    page.mouse.move(across(end), middle, steps=5)
    page.mouse.up()


def fields(page: Page) -> list[str]:
    """What the two fields of the window say."""
    return [field.input_value() for field in page.locator(".window-bar input").all()]


def told(window: tuple[float, float], system: UnitSystem = UnitSystem.METRIC) -> list[list[str]]:
    """Rows of the table of windows for one window, as the command finds them: torque, per cent, power, sign, check."""
    table = windows_table(Telling(result=asked(), system=system))
    assert table is not None
    return [[typeset(str(cell)) for cell in row[2:]] for row in table.rows if str(row[1]) == rpm_range(*window)]


def session_page(seen: Visit) -> Page:
    """The demo's page in the notebook, with its first chart alive."""
    page = seen.page
    page.locator("a[href*='/s/']").first.click()
    page.wait_for_selector(".window-bar", timeout=60_000)
    page.locator("#chart-torque").scroll_into_view_if_needed()
    page.wait_for_selector("#chart-torque.is-live", timeout=30_000)
    return page
