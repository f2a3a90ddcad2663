"""The identity power = torque times speed, asked of a log."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.curves.identity import AGREES_WITHIN, IdentityFinding, UnitSet, power_identity
from pullbook.errors import MappingError
from pullbook.quantities.channels import Channel

if TYPE_CHECKING:
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


def refuse_contradiction(finding: IdentityFinding | None, *, ruled: bool, where: str) -> str:
    """Doubt about torque, power and speed that do not agree.

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
        remedy="say the right units under [columns] in session.toml",
    )  # fmt: skip
