"""A person without a mouse: everything by Tab, Enter, Space and the arrows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Locator, Page

__all__ = ["ByKeyboard"]

_MOST_STEPS: Final = 600
_MARKED: Final = """() => {
  const at = document.activeElement;
  if (!at || at === document.body || at.tagName === "IFRAME") return true; // in a frame the page inside shows it
  for (const one of [at, at.nextElementSibling, at.parentElement, at.closest("label")]) {
    if (!one) continue;
    for (const style of [null, "::before", "::after"].map((part) => getComputedStyle(one, part)))
      if (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2) return true;
  }
  return false; }"""


class ByKeyboard:
    """Hands on the keyboard of a page.

    Parameters
    ----------
    page : Page
        The page.
    """

    def __init__(self, page: Page) -> None:
        self.page = page

    def reach(self, wanted: Locator) -> None:
        """Go to an element with Tab, and see where one is on every step of the way."""
        wanted.wait_for(state="attached")
        self._reach_one_of(wanted)

    def _reach_one_of(self, wanted: Locator) -> None:
        for key in ("Tab", "Shift+Tab"):
            for _ in range(_MOST_STEPS):
                if self._is_at(wanted):
                    return
                self.page.keyboard.press(key)
                assert self.page.evaluate(_MARKED), f"no visible focus on {self.where()}"
                if self.page.evaluate("document.activeElement === document.body"):
                    break  # past the end of the page
        raise AssertionError(f"{wanted} cannot be reached by keyboard")

    def press(self, wanted: Locator, key: str = "Enter") -> None:
        """Go to an element and press a key on it."""
        self.reach(wanted)
        self.page.keyboard.press(key)

    def write(self, wanted: Locator, text: str) -> None:
        """Go to a field, write into it in place of what it says, and go on to the next."""
        self.reach(wanted)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.press("Delete")
        self.page.keyboard.insert_text(text)
        self.page.keyboard.press("Tab")

    def choose(self, wanted: Locator, words: str) -> None:
        """Go to a list of choices and take the one that begins with these words."""
        self.reach(wanted)
        self.page.keyboard.type(words)
        chosen = wanted.evaluate("(list) => list.selectedOptions[0]?.textContent.trim() ?? ''")
        assert chosen.startswith(words), f"chose {chosen!r} for {words!r}"

    def tick(self, wanted: Locator) -> None:
        """Go to a box and tick it, or to its group of round buttons and on to one of them with the arrows."""
        name = wanted.get_attribute("name") or ""
        if wanted.get_attribute("type") != "radio":
            self.press(wanted, "Space")
            return
        group = wanted.locator("xpath=ancestor::form[1]|ancestor::fieldset[1]").first
        self._reach_one_of(group.locator(f'input[type="radio"][name="{name}"]'))
        for _ in range(_MOST_STEPS):
            if self._is_at(wanted):
                self.page.keyboard.press("Space")
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"the arrows do not lead to {wanted}")

    def give_files(self, wanted: Locator, files: list[Path]) -> None:
        """Go to a field for files and answer the dialog of the system that it opens."""
        self.reach(wanted)
        with self.page.expect_file_chooser() as asked:
            self.page.keyboard.press("Space")
        asked.value.set_files(files)

    def where(self) -> str:
        """What has the focus, in a few letters."""
        return str(self.page.evaluate("document.activeElement.outerHTML.slice(0, 160)"))

    def _is_at(self, wanted: Locator) -> bool:
        return bool(wanted.evaluate_all("(all) => all.includes(document.activeElement)"))
