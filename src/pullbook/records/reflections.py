"""Reflections: when small waves come back to the valves of an engine, from where, and how strong."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

__all__ = ["FAINTEST", "PlaceKind", "PortReflections", "StoppedFront", "ValvesState", "Wave", "WaveArrival"]

FAINTEST: Final = 0.05  # of the pressure of a front that is still followed


class Wave(StrEnum):
    """Whether the gas behind a front has more pressure than before it, or less."""

    PRESSURE = "pressure"
    SUCTION = "suction"


class PlaceKind(StrEnum):
    """What a place is that sends waves back."""

    STEP = "step"  # change of area over no length to speak of
    TAPER = "taper"
    JOIN = "join"  # three pipes or more
    SILENCER = "silencer"  # inlet or outlet of a perforated stretch
    VOLUME = "volume"
    OPEN = "open end"
    CLOSED = "closed end"


class ValvesState(StrEnum):
    """State of the valves at a port when a wave arrives."""

    OVERLAP = "overlap"  # intake and exhaust valves are open
    OPEN = "open"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class WaveArrival:
    """First arrival of a front at a port, from one place.

    Attributes
    ----------
    from_cylinder : int
        Cylinder whose front it is.
    place, pipe : str
        Where it turned back, named as in the engine file, and the pipe in which that is. A front that came to another
        cylinder without turning back has the join there through which it came.
    kind : PlaceKind
        What the place is.
    turned : bool
        It was sent back there; else it went through.
    path : tuple of str
        Pipes, and between them what joins them and where it turned, from valve to valve.
    distance : float
        From the valve that it left to the place, along the middle line; to the middle of a taper. [m]
    way : float
        From valve to valve. [m]
    travel_deg : float
        Crank angle on the way. [deg]
    own_angle_deg : float
        Angle of the receiving cylinder when it arrives, 0 to 720 from top dead centre of firing. [deg]
    after_opening_deg : float
        The same, since the valve at that port began to open; 0 to 720. [deg]
    valves : ValvesState
        Whether the valves are open then.
    reflection : float
        Pressure sent back by pressure that comes, of linear acoustics, at the place; where it went through, passed by
        pressure that comes. [1]
    coefficient : float
        The same of the whole way: what every place lets pass, out and back. [1]
    damped : bool
        Its way runs through packing, which takes the more of it the shorter the wave is: the coefficient is the most
        that can arrive, and the angle is an estimate.
    wave : Wave
        What arrives.
    """

    from_cylinder: int
    place: str
    pipe: str
    kind: PlaceKind
    turned: bool
    path: tuple[str, ...]
    distance: float
    way: float
    travel_deg: float
    own_angle_deg: float
    after_opening_deg: float
    valves: ValvesState
    reflection: float
    coefficient: float
    damped: bool
    wave: Wave


@dataclass(frozen=True, slots=True, kw_only=True)
class StoppedFront:
    """Front that did not come to where it was going.

    Attributes
    ----------
    pipe : str
        Pipe in which it stopped.
    place : str
        Where it had turned back before; empty where it had not.
    distance : float
        From the valve that it left, along its way. [m]
    own_angle_deg : float
        Angle of the cylinder that it left. [deg]
    coefficient : float
        What was left of it. [1]
    reason : str
        Why.
    """

    pipe: str
    place: str
    distance: float
    own_angle_deg: float
    coefficient: float
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PortReflections:
    """What arrives at the valves of one port.

    Attributes
    ----------
    cylinder : int
        Number of the cylinder.
    side : str
        "intake" or "exhaust".
    wave : Wave
        What the valves send out when they open: pressure by the blow-down, suction by the piston.
    opens_deg, closes_deg : float
        Own angles at which the valves leave their seats and are back. [deg]
    front_deg : float
        Own angle at which the front leaves the valves. [deg]
    arrivals : tuple of WaveArrival
        Strongest first.
    stopped : tuple of StoppedFront
        Fronts of this port that were stopped, strongest first.
    """

    cylinder: int
    side: str
    wave: Wave
    opens_deg: float
    closes_deg: float
    front_deg: float
    arrivals: tuple[WaveArrival, ...]
    stopped: tuple[StoppedFront, ...]
