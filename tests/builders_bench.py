"""A bench log written stretch by stretch, of which the test knows where each one begins and ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from builders_tables import make_log, torque_curve

from pullbook.quantities.channels import Channel

if TYPE_CHECKING:
    from pullbook.records.pull import Log

HZ = 50.0


@dataclass
class Bench:
    """A bench log written stretch by stretch; speed in rpm, torque in N m."""

    speed: list[float] = field(default_factory=list)
    torque: list[float] = field(default_factory=list)
    throttle: list[float] = field(default_factory=list)

    def go(self, seconds: float, to_rpm: float, throttle: float, load: float | None = None) -> Bench:
        """Move to a speed; torque is `load` times the full-load curve, or minus 20 N m where `load` is None."""
        count = round(seconds * HZ)
        start = self.speed[-1] if self.speed else to_rpm
        speeds = start + (to_rpm - start) * np.arange(1, count + 1) / count
        self.speed += speeds.tolist()
        self.throttle += [throttle] * count
        self.torque += [-20.0] * count if load is None else (load * torque_curve(speeds)).tolist()
        return self

    def log(self, *, jitter: float = 4.0, without: tuple[Channel, ...] = ()) -> Log:
        """Log with jitter of speed [rpm] and torque noise of half a per cent."""
        rng = np.random.default_rng(2)
        size = len(self.speed)
        channels: dict[Channel, Any] = {
            Channel.TIME: np.arange(size) / HZ,
            Channel.SPEED: np.array(self.speed) + jitter * rng.standard_normal(size),
            Channel.TORQUE: np.array(self.torque) + rng.standard_normal(size),
            Channel.THROTTLE: np.array(self.throttle),
            Channel.MANIFOLD_PRESSURE: 30e3 + 68e3 * np.array(self.throttle),
        }
        for channel in without:
            del channels[channel]
        return make_log(channels)
