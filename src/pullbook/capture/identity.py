"""The identity power = torque times speed, asked of a log."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.curves.identity import AGREES_WITHIN, IdentityFinding, UnitSet, power_identity
from pullbook.errors import Choice, MappingError, Question, Way
from pullbook.quantities.channels import Channel

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.records.pull import ColumnChoice, Log

__all__ = ["check_identity", "refuse_contradiction"]

_CORRECTION: Final = (0.85, 1.15)  # a correction factor can be in this range, a mistake of units seldom is
_EXACT: Final = 0.002


def check_identity(log: Log) -> IdentityFinding | None:
    """Compare measured power with measured torque times speed.

    Parameters
    ----------
    log : Log
        A table as understood.

    Returns
    -------
    IdentityFinding or None
        None where torque, power and speed were not all three measured, or too few points can be compared.
    """
    units = {choice.channel: choice.unit for choice in log.choices if not _is_derived(choice)}
    needed = (Channel.SPEED, Channel.TORQUE, Channel.POWER)
    if not all(channel in log.channels and channel in units for channel in needed):
        return None
    stated = UnitSet(torque=units[Channel.TORQUE], power=units[Channel.POWER], speed=units[Channel.SPEED])
    speed, torque, power = (log.channels[channel] for channel in needed)
    return power_identity(speed, torque, power, stated=stated)


def _is_derived(choice: ColumnChoice) -> bool:
    return " power over " in choice.reason or " times road speed " in choice.reason


def refuse_contradiction(
    finding: IdentityFinding | None, choices: Sequence[ColumnChoice], *, ruled: bool, where: str
) -> str:
    """Doubt about torque, power and speed that do not agree.

    Parameters
    ----------
    finding : IdentityFinding or None
        From `check_identity`.
    choices : sequence of ColumnChoice
        Columns that were compared.
    ruled : bool
        The tester has said which unit torque or power is in.
    where : str
        File, for the message.

    Returns
    -------
    str
        The doubt, for a difference that a correction of one column alone can make or that the tester has settled;
        empty where the columns agree.

    Raises
    ------
    MappingError
        If a mistake of units explains the difference, or nothing does.
    """
    if finding is None or finding.agrees:
        return ""
    corrected_alone = _CORRECTION[0] < finding.ratio < _CORRECTION[1]
    exact = finding.spread < _EXACT
    too_close = abs(finding.ratio - 1.0) <= AGREES_WITHIN and finding.stated_is_usual
    if ruled or too_close or (corrected_alone and not (finding.probable and exact)):
        return finding.says
    raise MappingError(
        f"power, torque and speed contradict each other: {finding.says}", where=where,
        remedy=Way.COLUMNS.said("say the right units under [columns] in session.toml"),
        questions=(_question(finding, choices),),
    )  # fmt: skip


def _question(finding: IdentityFinding, choices: Sequence[ColumnChoice]) -> Question:
    """Units with which the three would agree; or to leave them as they are stated."""
    names = {choice.channel: choice.column for choice in choices}
    answers = [
        Choice(says=_difference(finding.stated, units), columns=_rules(finding.stated, units, names))
        for units in finding.probable
    ]
    stated = (
        (Channel.TORQUE.value, names[Channel.TORQUE], finding.stated.torque),
        (Channel.POWER.value, names[Channel.POWER], finding.stated.power),
    )
    kept = f"the units are right: {finding.stated.torque} and {finding.stated.power}; one of the two is scaled alone"
    return Question(about="torque", says="which of these is it?", choices=(*answers, Choice(says=kept, columns=stated)))


def _units(units: UnitSet) -> tuple[tuple[Channel, str], ...]:
    return (Channel.TORQUE, units.torque), (Channel.POWER, units.power), (Channel.SPEED, units.speed)


def _rules(stated: UnitSet, units: UnitSet, names: Mapping[Channel, str]) -> tuple[tuple[str, str, str], ...]:
    changed = [new for old, new in zip(_units(stated), _units(units), strict=True) if old != new]
    return tuple((channel.value, names[channel], unit) for channel, unit in changed)


def _difference(stated: UnitSet, units: UnitSet) -> str:
    changed = [new for old, new in zip(_units(stated), _units(units), strict=True) if old != new]
    return " and ".join(f"{channel.value} is in {unit}" for channel, unit in changed)
