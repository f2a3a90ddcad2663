"""A tester's way through a session, from an empty folder to a published report, in steps that a test puts together.

Each step does what a person would do and then looks in two places: on the page, and into the session folder.
"""

from __future__ import annotations

import json
import time
import tomllib
from typing import TYPE_CHECKING, Any, Final

from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.hands import Hands
    from playwright.sync_api import Locator, Page

__all__ = ["PATIENCE", "Walk", "until"]

PATIENCE: Final = 90.0  # s; a machine that runs all tests at once is slow
_TICK: Final = 50.0  # ms


def until(page: Page, what: str, held: Callable[[], bool], patience: float = PATIENCE) -> float:
    """Wait until something holds, and give the time that it took, in s."""
    begun = time.monotonic()
    while time.monotonic() - begun < patience:
        if held():
            return time.monotonic() - begun
        page.wait_for_timeout(_TICK)
    wrong = page.locator(".wrong:visible").all_inner_texts()
    raise AssertionError(f"it did not come to pass within {patience:g} s that {what}; the page says {wrong}")


class Walk:
    """The steps.

    Parameters
    ----------
    hands : Hands
        A mouse or a keyboard on a page that shows the list of sessions.
    root : Path
        The served folder.
    """

    def __init__(self, hands: Hands, root: Path) -> None:
        self.hands = hands
        self.page = hands.page
        self.root = root
        self.page.set_default_timeout(PATIENCE * 1000.0)
        expect.set_options(timeout=PATIENCE * 1000.0)

    @property
    def folder(self) -> Path:
        """Folder of the only session."""
        (found,) = (path.parent for path in self.root.glob("*/session.toml"))
        return found

    @property
    def values(self) -> dict[str, Any]:
        """What ``session.toml`` says."""
        return tomllib.loads((self.folder / "session.toml").read_text(encoding="utf-8"))

    def until(self, what: str, held: Callable[[], bool]) -> None:
        """Wait until something holds."""
        until(self.page, what, held)

    # ---- a session is made -----------------------------------------------------------------------------------------
    def make_session(self, title: str, question: str) -> None:
        """Make a session from the list, and land on its page."""
        self.hands.write(self.page.get_by_label("Title"), title)
        self.hands.write(self.page.get_by_label("Question"), question)
        self.hands.press(self.page.get_by_role("button", name="Make the session"))
        self.page.wait_for_url("**/s/*")
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(title)
        assert self.values["session"]["title"] == title

    def state(self, at: str, text: str, key: Callable[[dict[str, Any]], object], value: object = None) -> None:
        """Write into the field of a key path, and see it in the file."""
        field = self.field(at)
        if field.evaluate("(one) => one.tagName") == "SELECT":
            self.hands.choose(field, text)
            self.page.keyboard.press("Tab")
        else:
            self.hands.write(field, text)
        self.until(
            f"{at} is {text!r} in the file", lambda: _found(key, self.values) == (text if value is None else value)
        )

    def field(self, at: str) -> Locator:
        """Field of a key path."""
        return self.page.locator(f'[data-at="{at}"]')

    def add_factor(self, name: str, levels: str, change: str) -> None:
        """Add a factor with its levels."""
        form = self.page.locator('form[data-add="factor"]')
        for key, text in (("name", name), ("levels", levels), ("change", change)):
            self.hands.write(form.locator(f'[name="{key}"]'), text)
        self.hands.press(form.get_by_role("button"))
        self.until(f"the factor {name} is in the file", lambda: _names(self.values, "factor")[-1:] == [name])
        self.until_shown("factor")

    def add_build(self, name: str, label: str, level: str = "") -> None:
        """Add a build."""
        form = self.page.locator('form[data-add="build"]')
        self.hands.write(form.locator('[name="name"]'), name)
        self.hands.write(form.locator('[name="label"]'), label)
        if level:
            self.hands.choose(form.locator("select"), level)
        self.hands.press(form.get_by_role("button"))
        self.until(f"the build {name} is in the file", lambda: _names(self.values, "build")[-1:] == [name])
        self.until_shown("build")

    def add_claim(self, of: str, from_: str, limit: str, number: str, where: str) -> None:
        """Add a claim as a sentence with a number."""
        form = self.page.locator('form[data-add="claim"]')
        self.hands.choose(form.locator('[name="of"]'), of)
        self.hands.choose(form.locator('[name="limit"]'), limit)
        self.hands.write(form.locator('[name="number"]'), number)
        self.hands.choose(form.locator('[name="from"]'), from_)
        self.hands.write(form.locator('[name="where"]'), where)
        before = len(self.values.get("claim", []))
        self.hands.press(form.get_by_role("button"))
        self.until("the claim is in the file", lambda: len(self.values.get("claim", [])) == before + 1)
        self.until_shown("claim")

    def until_shown(self, table: str) -> None:
        """Wait until the page shows as many entries of a table as the file has."""
        expect(self.page.locator(f'#setup [data-entry^="{table}["]')).to_have_count(len(self.values[table]))

    # ---- files -----------------------------------------------------------------------------------------------------
    def give_files(self, files: list[Path]) -> None:
        """Hand a heap of files over, and wait until each has its card."""
        self.hands.give_files(self.page.locator("#pick-files"), files)
        for path in files:
            expect(self.card(path.stem)).to_be_visible()
        self.until_read()

    def until_read(self) -> None:
        """Wait until no card waits for its file to be read."""
        expect(self.page.locator("#files .card progress")).to_have_count(0)

    def card(self, stem: str) -> Locator:
        """Card of a file."""
        return self.page.locator(f'.card[data-file*="{stem}"]')

    def settle(self, stem: str, words: str) -> None:
        """Choose among the proposals for a doubtful column."""
        form = self.card(stem).locator("form.ask").first
        self.hands.tick(form.locator("label.option", has_text=words).locator("input").first)
        self.hands.press(form.get_by_role("button"))
        expect(self.card(stem).locator("form.ask")).to_have_count(0)
        self.until_read()

    def assign(self, stem: str, build: str, which: int) -> None:
        """Say that a pull of a file is one of a build."""
        before = len(self.values.get("pull", []))
        form = self.card(stem).locator(f'form.assign[data-which="{which}"]')
        self.hands.choose(form.locator("select"), build)
        self.hands.press(form.get_by_role("button"))
        self.until("the pull is in the file", lambda: len(self.values.get("pull", [])) == before + 1)
        found = [(pull["build"], pull.get("which", 1)) for pull in self.values["pull"] if stem in pull["file"]]
        assert (build, which) in found, found
        expect(form).to_have_count(0)  # the page shows that it is one
        self.until_read()

    # ---- findings --------------------------------------------------------------------------------------------------
    def until_found(self) -> None:
        """Wait until the findings of what the page shows are there."""
        expect(self.page.locator("section#findings")).to_be_visible()
        expect(self.page.locator("#findings-pending")).to_have_count(0)

    def leave_out(self, number: int, reason: str) -> None:
        """Leave a pull out, with a reason."""
        entry = self.page.locator(f"#run-{number}")
        if not entry.locator("form.leave-out").is_visible():
            self.hands.press(entry.locator("summary").first)
        self.hands.write(entry.locator("form.leave-out input"), reason)
        self.hands.press(entry.get_by_role("button", name="Leave out"))
        self.until("the reason is in the file", lambda: self.values["pull"][number - 1].get("left_out") == reason)
        expect(entry).to_contain_text(reason)

    def take_back(self, number: int) -> None:
        """Take a pull back that was left out."""
        self.hands.press(self.page.locator(f"#run-{number}").get_by_role("button", name="Take it back"))
        self.until("the reason is gone", lambda: "left_out" not in self.values["pull"][number - 1])

    # ---- report ----------------------------------------------------------------------------------------------------
    def publish(self) -> Path:
        """Draw the report up, look at it on the page, publish it; gives the file."""
        self.hands.press(self.page.get_by_role("button", name="Draw it up"))
        expect(self.page.locator("iframe.preview")).to_be_visible()
        inside = self.page.frame_locator("iframe.preview")
        self.page.locator("iframe.preview").scroll_into_view_if_needed()
        expect(inside.get_by_role("heading", level=1)).to_be_visible()
        expect(self.page.locator("#publish pullbook-job")).to_have_count(0)
        self.hands.press(self.page.get_by_role("button", name="Publish it"))
        path = self.folder / "report" / "report.html"
        self.until("the report is in the folder", path.exists)
        expect(self.page.locator("#publish")).to_contain_text("Published")
        assert json.loads((self.folder / "report" / "findings.json").read_text(encoding="utf-8"))["builds"]
        return path


