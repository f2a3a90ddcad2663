"""What is asked of the tester about the columns of a table, with the answers to choose from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file_keys import OBSERVED, STANDARDS
from pullbook.errors import Choice, Question
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.units import UNITS, Dimension, find_unit
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.capture.mapping_proposals import Proposal
    from pullbook.records.table import RawTable

__all__ = [
    "ask",
    "ask_received",
    "ask_unit",
    "rule_line",
    "same_unit",
    "title_of",
    "usual_units",
    "which_is",
]

_USUAL: Final[dict[Channel, tuple[str, ...]]] = {
    Channel.TORQUE: ("N m", "lb ft"),
    Channel.POWER: ("kW", "hp", "PS"),
    Channel.SPEED: ("rpm", "rad/s"),
    Channel.TRACTIVE_FORCE: ("N", "lbf"),
    Channel.LOAD_SIGNAL: ("V", "mV"),
}
_OF_A_SIGNAL: Final = (Dimension.VOLTAGE, Dimension.FORCE, Dimension.MASS, Dimension.TORQUE, Dimension.RATIO)


def rule_line(channel: Channel, column: str, unit: str) -> str:
    """Line of ``session.toml`` that settles a column, as it has to be written.

    Examples
    --------
    >>> rule_line(Channel.TORQUE, "Torque Corr", "lb ft")
    'torque = { column = "Torque Corr", unit = "lb ft" }'
    """
    name = column.replace("\\", "\\\\").replace('"', '\\"')
    return f'{channel.value} = {{ column = "{name}", unit = "{unit}" }}'


def title_of(channel: Channel) -> str:
    """Channel in words."""
    return channel.value.replace("_", " ")


def usual_units(channel: Channel) -> tuple[str, ...]:
    """Units that benches write a channel in, the one to propose first."""
    return _USUAL.get(channel, (CHANNELS[channel].symbol_metric,))


def same_unit(one: str, other: str) -> bool:
    """Whether two texts stand for one unit, however they are spelt."""
    found = find_unit(one)
    return found is not None and found == find_unit(other)


def _can_be_named(table: RawTable, column: str, unit: str) -> bool:
    """Whether a name, or where several columns have it the name and the unit, mean one column."""
    named = [written for name, written in zip(table.names, table.units, strict=True) if name == column]
    return len(named) == 1 or sum(same_unit(written, unit) for written in named) == 1


def _units_of(channel: Channel) -> tuple[str, ...]:
    """All units that a channel can be in, the usual ones first; a signal may be in any."""
    dimensions = _OF_A_SIGNAL if channel is Channel.LOAD_SIGNAL else (CHANNELS[channel].dimension,)
    usual = (*usual_units(channel), CHANNELS[channel].symbol_us)
    known = (unit.symbol for dimension in dimensions for unit in UNITS.values() if unit.dimension is dimension)
    return tuple(dict.fromkeys((*usual, *known)))


def _choice(channel: Channel, column: str, unit: str) -> Choice:
    """The choice of a column and its unit for a channel."""
    in_per_cent = ", a signal that is compared in per cent" if channel is Channel.LOAD_SIGNAL else ""
    says = f"'{column}' in {_words(unit)}{in_per_cent}"
    return Choice(says=says, columns=((channel.value, column, unit),))


def _words(unit: str) -> str:
    return {"1": "parts of one", "%": "per cent"}.get(unit, unit)


def ask(channel: Channel, says: str, proposals: Sequence[Proposal], table: RawTable) -> Question:
    """Question which column is a channel.

    Parameters
    ----------
    channel : Channel
        What is sought.
    says : str
        What is in doubt.
    proposals : sequence of Proposal
        Columns to choose from; one without a known unit is offered in each usual one.
    table : RawTable
        Where they stand; any other of its columns can be named as well.

    Returns
    -------
    Question
        One that has to be answered.
    """
    choices = [
        _choice(channel, p.column, unit)
        for p in proposals
        for unit in ((p.unit.symbol,) if p.unit is not None else usual_units(channel))
        if _can_be_named(table, p.column, unit)
    ]
    columns = zip(table.names, table.units, strict=True)
    others = tuple((name, unit) for name, unit in columns if name and table.names.count(name) == 1)
    return Question(
        about=channel.value, says=says, choices=tuple(choices), others=others, units=_units_of(channel)
    )  # fmt: skip


def which_is(role: str, proposals: Sequence[Proposal]) -> str:
    """Question for a role that nothing but a unit speaks for.

    Parameters
    ----------
    role : str
        What is sought, with its article.
    proposals : sequence of Proposal
        Columns that it could be.
    """
    return f"is '{proposals[0].column}' {role}?" if len(proposals) == 1 else f"which of these columns is {role}?"


def ask_unit(channel: Channel, column: str, says: str, first: Sequence[str] = (), doubt: str = "") -> Question:
    """Question which unit a column is in.

    Parameters
    ----------
    channel : Channel
        What the column is.
    column : str
        Name as the file writes it.
    says : str
        What is in doubt.
    first : sequence of str
        Units to propose first.
    doubt : str
        The doubt that was noted where one of them was assumed.

    Returns
    -------
    Question
        One that has to be answered unless `doubt` says what was assumed.
    """
    units = dict.fromkeys((*first, *usual_units(channel)))
    return Question(
        about=channel.value, says=says, choices=tuple(_choice(channel, column, unit) for unit in units),
        others=((column, ""),), units=_units_of(channel), needed=not doubt, doubt=doubt,
    )  # fmt: skip


def ask_received(column: str, doubt: str) -> Question:
    """Question which standard a column is corrected to."""
    full = [name for name, standard in STANDARDS.items() if standard is not Standard.NONE and name == standard.value]
    as_observed = Choice(says="to none: the numbers are as observed", received=OBSERVED)
    return Question(
        about="received", says=f"column '{column}' says that it is corrected; to which standard?",
        choices=(*(Choice(says=f"to {name}", received=name) for name in full), as_observed),
        needed=False, doubt=doubt,
    )  # fmt: skip
