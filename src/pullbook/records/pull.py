"""Log and Pull: channels in SI, and the stretches of them that are full-throttle pulls."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats, frozen_ints
from pullbook.records.declaration import NO_AIR

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.errors import Question
    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.quantities.channels import Channel
    from pullbook.records.declaration import Air
    from pullbook.records.table import SourceFile

__all__ = ["ColumnChoice", "Direction", "Log", "Pull", "TorqueKind"]


class TorqueKind(StrEnum):
    """What the numbers in the torque channel are."""

    MEASURED = "measured"  # N m at the crank, or at the wheels on a chassis dynamometer
    RELATIVE = "relative"  # volts or an uncalibrated signal: compared in per cent, never shown as torque


class Direction(StrEnum):
    """How the engine speed moved during a pull."""

    UP = "up"
    DOWN = "down"
    STEPS = "steps"  # steady points


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnChoice:
    """Which column became which channel, and why.

    Attributes
    ----------
    channel : Channel
        What it was taken for.
    column : str
        Name as the file writes it.
    unit : str
        Unit in which the values were read.
    reason : str
        Why, in words that can follow "because".
    """

    channel: Channel
    column: str
    unit: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Log:
    """One table as understood: channels in SI, with every choice named.

    Attributes
    ----------
    source : SourceFile
        The bytes.
    channels : mapping of Channel to (n,) array of float
        Values in SI (rpm for speed, degrees for angles); NaN where the file has none. When `torque_kind` is
        relative, `Channel.TORQUE` is absent and `Channel.LOAD_SIGNAL` holds the signal as recorded. [SI unit of the
        channel]
    rows : (n,) array of int
        Row of the file of each record, from 1.
    choices : tuple of ColumnChoice
        Which column became which channel.
    ignored : tuple of str
        Columns that are no channel that pullbook knows.
    torque_kind : TorqueKind
        Whether torque is torque.
    doubts : tuple of str
        Sentences about what had to be guessed.
    questions : tuple of Question
        Doubts that the tester can settle by choosing.
    notes : tuple of str
        Lines of the file outside the table.
    sheet : str
        Sheet or channel group.
    air : Air
        Weather that the file states outside the table.
    """

    source: SourceFile
    channels: Mapping[Channel, FloatArray]
    rows: IntArray
    choices: tuple[ColumnChoice, ...]
    ignored: tuple[str, ...] = ()
    torque_kind: TorqueKind = TorqueKind.MEASURED
    doubts: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()
    sheet: str = ""
    air: Air = NO_AIR

    def __post_init__(self) -> None:
        frozen = {channel: frozen_floats(values) for channel, values in self.channels.items()}
        object.__setattr__(self, "channels", MappingProxyType(frozen))
        object.__setattr__(self, "rows", frozen_ints(self.rows))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pull:
    """One full-throttle sweep as measured.

    Attributes
    ----------
    name : str
        File name as the session writes it; with ``#2`` behind it for the second pull of a file.
    source : SourceFile
        The bytes.
    direction : Direction
        How the speed moved.
    channels : mapping of Channel to (n,) array of float
        As in `Log`, cut to the pull, in the order of the file. [SI unit of the channel]
    rows : (n,) array of int
        Rows of the file, from 1.
    torque_kind : TorqueKind
        Whether torque is torque.
    doubts : tuple of str
        Sentences about what had to be guessed.
    fingerprint : str
        Hash of the speed and torque values, the same for the same pull saved under another name.
    choices : tuple of ColumnChoice
        Which column became which channel, as in `Log`.
    air : Air
        Weather that the file states outside the table; it counts where nobody declared any.
    """

    name: str
    source: SourceFile
    direction: Direction
    channels: Mapping[Channel, FloatArray]
    rows: IntArray
    torque_kind: TorqueKind = TorqueKind.MEASURED
    doubts: tuple[str, ...] = ()
    fingerprint: str = ""
    choices: tuple[ColumnChoice, ...] = ()
    air: Air = NO_AIR

    def __post_init__(self) -> None:
        frozen = {channel: frozen_floats(values) for channel, values in self.channels.items()}
        object.__setattr__(self, "channels", MappingProxyType(frozen))
        object.__setattr__(self, "rows", frozen_ints(self.rows))
