"""What ``pullbook compare`` prints: the findings as sentences, and the gains as a table."""

from __future__ import annotations

import shutil
import sys
import textwrap
from typing import TYPE_CHECKING, Final

from pullbook.app.tell import tell

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.publish.story import Paragraph, Section, Story
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.result import SessionResult

__all__ = ["print_findings", "story_lines"]

_WIDEST: Final = 100
_MARKS: Final = {"decided": "+", "open": "?", "warning": "!", "plain": " "}


def print_findings(result: SessionResult, system: UnitSystem) -> None:
    """Print what a session says."""
    width = min(shutil.get_terminal_size((_WIDEST, 24)).columns, _WIDEST)
    strong = ("\033[1m", "\033[0m") if sys.stdout.isatty() else ("", "")
    for line in story_lines(tell(result, system), width, strong):
        print(line)


def story_lines(story: Story, width: int, strong: tuple[str, str] = ("", "")) -> Iterator[str]:
    """Lines of a story, wrapped.

    A decided finding has a plus before it, an open one a question mark, a warning an exclamation mark, so that
    nothing rests on colour.
    """
    on, off = strong
    yield from (f"{on}{line}{off}" for line in textwrap.wrap(story.headline, width))
    if story.deck:
        yield from textwrap.wrap(story.deck, width)
    for section in story.sections:
        yield ""
        yield f"{on}{section.title}{off}"
        yield from _section_lines(section, width)


def _section_lines(section: Section, width: int) -> Iterator[str]:
    for paragraph in section.paragraphs:
        yield from _paragraph_lines(paragraph, width)


def _paragraph_lines(paragraph: Paragraph, width: int) -> Iterator[str]:
    mark = _MARKS[paragraph.tone]
    wrapped = textwrap.wrap(paragraph.text, width - 4, break_long_words=False, break_on_hyphens=False)
    for number, line in enumerate(wrapped):
        yield f"  {mark if number == 0 else ' '} {line}"