def _names(values: dict[str, Any], table: str) -> list[str]:
    return [str(entry.get("name")) for entry in values.get(table, [])]


def _found(key: Callable[[dict[str, Any]], object], values: dict[str, Any]) -> object:
    try:
        return key(values)
    except (KeyError, IndexError):
        return None


def switch_units(walk: Walk, system: str) -> None:
    """Read in other units."""
    walk.hands.tick(walk.page.locator(f"#units-{system}"))
    expect(walk.page.locator("html")).to_have_attribute("data-system", system)
    walk.until_found()


def choose_window(walk: Walk, low: int, high: int) -> None:
    """Choose a window of speed, and see the numbers and the address follow."""
    gains = walk.page.locator(".window-gains")
    before = gains.inner_text()
    for end, speed in (("Upper", high), ("Lower", low)):
        walk.hands.write(walk.page.get_by_label(f"{end} end of the window, rpm"), str(speed))
    walk.until("the gains are those of the window", lambda: gains.inner_text() != before)
    walk.until("the address has the window", lambda: f"window={low}-{high}" in walk.page.url)


def look_behind(walk: Walk, number: Locator) -> None:
    """Open what stands behind a number, and close it again."""
    walk.hands.press(number)
    opened = walk.page.locator("dialog[open]")
    expect(opened).to_contain_text("day-b-run-6.csv")
    walk.page.keyboard.press("Escape")
    expect(opened).to_have_count(0)
