"""What the end of a pipe can be fixed to: the air outside, nothing, a volume, a valve, or other pipes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final, TypeAlias

__all__ = [
    "END",
    "START",
    "AnechoicEnd",
    "Attachment",
    "ClosedEnd",
    "End",
    "JoinEnd",
    "OpenEnd",
    "Side",
    "ValveEnd",
    "VolumeEnd",
]

START: Final = "start"
END: Final = "end"


class Side(StrEnum):
    """Side of the engine that a pipe, a volume or a valve belongs to."""

    INTAKE = "intake"
    EXHAUST = "exhaust"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenEnd:
    """End in the open air.

    Attributes
    ----------
    loss_in, loss_out : float
        Loss coefficient K of ``K rho u^2 / 2`` for flow into the pipe and out of it (what a sudden expansion loses
        anyway is not in it). [1]
    correction : float
        Length that the air outside adds to the pipe, end correction times radius. [m]
    """

    loss_in: float
    loss_out: float
    correction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedEnd:
    """End that is closed by a wall."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AnechoicEnd:
    """End that sends nothing back, as an endless pipe would."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeEnd:
    """End at a volume, through an orifice: a throttle, or the mouth of a runner in the plenum.

    Attributes
    ----------
    volume : int
        Index into the volumes of the network.
    area_in, area_out : float
        Effective area (discharge coefficient times opening) for flow into the pipe and out of it. [m2]
    """

    volume: int
    area_in: float
    area_out: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ValveEnd:
    """End at the valves of a cylinder.

    Attributes
    ----------
    cylinder : int
        Index into the cylinders of the network.
    valve_set : int
        Index into the valve sets of that cylinder.
    """

    cylinder: int
    valve_set: int


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinEnd:
    """End at a join with other pipes.

    Attributes
    ----------
    join : int
        Index into the joins of the network.
    angle_deg : float
        Angle between the direction in which gas leaves this pipe into the join and the axis of the join, which is
        the direction in which gas leaves it through the collector: 0 for straight through, 15 for a primary of a
        slender merge, 180 for the collector itself. [deg]
    """

    join: int
    angle_deg: float


End: TypeAlias = OpenEnd | ClosedEnd | AnechoicEnd | VolumeEnd | ValveEnd | JoinEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """Which end of which pipe is fixed to what.

    Attributes
    ----------
    pipe : int
        Index into the pipes of the network.
    end : str
        "start" (x = 0) or "end" (x = length).
    to : End
        What it is fixed to.
    """

    pipe: int
    end: str
    to: End
