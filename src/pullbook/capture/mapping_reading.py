"""A table on its way to a log: units settled, values converted, every doubt written down."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.mapping_questions import ask_received, ask_unit, rule_line, usual_units
from pullbook.capture.mapping_units import MISSING_IS_FATAL, assume, by_identity, convert, refuse_unit
from pullbook.quantities.channels import Channel
from pullbook.quantities.name_matching import Treatment
from pullbook.quantities.units import UNITS
from pullbook.records.pull import ColumnChoice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.mapping_proposals import Proposal, Proposals
    from pullbook.errors import Question
    from pullbook.quantities.arrays import FloatArray
    from pullbook.quantities.units import Unit
    from pullbook.records.table import RawTable

__all__ = ["Reading", "convert_all", "settle_units"]

_SLOWEST_TOP: Final = 100.0
_FASTEST_TOP: Final = 30_000.0


@dataclass(slots=True)
class Reading:
    """What has been settled of a table so far.

    Attributes
    ----------
    table : RawTable
        The table.
    where : str
        File and sheet, for messages.
    chosen : dict of Channel to tuple of Proposal
        Columns of each channel.
    proposals : Proposals
        What each column could have been.
    doubts : list of str
        Sentences so far.
    units : dict of Channel to Unit
        Unit of each channel.
    channels : dict of Channel to (n,) array of float
        Values so far. [SI unit of the channel]
    choices : list of ColumnChoice
        Choices so far.
    questions : list of Question
        What the tester could settle, so far.
    """

    table: RawTable
    where: str
    chosen: dict[Channel, tuple[Proposal, ...]]
    proposals: Proposals
    doubts: list[str] = field(default_factory=list)
    units: dict[Channel, Unit] = field(default_factory=dict)
    channels: dict[Channel, FloatArray] = field(default_factory=dict)
    choices: list[ColumnChoice] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)

    def doubt_unit(self, channel: Channel, doubt: str, units: Sequence[str]) -> None:
        """Note a doubt about the unit of a channel, and the units that the tester may choose from."""
        self.doubts.append(doubt)
        if len(self.chosen[channel]) == 1:
            column = self.column(channel)
            says = f"in which unit is column '{column}'?"
            self.questions.append(ask_unit(channel, column, says, units, doubt))

    def values(self, channel: Channel) -> FloatArray:
        """Values of a channel as written; the mean where siblings share it."""
        columns = [self.table.columns[p.index] for p in self.chosen[channel]]
        return columns[0] if len(columns) == 1 else np.mean(columns, axis=0)

    def column(self, channel: Channel) -> str:
        """Name of the column, or of the columns, of a channel."""
        return ", ".join(p.column for p in self.chosen[channel])


def settle_units(reading: Reading) -> None:
    """Fill in the unit of each chosen channel: known, found by the identity, assumed, or given up with a doubt.

    Raises
    ------
    MappingError
        If the unit of speed, torque, power, load or tractive force is missing and nothing tells it.
    """
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


def _settle_missing(reading: Reading, channel: Channel) -> None:
    proposal = reading.chosen[channel][0]
    if channel in {Channel.TORQUE, Channel.POWER}:
        if not proposal.unknown_unit and _settle_by_identity(reading):
            return
        raise refuse_unit(proposal, where=reading.where)
    assumed = assume(proposal, reading.values(channel))
    if assumed is not None:
        reading.units[channel], doubt = assumed
        reading.doubt_unit(channel, doubt, (reading.units[channel].symbol,))
        return
    if channel in MISSING_IS_FATAL:
        raise refuse_unit(proposal, where=reading.where)
    doubt = str(refuse_unit(proposal, where="", why=", so it was left out")).rstrip(".")
    reading.doubt_unit(channel, doubt, usual_units(channel))
    del reading.chosen[channel]


def _settle_by_identity(reading: Reading) -> bool:
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
        doubt = (
            f"column '{reading.column(channel)}' has no unit: {symbol} was found because power is torque times speed "
            f"then (torque times speed over power is {fits[0].constant:.1f}); to settle it, put under [columns] in "
            f"session.toml {rule_line(channel, reading.column(channel), symbol)}"
        )
        reading.doubt_unit(channel, doubt, (symbol,))
    return True


def convert_all(reading: Reading) -> None:
    """Fill in the values of every channel whose unit is settled, with its choice and its doubts.

    Raises
    ------
    MappingError
        If engine speed cannot be in its unit: the fastest row would be below 100 or above 30,000 rpm.
    """
    for channel, unit in reading.units.items():
        proposal = reading.chosen[channel][0]
        values, really, doubt = convert(proposal, reading.values(channel), unit)
        reading.channels[channel] = values
        if doubt:
            reading.doubt_unit(channel, doubt, (really.symbol, unit.symbol))
        reading.choices.append(
            ColumnChoice(channel=channel, column=reading.column(channel), unit=really.symbol, reason=proposal.reason)
        )
        if proposal.treatment is Treatment.CORRECTED and not proposal.ruled:
            doubt = (
                f"column '{proposal.column}' says that it is corrected: say by which standard with 'received' in "
                "session.toml, or it would be corrected twice"
            )
            reading.doubts.append(doubt)
            reading.questions.append(ask_received(proposal.column, doubt))
    _speed_must_be_sensible(reading)


def _speed_must_be_sensible(reading: Reading) -> None:
    """Refuse an engine speed whose numbers cannot be in its unit: thousands written as rpm, rpm written as rad/s."""
    speed = reading.channels.get(Channel.SPEED)
    if speed is None or not np.isfinite(speed).any():
        return
    top = float(np.nanmax(np.abs(speed)))
    if top == 0.0 or _SLOWEST_TOP <= top <= _FASTEST_TOP or reading.chosen[Channel.SPEED][0].ruled:
        return
    stated = reading.units[Channel.SPEED].symbol
    raise refuse_unit(
        reading.chosen[Channel.SPEED][0], where=reading.where,
        why=f" or wrong (in {stated} the fastest row would be {top:.4g} rpm)",
    )  # fmt: skip
