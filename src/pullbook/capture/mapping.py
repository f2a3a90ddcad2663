"""From a table of numbers to channels in SI: which column is what, in which unit, and why."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.identity import check_identity, refuse_contradiction
from pullbook.capture.mapping_choice import choose
from pullbook.capture.mapping_derive import derive, refuse_without_speed, refuse_without_torque
from pullbook.capture.mapping_proposals import Proposal, propose, read_unit
from pullbook.capture.mapping_reading import Reading, convert_all, settle_units
from pullbook.capture.mapping_rules import apply_rules
from pullbook.capture.stated_air import stated_air
from pullbook.errors import FileRefusedError
from pullbook.quantities.channels import Channel
from pullbook.quantities.units import Dimension
from pullbook.records.pull import Log, TorqueKind

if TYPE_CHECKING:
    from pullbook.records.declaration import ColumnRule
    from pullbook.records.table import RawTable, SourceFile

__all__ = ["survey", "understand"]

_SUPPLY: Final = re.compile(r"batt|supply|alternator|bordnetz|akku|\bv?ref\b", re.IGNORECASE)
_LOADS: Final = frozenset({Channel.LOAD_SIGNAL, Channel.TORQUE})
_BEYOND: Final = 1e20
_FEWEST_ROWS: Final = 3


def understand(source: SourceFile, table: RawTable, rules: tuple[ColumnRule, ...] = ()) -> Log:
    """Propose a channel for each column, with its reason, and convert to SI.

    Parameters
    ----------
    source : SourceFile
        The bytes.
    table : RawTable
        One table of it.
    rules : tuple of ColumnRule
        The tester's word; it wins over every name and unit in the file.

    Returns
    -------
    Log
        Channels in SI, with a choice and a reason for each, and the doubts. Where the file has no torque it is
        power over speed, or tractive force times road speed over engine speed, and a choice says so.

    Raises
    ------
    MappingError
        If a channel could be several columns, a unit that matters is missing or unknown, or power, torque and
        speed contradict each other; the line for ``session.toml`` is given.
    UnitError
        If a rule has a unit of another dimension or none.
    FileRefusedError
        If there is no engine speed, or nothing that stands for torque.

    Notes
    -----
    A missing unit of torque or power is found by power = torque times speed (5252.1, 7023.5, 9549.3) or refused;
    other missing units are assumed where the numbers fit one unit only, and the doubt states the assumption.
    """
    reading = _read(source, table, rules)
    signals = _signals(reading)
    turning = [p for p in _unused(reading, Channel.SPEED) if p.unit and p.unit.dimension is Dimension.SPEED]
    refuse_without_speed(reading.channels, table, turning, where=reading.where)
    misfits = tuple(says for channel, says in reading.proposals.misfits if channel is Channel.TORQUE)
    refuse_without_torque(reading.channels, signals, misfits, table, where=reading.where)
    return _log(source, reading)


def survey(source: SourceFile, table: RawTable, rules: tuple[ColumnRule, ...] = ()) -> Log:
    """As `understand`, for a table that need not hold torque or engine speed.

    Returns
    -------
    Log
        Whatever channels there are; for showing what a file holds, never for a comparison.
    """
    return _log(source, _read(source, table, rules))


def _read(source: SourceFile, table: RawTable, rules: tuple[ColumnRule, ...]) -> Reading:
    where = f"{source.name} ({table.sheet})" if table.sheet else source.name
    if table.rows.size < _FEWEST_ROWS:
        raise FileRefusedError(
            f"the table has only {table.rows.size} row(s) of numbers",
            where=where,
            remedy="give a file with a whole pull",
        )
    table = _without_sentinels(table)
    ruled = apply_rules(table, rules, where=where)
    proposals = propose(table, frozenset(p.index for p in ruled.values()))
    found = _relevant(proposals.found, ruled)
    chosen = choose(table, found, ruled, where=where)
    reading = Reading(
        table=table, where=where, chosen=chosen.columns, proposals=proposals,
        doubts=[*table.doubts, *chosen.doubts], questions=[*chosen.questions],
    )  # fmt: skip
    settle_units(reading)
    convert_all(reading)
    _derive(reading)
    _misfit_doubts(reading)
    return reading


def _without_sentinels(table: RawTable) -> RawTable:
    """Table in which numbers beyond any measurement (1E30 for "not connected") are blank, with a doubt."""
    columns, doubts = list(table.columns), list(table.doubts)
    for index, values in enumerate(table.columns):
        beyond = np.abs(values) > _BEYOND
        if not beyond.any():
            continue
        columns[index] = np.where(beyond, np.nan, values)
        first = float(values[beyond][0])
        doubts.append(
            f"{int(beyond.sum())} value(s) of column '{table.names[index]}' such as {first:g} were left blank"
        )
    return replace(table, columns=tuple(columns), doubts=tuple(doubts)) if len(doubts) > len(table.doubts) else table


def _relevant(found: tuple[Proposal, ...], ruled: dict[Channel, Proposal]) -> list[Proposal]:
    """Proposals without a load signal where torque or power is there: the signal is their raw form."""
    there = {p.channel for p in found} | ruled.keys()
    if {Channel.TORQUE, Channel.POWER} & there:
        return [p for p in found if p.channel is not Channel.LOAD_SIGNAL]
    return list(found)


def _derive(reading: Reading) -> None:
    columns = {channel: reading.column(channel) for channel in reading.channels}
    derived, choices, kind, doubts = derive(reading.channels, columns)
    reading.channels.update(derived)
    reading.choices.extend(choices)
    if kind is TorqueKind.RELATIVE or derived:
        reading.doubts.extend(doubts)


def _misfit_doubts(reading: Reading) -> None:
    """Say what was left out for its unit, where nothing else fills the channel."""
    quiet = {Channel.LOAD_SIGNAL, Channel.VEHICLE_SPEED}
    reading.doubts.extend(
        f"{says}; the column was left out"
        for channel, says in reading.proposals.misfits
        if channel not in reading.channels and channel not in quiet
    )


def _signals(reading: Reading) -> tuple[Proposal, ...]:
    """Columns that could be the load cell, for the remedy of a file without torque.

    Those in volts whatever their name, and those that say load or torque in a unit of force or mass.
    """
    says_load = {says.split("'")[1] for channel, says in reading.proposals.misfits if channel in _LOADS}
    found: list[Proposal] = []
    for proposal in _unused(reading, Channel.LOAD_SIGNAL):
        unit = proposal.unit
        in_volts = unit is not None and unit.dimension is Dimension.VOLTAGE and not _SUPPLY.search(proposal.column)
        a_force = unit is not None and unit.dimension in {Dimension.FORCE, Dimension.MASS}
        if in_volts or (a_force and proposal.column in says_load):
            found.append(proposal)
    return tuple(found)


def _unused(reading: Reading, channel: Channel) -> list[Proposal]:
    """Columns that became no channel, as proposals for one."""
    ignored = set(reading.proposals.ignored)
    return [
        Proposal(index=index, column=name, channel=channel, unit=read_unit(text), reason="its unit")
        for index, (name, text) in enumerate(zip(reading.table.names, reading.table.units, strict=True))
        if name in ignored
    ]


def _log(source: SourceFile, reading: Reading) -> Log:
    relative = Channel.TORQUE not in reading.channels and Channel.LOAD_SIGNAL in reading.channels
    used = {p.column for proposals in reading.chosen.values() for p in proposals}
    log = Log(
        source=source,
        channels=reading.channels,
        rows=reading.table.rows,
        choices=tuple(reading.choices),
        ignored=tuple(name for name in reading.table.names if name and name not in used),
        torque_kind=TorqueKind.RELATIVE if relative else TorqueKind.MEASURED,
        doubts=tuple(reading.doubts),
        questions=tuple(reading.questions),
        notes=reading.table.preamble,
        sheet=reading.table.sheet,
        air=stated_air(reading.table.preamble),
    )
    ruled = any(reading.chosen[c][0].ruled for c in (Channel.TORQUE, Channel.POWER) if c in reading.chosen)
    doubt = refuse_contradiction(check_identity(log), log.choices, ruled=ruled, where=reading.where)
    if not doubt:
        return log
    return replace(log, doubts=(*log.doubts, doubt))
