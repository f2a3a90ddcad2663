"""Ways of fronts that were followed: through which pipes, where they turned, where they came to or stopped."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.engine.reflection_fronts import Front
    from pullbook.engine.waves import Track

__all__ = ["Arrival", "Leg", "Stop", "Turn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """Way of a front through one pipe between two places.

    Attributes
    ----------
    pipe : int
        Index of the pipe.
    track : Track
        The way. [deg, m]
    outward : bool
        Before it turned.
    """

    pipe: int
    track: Track
    outward: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """Place at which a front turned, or the join through which it came to another cylinder.

    Attributes
    ----------
    pipe, place : int
        Pipe, and index of the place in its layout.
    distance : float
        From the valves that it left, end corrections left out. [m]
    factor : float
        Sent back, or passed on, by what came. [1]
    angle_deg : float
        Crank angle, not wrapped. [deg]
    """

    pipe: int
    place: int
    distance: float
    factor: float
    angle_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """Front that has come to valves.

    Attributes
    ----------
    front : Front
        The front.
    cylinder, valve_set : int
        Valves at which it arrives.
    turn : Turn
        Where it turned, or through which join it came.
    turned : bool
        It was sent back.
    angle_deg : float
        Crank angle of the engine, not wrapped. [deg]
    way : float
        From valve to valve, end corrections left out. [m]
    coefficient : float
        Its pressure by that with which it set out, by linear acoustics. [1]
    damped : bool
        Its way runs through packing.
    legs : tuple of Leg
        Its way.
    """

    front: Front
    cylinder: int
    valve_set: int
    turn: Turn
    turned: bool
    angle_deg: float
    way: float
    coefficient: float
    damped: bool
    legs: tuple[Leg, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Front that did not get on.

    Attributes
    ----------
    front : Front
        The front.
    turn : Turn or None
        Where it turned before.
    pipe : int
        Pipe in which it stopped.
    angle_deg : float
        Crank angle of the engine, not wrapped. [deg]
    way : float
        From the valves that it left. [m]
    coefficient : float
        What was left of it. [1]
    reason : str
        Why.
    """

    front: Front
    turn: Turn | None
    pipe: int
    angle_deg: float
    way: float
    coefficient: float
    reason: str
