"""The tester's word on columns: checked against the file, then final."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from pullbook.capture.mapping_proposals import Proposal, in_fitting_units, read_unit
from pullbook.capture.mapping_questions import ask, ask_unit, rule_line, same_unit, title_of
from pullbook.errors import MappingError, UnitError
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.name_matching import Treatment, match_name
from pullbook.quantities.units import UNITS, Dimension, Unit, parse_unit

if TYPE_CHECKING:
    from pullbook.records.declaration import ColumnRule
    from pullbook.records.table import RawTable

__all__ = ["apply_rules"]


def apply_rules(table: RawTable, rules: tuple[ColumnRule, ...], *, where: str) -> dict[Channel, Proposal]:
    """Columns that the tester has named, the last rule for a channel winning.

    Raises
    ------
    MappingError
        If a column is not in the table (the nearest name is given), or two channels claim one column.
    UnitError
        If the unit is missing in the rule and in the file, unknown, or of another dimension.
    """
    chosen = {rule.channel: _apply(table, rule, where) for rule in rules}
    owners: dict[int, Proposal] = {}
    for proposal in chosen.values():
        other = owners.setdefault(proposal.index, proposal)
        if other is not proposal:
            raise MappingError(
                f"the rules take column '{proposal.column}' for {other.channel.value} and for {proposal.channel.value}",
                where=where,
                remedy="name it in one line of [columns]",
            )
    return chosen


def _apply(table: RawTable, rule: ColumnRule, where: str) -> Proposal:
    index = _find(table, rule, where)
    dimension = CHANNELS[rule.channel].dimension
    match = match_name(table.names[index])
    return Proposal(
        index=index,
        column=table.names[index],
        channel=rule.channel,
        unit=_unit(table, rule, index, where, dimension),
        treatment=Treatment.UNSAID if match is None else match.treatment,
        number="" if match is None else match.number,
        reason="the session says so",
        ruled=True,
    )


def _find(table: RawTable, rule: ColumnRule, where: str) -> int:
    """Position of the column of a rule.

    It is found by its exact name, else without case and blanks; of several with the name, by its unit.
    """
    exact = [i for i, name in enumerate(table.names) if name == rule.column]
    loose = [i for i, name in enumerate(table.names) if _loose(name) == _loose(rule.column)]
    found = exact or loose
    if len(found) > 1 and rule.unit:
        found = [i for i in found if same_unit(table.units[i], rule.unit)] or found
    if len(found) == 1:
        return found[0]
    key = f"{where}: [columns] {rule.channel.value}"
    if found:
        raise MappingError(
            f"{len(found)} columns have this name", where=key, value=rule.column,
            remedy="give the columns different names in the file",
        )  # fmt: skip
    near = difflib.get_close_matches(rule.column, table.names, n=3, cutoff=0.4)
    hint = f"did you mean '{near[0]}'? " if near else ""
    listed = ", ".join(f"'{name}'" for name in table.names[:12] if name)
    more = f" and {len(table.names) - 12} more" if len(table.names) > 12 else ""
    says = f"the file has no column '{rule.column}'; which one is {title_of(rule.channel)}?"
    raise MappingError(
        "the file has no such column", where=key, value=rule.column, remedy=f"{hint}the file has {listed}{more}",
        questions=(ask(rule.channel, says, _likely(table, rule, near), table),),
    )  # fmt: skip


def _likely(table: RawTable, rule: ColumnRule, near: list[str]) -> list[Proposal]:
    """Columns that a rule may mean whose column is not there: those of a like name, then those in a fitting unit."""
    fitting = {proposal.index: proposal for proposal in in_fitting_units(table, rule.channel)}
    alike = [
        Proposal(index=index, column=name, channel=rule.channel, unit=None, reason="its name")
        for name in near
        for index in (table.names.index(name),)
    ]
    found = {proposal.index: fitting.get(proposal.index, proposal) for proposal in alike} | fitting
    return list(found.values())


def _loose(name: str) -> str:
    return "".join(name.split()).casefold()


def _unit(table: RawTable, rule: ColumnRule, index: int, where: str, dimension: Dimension) -> Unit:
    """Unit of a rule, else of the file; a load signal may have any, because only its ratio is used."""
    key = f"{where}: [columns] {rule.channel.value}"
    match = match_name(table.names[index])
    written = rule.unit or table.units[index] or ("" if match is None else match.unit)
    if not written:
        raise UnitError(
            f"the unit of column '{rule.column}' is missing in the rule and in the file", where=key,
            remedy=f"write for example {rule_line(rule.channel, rule.column, _metric(rule.channel))}",
            questions=(ask_unit(rule.channel, rule.column, f"in which unit is column '{rule.column}'?"),),
        )  # fmt: skip
    special = read_unit(written, dimension)
    anything = rule.channel is Channel.LOAD_SIGNAL
    if special is not None and (anything or special.dimension is dimension):
        return special
    if special is not None and special.symbol == "1" and dimension is Dimension.MIXTURE:
        return UNITS["lambda"]
    return parse_unit(written, where=key, dimension=None if anything else dimension)


def _metric(channel: Channel) -> str:
    return CHANNELS[channel].symbol_metric
