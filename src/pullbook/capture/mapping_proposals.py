"""Which channel each column could be, from its name and its unit, with the reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.name_matching import NameMatch, Treatment, match_name
from pullbook.quantities.units import UNITS, Dimension, Unit, find_unit

if TYPE_CHECKING:
    from pullbook.records.table import RawTable

__all__ = ["Proposal", "Proposals", "in_fitting_units", "propose", "read_unit"]

# Spark before top dead centre is positive inside; a column that counts after it is turned round.
AFTER_TOP_DEAD_CENTRE: Final = Unit(symbol="deg ATDC", dimension=Dimension.ANGLE, factor=-1.0)
_AFTER: Final = frozenset({"degatdc", "°atdc", "atdc", "deg atdc", "dega tdc", "° atdc", "°not", "caatdc", "°ca atdc"})
_THOUSANDS: Final = frozenset({"x1000", "*1000", "1000", "/1000", "k"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One column taken for one channel.

    Attributes
    ----------
    index : int
        Position of the column in the table, from 0. [1]
    column : str
        Name as the file writes it.
    channel : Channel
        What it is taken for.
    unit : Unit or None
        Unit of its values; None where the file gives none.
    unknown_unit : str
        Unit as the file writes it, where pullbook does not know it.
    treatment : Treatment
        Whether its name says corrected or uncorrected.
    number : str
        Number that tells it from its siblings.
    reason : str
        Why, in words that can follow "because".
    ruled : bool
        The tester said so.
    """

    index: int
    column: str
    channel: Channel
    unit: Unit | None
    unknown_unit: str = ""
    treatment: Treatment = Treatment.UNSAID
    number: str = ""
    reason: str
    ruled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposals:
    """What the columns of a table could be.

    Attributes
    ----------
    found : tuple of Proposal
        Columns with a channel.
    misfits : tuple of (Channel, str)
        Columns whose name is that of a channel and whose unit is not, with the sentence about it.
    ignored : tuple of str
        Columns that are no known channel.
    """

    found: tuple[Proposal, ...]
    misfits: tuple[tuple[Channel, str], ...]
    ignored: tuple[str, ...]


def read_unit(text: str, dimension: Dimension | None = None) -> Unit | None:
    """Unit of a column, with the two spellings that only a column can have.

    Examples
    --------
    >>> read_unit("°ATDC").factor, read_unit("x1000", Dimension.SPEED).symbol
    (-1.0, 'krpm')
    """
    plain = text.strip().lower()
    if plain in _AFTER:
        return AFTER_TOP_DEAD_CENTRE
    if dimension is Dimension.SPEED and plain in _THOUSANDS:
        return UNITS["krpm"]
    return find_unit(text) if plain else None


def propose(table: RawTable, taken: frozenset[int]) -> Proposals:
    """What each column could be, leaving out those that the tester has already named."""
    found: list[Proposal] = []
    misfits: list[tuple[Channel, str]] = []
    ignored: list[str] = []
    for index, (name, unit_text) in enumerate(zip(table.names, table.units, strict=True)):
        if index in taken:
            continue
        shown = name or unit_text
        match = match_name(shown) if shown and np.isfinite(table.columns[index]).any() else None
        if match is None:
            ignored.extend([name] if name else [])
            continue
        outcome = _one(index, shown, unit_text, match, _top(table, index))
        if isinstance(outcome, Proposal):
            found.append(outcome)
        else:
            misfits.extend((channel, outcome) for channel in match.channels)
            ignored.append(shown)
    return Proposals(found=tuple(found), misfits=tuple(misfits), ignored=tuple(ignored))


def in_fitting_units(table: RawTable, channel: Channel) -> list[Proposal]:
    """Columns in a unit of a channel, whatever their names are, as proposals for it."""
    dimension = CHANNELS[channel].dimension
    units = [read_unit(text, dimension) for text in table.units]
    return [
        Proposal(index=index, column=name, channel=channel, unit=unit, reason="its unit")
        for index, (name, unit) in enumerate(zip(table.names, units, strict=True))
        if name and unit is not None and unit.dimension is dimension
    ]


def _top(table: RawTable, index: int) -> float:
    return float(np.nanmax(table.columns[index]))


def _one(index: int, name: str, unit_text: str, match: NameMatch, top: float) -> Proposal | str:
    """Proposal for one column, or the sentence that says why its unit does not fit its name."""
    first = CHANNELS[match.channels[0]].dimension
    unit = read_unit(unit_text, first) or (UNITS[match.unit] if match.unit and not unit_text.strip() else None)
    unknown = unit_text.strip() if unit is None else ""
    if unit is None:
        if match.needs_unit:
            return f"the name '{name}' is too short to be taken without a unit"
        channel = _without_unit(match.channels, top)
    else:
        fitting = _fitting(match.channels, unit)
        if fitting is None:
            return f"'{name}' is in {unit.symbol}, which is no unit of {first}"
        channel, unit = fitting
    return Proposal(
        index=index,
        column=name,
        channel=channel,
        unit=unit,
        unknown_unit=unknown,
        treatment=match.treatment,
        number=match.number,
        reason=_reason(match, unit, unit_text),
    )


def _reason(match: NameMatch, unit: Unit | None, unit_text: str) -> str:
    if unit is None or not unit_text.strip():
        return match.reason
    return f"{match.reason} and {unit.symbol} is a unit of {unit.dimension}"


def _without_unit(channels: tuple[Channel, ...], top: float) -> Channel:
    """Channel of a name without a unit: "Speed" up to some thousands is the engine's, else the vehicle's."""
    if Channel.SPEED in channels and Channel.VEHICLE_SPEED in channels:
        return Channel.SPEED if top > 400.0 else Channel.VEHICLE_SPEED
    return channels[0]


def _fitting(channels: tuple[Channel, ...], unit: Unit) -> tuple[Channel, Unit] | None:
    """First channel that the unit can be of, and the unit as that channel reads it."""
    for channel in channels:
        dimension = CHANNELS[channel].dimension
        if dimension is unit.dimension:
            return channel, unit
        if dimension is Dimension.MIXTURE and unit.symbol == "1":
            return channel, UNITS["lambda"]
    if unit.dimension is Dimension.VOLTAGE and {Channel.TORQUE, Channel.LOAD_SIGNAL} & set(channels):
        return Channel.LOAD_SIGNAL, unit
    return None
