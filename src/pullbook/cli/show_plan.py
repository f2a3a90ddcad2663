"""What ``pullbook plan`` prints: the offers as sentences and a table."""

from __future__ import annotations

import shutil
import sys
import textwrap
from typing import TYPE_CHECKING, Final

from pullbook.publish.plan_words import (
    detectable_text,
    headline,
    offer_sentence,
    order_text,
    share,
    target_sentence,
    unanswered_sentence,
)
from pullbook.quantities.sizes import size_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.plan import Offer, Plan

__all__ = ["aligned", "plan_lines", "print_plan", "section"]

_WIDEST: Final = 100


def print_plan(plan: Plan, system: UnitSystem) -> None:
    """Print a plan."""
    width = min(shutil.get_terminal_size((_WIDEST, 24)).columns, _WIDEST)
    strong = ("\033[1m", "\033[0m") if sys.stdout.isatty() else ("", "")
    for line in plan_lines(plan, system, width, strong):
        print(line)


def plan_lines(plan: Plan, system: UnitSystem, width: int, strong: tuple[str, str] = ("", "")) -> Iterator[str]:
    """Lines of a plan, wrapped."""
    on, off = strong
    targets = {target.name: target for target in plan.targets}
    yield from (f"{on}{line}{off}" for line in textwrap.wrap(headline(plan), width))
    yield from section("To be told", [target_sentence(one, system) for one in plan.targets[: plan.offers[0].wanted]],
                        width, strong)  # fmt: skip
    if plan.unanswered:
        open_ = [unanswered_sentence(one, targets[one.target], plan, system) for one in plan.unanswered]
        yield from section("Cannot be decided in the time", open_, width, strong)
    for offer in plan.offers:
        yield from _offer(plan, offer, system, width, strong)
    yield from section("No order of these builds can tell", plan.not_estimable, width, strong)
    yield from section("Taken for granted", plan.assumptions, width, strong)


def section(title: str, sentences: Sequence[str], width: int, strong: tuple[str, str] = ("", "")) -> Iterator[str]:
    """A heading and its sentences, wrapped; nothing where there are none."""
    if not sentences:
        return
    yield ""
    yield f"{strong[0]}{title}{strong[1]}"
    for sentence in sentences:
        yield from textwrap.wrap(sentence, width - 4, initial_indent="  ", subsequent_indent="    ")


def _offer(plan: Plan, offer: Offer, system: UnitSystem, width: int, strong: tuple[str, str]) -> Iterator[str]:
    yield from section(offer_sentence(offer), [f"Order, with pulls: {order_text(offer)}."], width, strong)
    for row in aligned(_rows(plan, offer, system)):
        yield f"    {row}"
    if offer.sessions:
        yield f"    in rehearsal: share of {offer.sessions} simulated sessions that the comparison answered"
    for sentence in offer.confounded:
        yield from textwrap.wrap(sentence, width - 4, initial_indent="  ! ", subsequent_indent="    ")


def _rows(plan: Plan, offer: Offer, system: UnitSystem) -> list[tuple[str, ...]]:
    """Table of the targets of an offer; those that are only told have nothing to be rehearsed."""
    rows: list[tuple[str, ...]] = [("", "odds", "80 % from", "never below", "in rehearsal")]
    for place, (target, one) in enumerate(zip(plan.targets, offer.targets, strict=True)):
        floor = size_shown(target.size / target.percent * one.floor, target.unit, system)
        seen = share(offer.rehearsed[place]) if place < len(offer.rehearsed) else ""
        rows.append((one.target, share(one.odds), detectable_text(one, target, system), floor, seen))
    return rows if offer.sessions else [row[:-1] for row in rows]


def aligned(rows: list[tuple[str, ...]]) -> Iterator[str]:
    """Rows of a table, each column as wide as it needs."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        cells = [row[0].ljust(widths[0]), *(cell.rjust(size) for cell, size in zip(row[1:], widths[1:], strict=True))]
        yield "  ".join(cells).rstrip()
