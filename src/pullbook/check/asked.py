"""Asked: one pull laid out for the checks, and the way in which a check answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.arrays import frozen_floats
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem
from pullbook.records.check import Check, Level
from pullbook.records.pull import Direction, TorqueKind

if TYPE_CHECKING:
    from pullbook.quantities.arrays import BoolArray, FloatArray
    from pullbook.records.pull import Pull

__all__ = ["Asked", "name_of"]

_TURN_RPM: Final = 200.0  # a plateau wanders less, a gear change drops more
_NAMES: Final = {
    Channel.LOAD_SIGNAL: "load signal",
    Channel.OIL_TEMPERATURE: "oil",
    Channel.COOLANT_TEMPERATURE: "coolant",
    Channel.AIR_TEMPERATURE: "inlet air",
    Channel.FUEL_TEMPERATURE: "fuel",
    Channel.EXHAUST_TEMPERATURE: "exhaust gas",
    Channel.SPEED: "engine speed",
}


def name_of(channel: Channel) -> str:
    """Word for a channel in a sentence, as in "oil" or "manifold pressure"."""
    return _NAMES.get(channel, channel.value.replace("_", " "))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """One pull that is asked, with the range that counts and the units of the answer.

    Attributes
    ----------
    pull : Pull
        As measured.
    rpm_range : tuple of (float, float) or None
        Range that is analysed; None for all of the pull. [rpm]
    system : UnitSystem
        Units of the sentences.
    """

    pull: Pull
    rpm_range: tuple[float, float] | None = None
    system: UnitSystem = UnitSystem.METRIC

    @property
    def relative(self) -> bool:
        """Whether torque is a signal without calibration."""
        return self.pull.torque_kind is TorqueKind.RELATIVE

    @property
    def steps(self) -> bool:
        """Whether the pull is a row of steady points."""
        return self.pull.direction is Direction.STEPS

    @property
    def one_way(self) -> bool:
        """Whether the speed never turns back: a pull through several gears passes the same speeds again."""
        speed = self.speed_rpm[np.isfinite(self.speed_rpm)]
        if speed.size < 2:
            return True
        rising = speed if self.pull.direction is Direction.UP else speed[::-1]
        return bool(np.max(np.maximum.accumulate(rising) - rising) <= _TURN_RPM)

    @property
    def torque_channel(self) -> Channel:
        """Channel that torque, or what stands for it, is in."""
        return Channel.LOAD_SIGNAL if self.relative else Channel.TORQUE

    @property
    def speed_rpm(self) -> FloatArray:
        """Engine speed. [rpm]."""
        return self.pull.channels[Channel.SPEED]

    @property
    def torque(self) -> FloatArray:
        """Torque [N m], or the relative signal."""
        return self.pull.channels[self.torque_channel]

    @property
    def time(self) -> FloatArray | None:
        """Time of each sample, where the file has any. [s]."""
        time = self.pull.channels.get(Channel.TIME)
        return time if time is not None and np.isfinite(time).sum() >= 3 else None

    @property
    def inside(self) -> BoolArray:
        """Samples in the range that is analysed."""
        speed = self.speed_rpm
        if self.rpm_range is None:
            return np.isfinite(speed)
        low, high = self.rpm_range
        return np.asarray(np.isfinite(speed) & (speed >= low) & (speed <= high))

    def values(self, channel: Channel) -> FloatArray:
        """Finite values of a channel in the range that is analysed; empty where there are none. [SI]."""
        recorded = self.pull.channels.get(channel)
        if recorded is None:
            return frozen_floats([])
        inside = recorded[self.inside]
        return frozen_floats(inside[np.isfinite(inside)])

    def answer(
        self, check: str, level: Level, says: str, *, remedy: str = "", rpm: tuple[float, float] | None = None
    ) -> Check:
        """Answer of one check of this pull; a remedy is kept only where something is wrong."""
        low, high = (None, None) if rpm is None else rpm
        return Check(
            pull=self.pull.name, check=check, level=level, says=says, rpm_low=low, rpm_high=high,
            remedy="" if level is Level.OK else remedy,
        )  # fmt: skip
