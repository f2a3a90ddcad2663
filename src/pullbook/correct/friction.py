"""Measured friction of an engine as a torque over speed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.errors import InputError
from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.build import Engine

__all__ = ["Friction", "friction_torque"]

_RPM_TO_RAD_S: Final = np.pi / 30.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Friction:
    """Friction at each sample.

    Attributes
    ----------
    torque : (n,) array of float
        Friction torque. [N m]
    flags : tuple of str
        Speeds beyond the table.
    """

    torque: FloatArray
    flags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "torque", frozen_floats(self.torque))


def friction_torque(engine: Engine, speed_rpm: FloatArray) -> Friction | None:
    """Friction torque at each speed, from the measured friction power; None where none was measured.

    Power is turned into torque at the measured speeds, and torque is interpolated linearly between them, because
    torque is nearly straight over speed where power is curved. Beyond the ends the last torque is held, and flagged.

    Parameters
    ----------
    engine : Engine
        With pairs of speed and friction power.
    speed_rpm : (n,) array of float
        Engine speed. [rpm]

    Returns
    -------
    Friction or None
        Torque and flags. [N m]

    Raises
    ------
    InputError
        If the speeds do not rise from above zero, or a power is negative.

    Examples
    --------
    >>> from pullbook.records.build import Engine
    >>> table = Engine(friction=((3000.0, 3000 * np.pi / 30 * 12), (6000.0, 6000 * np.pi / 30 * 20)))
    >>> friction_torque(table, np.array([3000.0, 4500.0])).torque
    array([12., 16.])
    """
    if not engine.friction:
        return None
    speeds, powers = (np.array(column, dtype=np.float64) for column in zip(*engine.friction, strict=True))
    remedy = "list speed and friction power by rising speed, both above zero"
    if speeds[0] <= 0.0 or np.any(np.diff(speeds) <= 0.0):
        raise InputError("the speeds of the measured friction do not rise", where="engine.friction", remedy=remedy)
    if np.any(powers < 0.0) or not np.isfinite(powers).all():
        raise InputError("a measured friction power is negative", where="engine.friction", remedy=remedy)
    torque = np.interp(speed_rpm, speeds, powers / (speeds * _RPM_TO_RAD_S))
    beyond = (speed_rpm < speeds[0]) | (speed_rpm > speeds[-1])
    covered = f"The measured friction covers {speeds[0]:,.0f} to {speeds[-1]:,.0f} rpm"
    flags = (f"{covered}; beyond it the torque at its end is used.",) if beyond.any() else ()
    return Friction(torque=np.asarray(torque), flags=flags)
