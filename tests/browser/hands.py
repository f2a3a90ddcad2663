"""How a tester moves over a page: with a mouse, or by keyboard alone; a walk is written once for both."""

from __future__ import annotations

import mimetypes
from base64 import b64encode
from typing import TYPE_CHECKING, Final, Protocol

from browser.by_keyboard import ByKeyboard

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Locator, Page

__all__ = ["DROP", "ByKeyboard", "ByMouse", "Hands"]

_LOOK: Final = 300.0  # ms
DROP: Final = """(place, files) => {
  const carried = new DataTransfer();
  for (const [name, type, content] of files)
    carried.items.add(new File([Uint8Array.from(atob(content), (c) => c.charCodeAt(0))], name, {type}));
  for (const step of ["dragenter", "dragover", "drop"])
    place.dispatchEvent(new DragEvent(step, {bubbles: true, cancelable: true, dataTransfer: carried})); }"""


class Hands(Protocol):
    """What a tester can do."""

    page: Page

    def press(self, wanted: Locator, key: str = "Enter") -> None:
        """Press a button, follow a link, open what is folded."""

    def write(self, wanted: Locator, text: str) -> None:
        """Write into a field in place of what it says, and leave it."""

    def choose(self, wanted: Locator, words: str) -> None:
        """Choose from a list."""

    def tick(self, wanted: Locator) -> None:
        """Choose one of several round buttons, or tick a box."""

    def give_files(self, wanted: Locator, files: list[Path]) -> None:
        """Hand files over."""


class ByMouse:
    """A tester with a mouse, who drops files.

    Parameters
    ----------
    page : Page
        The page.
    """

    def __init__(self, page: Page) -> None:
        self.page = page

    def press(self, wanted: Locator, key: str = "Enter") -> None:
        """Scroll to it, look, click on it."""
        del key
        wanted.scroll_into_view_if_needed()
        # A frame inside the page is drawn by another process, and catches clicks until that knows of the scrolling.
        self.page.wait_for_timeout(_LOOK)
        wanted.click()

    def write(self, wanted: Locator, text: str) -> None:
        """Click into it, write, go on to the next."""
        wanted.click()
        wanted.fill(text)
        self.page.keyboard.press("Tab")

    def choose(self, wanted: Locator, words: str) -> None:
        """Choose the first line that begins with these words."""
        wanted.wait_for()
        lines = wanted.locator("option").all_text_contents()
        wanted.select_option(label=next(line for line in lines if line.strip().startswith(words)))

    def tick(self, wanted: Locator) -> None:
        """Click on its words, as people do."""
        wanted.check()

    def give_files(self, wanted: Locator, files: list[Path]) -> None:
        """Drop them on the place that the field belongs to."""
        carried = [
            (path.name, mimetypes.guess_type(path)[0] or "", b64encode(path.read_bytes()).decode()) for path in files
        ]
        wanted.locator("xpath=ancestor::*[@data-drop][1]").evaluate(DROP, carried)
