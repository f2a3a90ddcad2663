"""Puts what is printed today into the pages that show it, where numbers have changed.

``python tests/refresh_pages.py`` does so for the README and the how-to pages about the virtual engine. Look at the
difference before you keep it: a number that moved is a change of the product.
"""

from __future__ import annotations

import re
import sys
import tempfile
from difflib import SequenceMatcher
from pathlib import Path
from typing import Final

from repo.pages import SKIP, printed_by, steps_of, take
from repo.tree import ROOT

PAGES: Final = (
    ROOT / "README.md",
    ROOT / "docs" / "how-to" / "describe-your-engine.md",
    ROOT / "docs" / "how-to" / "another-exhaust.md",
    ROOT / "docs" / "how-to" / "see-the-waves.md",
)


def likeness(shown: str, printed: str) -> float:
    """How much a printed line is the one that is shown: words first, then the number that it begins with."""
    one, other = (re.sub(r"\d", "0", " ".join(text.split())) for text in (shown, printed))
    starts = {found[1] if (found := re.match(r"\s*([\d.,]+)", text)) else text for text in (shown, printed)}
    return SequenceMatcher(a=one, b=other).ratio() + (1.0 if len(starts) == 1 else 0.0)


def refreshed(output: list[str], printed: list[str]) -> list[str]:
    """Lines of a page with those that are printed in their place, in order; marks of what is left out stay."""
    lines, start = [], 0
    for line in output:
        if line.strip() in {"", SKIP} or start >= len(printed):
            lines.append(line)
            continue
        best = max(range(start, len(printed)), key=lambda number: likeness(line, printed[number]))
        lines.append(printed[best].rstrip())
        start = best + 1
    return lines


def refresh(path: Path) -> None:
    """Run a page and write it again."""
    text = path.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        for step in steps_of(text):
            if not step.shown:
                take(step, Path(folder))
                continue
            printed = [line for line in printed_by(step, Path(folder)).splitlines() if line.strip()]
            head = text.index(step.written)
            start = text.index("\n", head) + 1
            end = min(place for mark in ("\n$ ", "\n```") if (place := text.find(mark, start - 1)) >= 0)
            block = text[start:end].splitlines()
            text = text[:start] + "\n".join(refreshed(block, printed)) + text[end:]
    path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    for page in PAGES:
        refresh(page)
        sys.stdout.write(f"{page.relative_to(ROOT)}\n")
