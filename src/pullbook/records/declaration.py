"""PullEntry, Claim, Limit and their parts: the lines of ``session.toml``, in SI."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from datetime import datetime

    from pullbook.quantities.channels import Channel

__all__ = [
    "NO_AIR",
    "Air",
    "Claim",
    "ColumnRule",
    "Limit",
    "PullEntry",
    "Quantity",
    "Standard",
]


class Standard(StrEnum):
    """Correction standards, by the name that ``session.toml`` uses."""

    NONE = "none"
    SAE_J1349 = "SAE J1349"
    SAE_J607 = "SAE J607"
    ISO_1585 = "ISO 1585"
    ISO_1585_DIESEL = "ISO 1585 diesel"
    ISO_3046 = "ISO 3046-1"
    DIN_70020 = "DIN 70020"
    JIS_D1001 = "JIS D 1001"


class Quantity(StrEnum):
    """What a claim is about."""

    TORQUE = "torque"
    POWER = "power"


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """Air at the engine inlet; None where nobody measured it.

    Attributes
    ----------
    temperature : float or None
        Inlet air temperature. [K]
    pressure : float or None
        Absolute pressure at the inlet, water vapour included. [Pa]
    humidity : float or None
        Relative humidity. [1]
    """

    temperature: float | None = None
    pressure: float | None = None
    humidity: float | None = None


NO_AIR: Final = Air()


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnRule:
    """The tester's word on which column is which channel.

    Attributes
    ----------
    channel : Channel
        The channel.
    column : str
        Column name as the file writes it.
    unit : str
        Unit; empty for the one that the file names.
    """

    channel: Channel
    column: str
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PullEntry:
    """One ``[[pull]]`` of the run order.

    Attributes
    ----------
    build : str
        Name of the build.
    file : str
        Path relative to the session folder, forward slashes.
    which : int
        Which pull of the file, from 1; 0 for "the only one".
    time : datetime or None
        When it was made.
    air : Air
        Weather as written down; channels of the file win.
    received : Standard
        What the numbers in the file were already corrected to; NONE for observed.
    refitted : bool
        Parts were taken off and put on again before this pull.
    left_out : str
        Why the tester leaves it out; empty to keep it.
    columns : tuple of ColumnRule
        Rules for this file alone; they win over those of the session.
    """

    build: str
    file: str
    which: int = 0
    time: datetime | None = None
    air: Air
    received: Standard = Standard.NONE
    refitted: bool = False
    left_out: str = ""
    columns: tuple[ColumnRule, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A sentence that can be true or false, with a number in it.

    Attributes
    ----------
    id : str
        Short name, unique in the session.
    says : str
        The sentence.
    of, from_ : str
        Build that gains, and build it is compared with.
    same_as : tuple of (str, str) or None
        A second pair (of, from): the claim is then about the difference of the two gains.
    quantity : Quantity
        Torque or power.
    where : tuple of (float, float) or None
        Range [rpm]; equal ends for one speed; None for the peak of each curve.
    at_least, at_most, within : float or None
        Exactly one is given. [N m or W; 1 when `in_percent`]
    in_percent : bool
        The number is a share of the curve of `from_`.
    """

    id: str
    says: str
    of: str
    from_: str
    same_as: tuple[str, str] | None = None
    quantity: Quantity
    where: tuple[float, float] | None
    at_least: float | None = None
    at_most: float | None = None
    within: float | None = None
    in_percent: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """Range that a channel has to keep during a pull.

    Attributes
    ----------
    channel : Channel
        The channel.
    low, high : float
        Ends of the range. [SI unit of the channel]
    """

    channel: Channel
    low: float
    high: float
