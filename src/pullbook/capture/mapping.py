"""From a table of numbers to channels in SI: which column is what, in which unit, and why."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.identity import check_identity, refuse_contradiction
from pullbook.capture.mapping_choice import choose
from pullbook.capture.mapping_derive import derive, refuse_without_speed, refuse_without_torque
from pullbook.capture.mapping_notes import stated_speed
from pullbook.capture.mapping_proposals import Proposal, Proposals, propose, read_unit
from pullbook.capture.mapping_rules import apply_rules, rule_line
from pullbook.capture.mapping_units import MISSING_IS_FATAL, assume, by_identity, convert, refuse_unit
from pullbook.errors import FileRefusedError
from pullbook.quantities.channels import Channel
from pullbook.quantities.name_matching import Treatment
from pullbook.quantities.units import UNITS, Dimension
from pullbook.records.pull import ColumnChoice, Log, TorqueKind

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.quantities.units import Unit
    from pullbook.records.declaration import ColumnRule
    from pullbook.records.table import RawTable, SourceFile

__all__ = ["survey", "understand"]

_SUPPLY: Final = re.compile(r"batt|supply|alternator|bordnetz|batter|akku|ref", re.IGNORECASE)
_BEYOND: Final = 1e20
_FEWEST_ROWS: Final = 3
_SLOWEST_TOP: Final = 100.0
_FASTEST_TOP: Final = 30_000.0


@dataclass(slots=True)
class _Reading:
    """What has been settled of a table so far."""

    table: RawTable
    where: str
    chosen: dict[Channel, tuple[Proposal, ...]]
    proposals: Proposals
    doubts: list[str] = field(default_factory=list)
    units: dict[Channel, Unit] = field(default_factory=dict)
    channels: dict[Channel, FloatArray] = field(default_factory=dict)
    choices: list[ColumnChoice] = field(default_factory=list)

    def values(self, channel: Channel) -> FloatArray:
        """Values of a channel as written; the mean where siblings share it."""
        columns = [self.table.columns[p.index] for p in self.chosen[channel]]
        return columns[0] if len(columns) == 1 else np.mean(columns, axis=0)

    def column(self, channel: Channel) -> str:
        """Name of the column, or of the columns, of a channel."""
        return ", ".join(p.column for p in self.chosen[channel])


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
    constant = None if Channel.SPEED in reading.channels else stated_speed(table.preamble)
    refuse_without_speed(reading.channels, table.names, constant=constant, where=reading.where)
    misfits = tuple(says for channel, says in reading.proposals.misfits if channel is Channel.TORQUE)
    refuse_without_torque(reading.channels, signals, misfits, table.names, where=reading.where)
    return _log(source, reading)


def survey(source: SourceFile, table: RawTable, rules: tuple[ColumnRule, ...] = ()) -> Log:
    """As `understand`, for a table that need not hold torque or engine speed.

    Returns
    -------
    Log
        Whatever channels there are; for showing what a file holds, never for a comparison.
    """
    return _log(source, _read(source, table, rules))


def _read(source: SourceFile, table: RawTable, rules: tuple[ColumnRule, ...]) -> _Reading:
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
    chosen, doubts = choose(table, found, ruled, where=where)
    reading = _Reading(table=table, where=where, chosen=chosen, proposals=proposals, doubts=[*table.doubts, *doubts])
    _settle_units(reading)
    _convert_all(reading)
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


def _settle_units(reading: _Reading) -> None:
    """Unit of each chosen channel, known, found by the identity, assumed, or given up."""
    missing: list[Channel] = []
    for channel, proposals in reading.chosen.items():
        unit = proposals[0].unit
        if unit is None:
            missing.append(channel)
        else:
            reading.units[channel] = unit
    missing.sort(key=lambda channel: channel is not Channel.SPEED)
    for channel in missing:
        if channel not in reading.units:
            _settle_missing(reading, channel)


def _settle_missing(reading: _Reading, channel: Channel) -> None:
    proposal = reading.chosen[channel][0]
    if channel in {Channel.TORQUE, Channel.POWER}:
        if not proposal.unknown_unit and _settle_by_identity(reading):
            return
        raise refuse_unit(proposal, where=reading.where)
    assumed = assume(proposal, reading.values(channel))
    if assumed is not None:
        reading.units[channel], doubt = assumed
        reading.doubts.append(doubt)
        return
    if channel in MISSING_IS_FATAL:
        raise refuse_unit(proposal, where=reading.where)
    reading.doubts.append(str(refuse_unit(proposal, where="", why=", so it was left out")).rstrip("."))
    del reading.chosen[channel]


def _settle_by_identity(reading: _Reading) -> bool:
    """Find the units of torque and power that agree with speed; False where the identity cannot tell."""
    trio = (Channel.SPEED, Channel.TORQUE, Channel.POWER)
    if not all(channel in reading.chosen for channel in trio) or Channel.SPEED not in reading.units:
        return False
    columns = {channel: reading.values(channel) for channel in trio}
    fits = by_identity(columns, {channel: reading.units.get(channel) for channel in trio})
    if len(fits) != 1:
        return False
    for channel, symbol in ((Channel.TORQUE, fits[0].torque), (Channel.POWER, fits[0].power)):
        if channel in reading.units:
            continue
        reading.units[channel] = UNITS[symbol]
        reading.doubts.append(
            f"column '{reading.column(channel)}' has no unit: {symbol} was found because power is torque times speed "
            f"then (torque times speed over power is {fits[0].constant:.1f}); to settle it, put under [columns] in "
            f"session.toml {rule_line(channel, reading.column(channel), symbol)}"
        )
    return True


def _convert_all(reading: _Reading) -> None:
    for channel, unit in reading.units.items():
        proposal = reading.chosen[channel][0]
        values, really, doubt = convert(proposal, reading.values(channel), unit)
        reading.channels[channel] = values
        reading.doubts.extend([doubt] if doubt else [])
        reading.choices.append(
            ColumnChoice(channel=channel, column=reading.column(channel), unit=really.symbol, reason=proposal.reason)
        )
        if proposal.treatment is Treatment.CORRECTED and not proposal.ruled:
            reading.doubts.append(
                f"column '{proposal.column}' says that it is corrected: say by which standard with 'received' in "
                "session.toml, or it would be corrected twice"
            )
    _speed_must_be_sensible(reading)


def _speed_must_be_sensible(reading: _Reading) -> None:
    """Refuse an engine speed whose numbers cannot be in its unit: thousands written as rpm, rpm written as rad/s."""
    speed = reading.channels.get(Channel.SPEED)
    if speed is None:
        return
    top = float(np.nanmax(np.abs(speed)))
    if top == 0.0 or _SLOWEST_TOP <= top <= _FASTEST_TOP or reading.chosen[Channel.SPEED][0].ruled:
        return
    stated = reading.units[Channel.SPEED].symbol
    raise refuse_unit(
        reading.chosen[Channel.SPEED][0], where=reading.where,
        why=f" or wrong (in {stated} the fastest row would be {top:.4g} rpm)",
    )  # fmt: skip


def _derive(reading: _Reading) -> None:
    columns = {channel: reading.column(channel) for channel in reading.channels}
    derived, choices, kind, doubts = derive(reading.channels, columns)
    reading.channels.update(derived)
    reading.choices.extend(choices)
    if kind is TorqueKind.RELATIVE or derived:
        reading.doubts.extend(doubts)


def _misfit_doubts(reading: _Reading) -> None:
    """Say what was left out for its unit, where nothing else fills the channel."""
    quiet = {Channel.LOAD_SIGNAL, Channel.VEHICLE_SPEED}
    reading.doubts.extend(
        f"{says}; the column was left out"
        for channel, says in reading.proposals.misfits
        if channel not in reading.channels and channel not in quiet
    )


def _signals(reading: _Reading) -> tuple[Proposal, ...]:
    """Columns in volts that could be the load cell, for the remedy of a file without torque."""
    table, ignored = reading.table, set(reading.proposals.ignored)
    found: list[Proposal] = []
    for index, (name, text) in enumerate(zip(table.names, table.units, strict=True)):
        unit = read_unit(text)
        if unit is None or unit.dimension is not Dimension.VOLTAGE or name not in ignored or _SUPPLY.search(name):
            continue
        found.append(
            Proposal(index=index, column=name, channel=Channel.LOAD_SIGNAL, unit=unit, reason="it is in volts")
        )
    return tuple(found)


def _log(source: SourceFile, reading: _Reading) -> Log:
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
        notes=reading.table.preamble,
        sheet=reading.table.sheet,
    )
    ruled = any(reading.chosen[c][0].ruled for c in (Channel.TORQUE, Channel.POWER) if c in reading.chosen)
    doubt = refuse_contradiction(check_identity(log), ruled=ruled, where=reading.where)
    if not doubt:
        return log
    return replace(log, doubts=(*log.doubts, doubt))
