"""Parts of the block and the head: cylinders, camshafts, valves, ports."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.engine.network_ends import Side

__all__ = ["Block", "Cam", "Duration", "FlowTable", "LiftTable", "Port", "Valves"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Cylinders and crank.

    Attributes
    ----------
    name : str
        What the tester calls the engine.
    bore, stroke, rod : float
        Bore, stroke, length of the rod between centres. [m]
    pin_offset : float
        Offset of the piston pin. [m]
    compression_ratio : float
        Largest by smallest volume. [1]
    firing_order : tuple of int
        Cylinder numbers in the order in which they fire.
    firing_angles_deg : tuple of float
        Crank angle at which each cylinder fires, in the order of the cylinder numbers; the first of the firing order
        fires at 0. [deg]
    banks : tuple of str
        Bank of each cylinder, in the order of the cylinder numbers.
    piston_area, head_area : float
        Surface of crown and chamber as multiples of the bore's area. [1]
    highest_speed_rpm : float
        Speed up to which the engine is run. [rpm]
    """

    name: str
    bore: float
    stroke: float
    rod: float
    pin_offset: float
    compression_ratio: float
    firing_order: tuple[int, ...]
    firing_angles_deg: tuple[float, ...]
    banks: tuple[str, ...]
    piston_area: float
    head_area: float
    highest_speed_rpm: float

    @property
    def cylinders(self) -> int:
        """Number of cylinders."""
        return len(self.firing_order)

    @property
    def swept_volume(self) -> float:
        """Swept volume of one cylinder. [m3]."""
        return math.pi / 4.0 * self.bore**2 * self.stroke

    @property
    def displacement(self) -> float:
        """Swept volume of all cylinders. [m3]."""
        return self.swept_volume * self.cylinders


@dataclass(frozen=True, slots=True, kw_only=True)
class Duration:
    """How long a lobe is above a lift.

    Attributes
    ----------
    lift : float
        Lift at which the duration is measured. [m]
    lasts_deg : float
        Duration in crank degrees. [deg]
    """

    lift: float
    lasts_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftTable:
    """Measured lift.

    Attributes
    ----------
    angles_deg : tuple of float
        Crank degrees from the centreline of the lobe, rising. [deg]
    lifts : tuple of float
        Lift there. [m]
    at : str
        "valve" (lash is in it already) or "lobe".
    """

    angles_deg: tuple[float, ...]
    lifts: tuple[float, ...]
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cam:
    """Lobe of the intake or the exhaust, and what lies between it and the valve.

    Attributes
    ----------
    side : Side
        Intake or exhaust.
    durations : tuple of Duration
        One to four, by rising lift; empty where the lift was measured.
    durations_at : str
        "lobe" or "valve": where the lifts of the durations are measured.
    lobe_lift : float
        Largest lift of the lobe. [m]
    rocker_ratio : float
        Valve lift by lobe lift. [1]
    lash : float
        Clearance at the valve, taken off its lift. [m]
    centreline_deg : float
        Centre of the lobe, after top dead centre of overlap for the intake, before it for the exhaust, with the
        advance in it. [deg]
    measured : LiftTable or None
        Measured lift, which wins over durations and lift.
    """

    side: Side
    durations: tuple[Duration, ...]
    durations_at: str
    lobe_lift: float
    rocker_ratio: float
    lash: float
    centreline_deg: float
    measured: LiftTable | None = None

    @property
    def valve_lift(self) -> float:
        """Largest lift of the valve. [m]."""
        if self.measured is not None:
            most = max(self.measured.lifts)
            return most if self.measured.at == "valve" else most * self.rocker_ratio - self.lash
        return self.lobe_lift * self.rocker_ratio - self.lash


@dataclass(frozen=True, slots=True, kw_only=True)
class Valves:
    """Valves of one side of a cylinder.

    Attributes
    ----------
    count : int
        How many.
    head, throat, stem : float
        Diameters of one valve's head, of the throat below its seat, of its stem. [m]
    seat_angle_deg : float
        Angle of the seat against the plane of the head. [deg]
    """

    count: int
    head: float
    throat: float
    stem: float
    seat_angle_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowTable:
    """What a flow bench measured on the port with its valves.

    Attributes
    ----------
    depression : float
        Pressure difference of the test. [Pa]
    lifts : tuple of float
        Valve lifts, rising. [m]
    into, out_of : tuple of float
        Volume flow at the upstream condition of the bench into the cylinder and out of it; empty where that direction
        was not measured. [m3/s]
    valves : int
        Valves that were open in the test.
    temperature : float
        Air of the bench. [K]
    pressure : float
        Air of the bench, absolute. [Pa]
    """

    depression: float
    lifts: tuple[float, ...]
    into: tuple[float, ...]
    out_of: tuple[float, ...]
    valves: int
    temperature: float
    pressure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """Passage in the head, between the flange and the valves of one side of one cylinder.

    Attributes
    ----------
    length : float
        Along the middle line, from the flange to the valve seat. [m]
    flange_diameter, valve_diameter : float
        Diameter of a circle of the same area at the flange and at the valves, all of them together. [m]
    bend_loss : float
        Loss coefficient of its bend. [1]
    flow : FlowTable or None
        Flow-bench table; None where a usual discharge coefficient is assumed.
    """

    length: float
    flange_diameter: float
    valve_diameter: float
    bend_loss: float
    flow: FlowTable | None
