"""What the accessibility checker finds on a page."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Final

from repo.tree import ROOT

if TYPE_CHECKING:
    from playwright.sync_api import Page

__all__ = ["violations"]

_CHECKER: Final = ROOT / ".venv" / "browser-tools" / "node_modules" / "axe-core" / "axe.min.js"
_LEVELS: Final = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
_RUN: Final = """(levels) => axe.run(document, {runOnly: levels, resultTypes: ["violations"]}).then((result) =>
  result.violations.flatMap((rule) => rule.nodes.map((node) =>
    `${rule.id}: ${node.target.join(" ")} | ${node.html.slice(0, 120)} | ${node.failureSummary.split("\\n")[1]}`)))"""


@cache
def _checker() -> str:
    assert _CHECKER.exists(), "the accessibility checker is not installed; run `python3 tasks.py check` once"
    return _CHECKER.read_text(encoding="utf-8")


def violations(page: Page) -> list[str]:
    """Every violation on the page as it is shown now, in the scheme that it is shown in."""
    if not page.evaluate("typeof axe === 'object'"):
        page.evaluate(_checker())  # by the debugger, so that the page's own policy stays as strict as it is
    found: list[str] = page.evaluate(_RUN, list(_LEVELS))
    return sorted(found)
