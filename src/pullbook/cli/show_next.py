"""What ``pullbook plan --next`` prints: what is open, and what would decide it soonest."""

from __future__ import annotations

import shutil
import textwrap
from typing import TYPE_CHECKING, Final

from pullbook.cli.show_plan import aligned, section
from pullbook.publish.outlook_words import advice, choice_text, choices_shown, next_headline, standing_sentence
from pullbook.publish.plan_words import share
from pullbook.quantities.phrases import hours_and_minutes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.outlook import Outlook

__all__ = ["next_lines", "print_next"]

_WIDEST: Final = 100


def print_next(outlook: Outlook, system: UnitSystem) -> None:
    """Print an outlook."""
    width = min(shutil.get_terminal_size((_WIDEST, 24)).columns, _WIDEST)
    for line in next_lines(outlook, system, width):
        print(line)


def next_lines(outlook: Outlook, system: UnitSystem, width: int) -> Iterator[str]:
    """Lines of an outlook, wrapped."""
    yield from textwrap.wrap(next_headline(outlook), width)
    asked = zip(outlook.standings, outlook.targets, strict=True)
    said = [standing_sentence(one, target, system) for one, target in asked]
    yield from section("How it stands", said, width)
    if outlook.choices and not outlook.stop:
        yield from section("Next", [advice(outlook)], width)
        for row in aligned(_rows(outlook)):
            yield f"    {row}"
    yield from section("Taken for granted", outlook.assumptions, width)


def _rows(outlook: Outlook) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("", "takes", *(one.target for one in outlook.open))]
    rows += [
        (choice_text(one), hours_and_minutes(one.seconds), *map(share, one.odds)) for one in choices_shown(outlook)
    ]
    return rows
