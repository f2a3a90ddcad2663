"""Cylinders of a network, with the effective areas of their valves over the crank angle."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.engine.network_ends import Side
    from pullbook.quantities.arrays import FloatArray

__all__ = ["Cylinder", "ValveSet"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ValveSet:
    """All valves between one port and its cylinder.

    The tables stand at equal steps over the cylinder's own angle: number k of n at ``k 720 / n`` degrees after top dead
    centre of firing. 720 degrees is number 0 again and does not stand in them.

    Attributes
    ----------
    side : Side
        Intake or exhaust.
    area_in : (n,) array of float
        Effective area, discharge coefficient times reference area, for flow into the cylinder. [m2]
    area_out : (n,) array of float
        Effective area for flow out of the cylinder. [m2]
    lift : (n,) array of float
        Lift of one valve. [m]
    opens_deg, closes_deg : float
        Own angle at which the valve leaves its seat and is back on it, lash taken up; closing comes after opening,
        so an exhaust valve may close at 380 and an intake valve open at 340. [deg]
    count : int
        Number of valves; the areas are those of all together.
    head_diameter : float
        Diameter of one head. [m]
    """

    side: Side
    area_in: FloatArray
    area_out: FloatArray
    lift: FloatArray
    opens_deg: float
    closes_deg: float
    count: int
    head_diameter: float

    def __post_init__(self) -> None:
        for name in ("area_in", "area_out", "lift"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """One cylinder.

    Attributes
    ----------
    number : int
        Number of the trade, from 1.
    bore, stroke, rod : float
        Bore, stroke, length of the rod between centres. [m]
    pin_offset : float
        Offset of the piston pin towards the major thrust side. [m]
    compression_ratio : float
        Largest by smallest volume. [1]
    firing_angle_deg : float
        Crank angle of the engine at top dead centre of firing, 0 to 720. [deg]
    bank : str
        Name of its bank.
    valve_sets : tuple of ValveSet
        Intake first, then exhaust.
    piston_temperature, head_temperature, liner_temperature : float
        Temperatures of the walls. [K]
    piston_area, head_area : float
        Surface of crown and of the chamber in the head, as multiples of the bore's area. [1]
    """

    number: int
    bore: float
    stroke: float
    rod: float
    pin_offset: float
    compression_ratio: float
    firing_angle_deg: float
    bank: str
    valve_sets: tuple[ValveSet, ...]
    piston_temperature: float
    head_temperature: float
    liner_temperature: float
    piston_area: float
    head_area: float

    @property
    def swept_volume(self) -> float:
        """Bore area times stroke; a pin offset changes it by less than 0.1 %. [m3]."""
        return math.pi / 4.0 * self.bore**2 * self.stroke

    @property
    def clearance_volume(self) -> float:
        """Smallest volume. [m3]."""
        return self.swept_volume / (self.compression_ratio - 1.0)
