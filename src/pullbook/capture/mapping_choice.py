"""One column for each channel, or a refusal that names the choices."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from pullbook.capture.mapping_questions import ask, rule_line, title_of
from pullbook.errors import MappingError, Way
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.name_matching import Treatment
from pullbook.quantities.units import to_si

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.mapping_proposals import Proposal
    from pullbook.errors import Question
    from pullbook.records.table import RawTable

__all__ = ["Chosen", "choose", "lines_for"]

# No number of the findings rests on these: two columns for one of them are left out, visibly, instead of refused.
_BYSTANDERS: Final = frozenset(
    {
        Channel.OIL_TEMPERATURE, Channel.COOLANT_TEMPERATURE, Channel.FUEL_TEMPERATURE, Channel.EXHAUST_TEMPERATURE,
        Channel.OIL_PRESSURE, Channel.FUEL_PRESSURE, Channel.EXHAUST_PRESSURE, Channel.SWEEP_RATE, Channel.FUEL_FLOW,
        Channel.AIR_FLOW, Channel.SPARK, Channel.MIXTURE, Channel.CORRECTION_FACTOR,
    }
)  # fmt: skip
_SAME_WITHIN: Final = 0.003


class Chosen(NamedTuple):
    """Columns of each channel (several only where siblings are averaged), and what is in doubt about it."""

    columns: dict[Channel, tuple[Proposal, ...]]
    doubts: tuple[str, ...]
    questions: tuple[Question, ...]


def lines_for(proposals: Sequence[Proposal]) -> str:
    """Lines of ``session.toml``, one for each choice, with "or" between them."""
    lines = (
        rule_line(p.channel, p.column, CHANNELS[p.channel].symbol_metric if p.unit is None else p.unit.symbol)
        for p in proposals
    )
    return " or ".join(lines)


def choose(table: RawTable, proposals: Sequence[Proposal], ruled: dict[Channel, Proposal], *, where: str) -> Chosen:
    """Columns of each channel.

    Raises
    ------
    MappingError
        If a channel that a number rests on could be two columns; all such channels are named at once.
    """
    chosen: dict[Channel, tuple[Proposal, ...]] = {channel: (p,) for channel, p in ruled.items()}
    open_: dict[Channel, list[Proposal]] = {}
    for proposal in proposals:
        if proposal.channel not in chosen:
            open_.setdefault(proposal.channel, []).append(proposal)
    doubts: list[str] = []
    questions: list[Question] = []
    undecided: dict[Channel, list[Proposal]] = {}
    for channel, rivals in open_.items():
        kept = _without_copies(table, rivals)
        if len(kept) == 1:
            chosen[channel] = (kept[0],)
        elif _are_siblings(channel, kept):
            chosen[channel] = tuple(kept)
            doubts.append(f"{title_of(channel)} is the mean of {len(kept)} columns: {_names(kept)}")
        elif channel in _BYSTANDERS:
            doubts.append(_left_out(channel, kept))
            asked = ask(channel, f"{title_of(channel)} could be {_names(kept)}", kept, table)
            questions.append(replace(asked, needed=False, doubt=doubts[-1]))
        else:
            undecided[channel] = kept
    _pair_by_treatment(chosen, undecided)
    _refuse(table, undecided, where)
    return Chosen(chosen, tuple(doubts), tuple(questions))


def _left_out(channel: Channel, rivals: Sequence[Proposal]) -> str:
    return (
        f"{title_of(channel)} could be {_names(rivals)} and was left out; "
        f"to use it, put under [columns] in session.toml {lines_for(rivals)}"
    )


def _names(proposals: Sequence[Proposal]) -> str:
    return ", ".join(f"'{p.column}'" for p in proposals)


def _without_copies(table: RawTable, rivals: list[Proposal]) -> list[Proposal]:
    """Rivals without those that give the same values again, in the same or another unit."""
    kept: list[Proposal] = []
    for rival in rivals:
        if not any(_same(table, rival, other) for other in kept):
            kept.append(rival)
    return kept


def _same(table: RawTable, one: Proposal, other: Proposal) -> bool:
    if one.unit is None or other.unit is None or one.treatment is not other.treatment:
        return False
    first = to_si(table.columns[one.index], one.unit)
    second = to_si(table.columns[other.index], other.unit)
    if not np.array_equal(np.isfinite(first), np.isfinite(second)):
        return False
    largest = float(np.nanmax(np.abs(first)))
    return bool(np.nanmax(np.abs(first - second)) <= _SAME_WITHIN * largest)


def _are_siblings(channel: Channel, rivals: Sequence[Proposal]) -> bool:
    """Numbered sensors of one kind, one per cylinder or bank."""
    if channel not in {Channel.EXHAUST_TEMPERATURE, Channel.MIXTURE}:
        return False
    numbers = {p.number for p in rivals}
    units = {None if p.unit is None else p.unit.symbol for p in rivals}
    return len(numbers) == len(rivals) and "" not in numbers and len(units) == 1


def _pair_by_treatment(chosen: dict[Channel, tuple[Proposal, ...]], undecided: dict[Channel, list[Proposal]]) -> None:
    """Torque named by the tester settles which power column belongs to it, and the other way round."""
    for channel, partner in ((Channel.POWER, Channel.TORQUE), (Channel.TORQUE, Channel.POWER)):
        if channel not in undecided or partner not in chosen:
            continue
        treatment = chosen[partner][0].treatment
        alike = [p for p in undecided[channel] if p.treatment is treatment]
        if treatment is not Treatment.UNSAID and len(alike) == 1:
            chosen[channel] = (alike[0],)
            del undecided[channel]


def _refuse(table: RawTable, undecided: dict[Channel, list[Proposal]], where: str) -> None:
    if not undecided:
        return
    what = "; ".join(f"{title_of(channel)} could be {_names(rivals)}" for channel, rivals in undecided.items())
    lines = "; and ".join(lines_for(rivals) for rivals in undecided.values())
    questions = tuple(
        ask(channel, f"{title_of(channel)} could be {_names(rivals)}", rivals, table)
        for channel, rivals in undecided.items()
    )
    raise MappingError(
        what,
        where=where,
        remedy=Way.COLUMNS.said(f"say which under [columns] in session.toml: {lines}"),
        questions=questions,
    )
