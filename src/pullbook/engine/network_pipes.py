"""Elements of a network: pipes with their walls, volumes, joins, and the perforates of silencers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.engine.network_ends import Side

__all__ = ["Join", "Perforate", "Pipe", "Section", "Stations", "Volume", "Wall"]

Stations = tuple[tuple[float, float], ...]
"""Distances along a pipe and the diameters there. [m, m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """Wall of a pipe or of a volume.

    Attributes
    ----------
    temperature : float
        Temperature of the inner face; the first guess where `follows` is true. [K]
    follows : bool
        The temperature is found from an energy balance: heat from the gas against heat to the air outside.
    outer_coefficient : float
        Heat transfer coefficient to the air outside, radiation included; only for the balance. [W/m2/K]
    roughness : float
        Height of the roughness. [m]
    friction : float
        Multiplier of the friction. [1]
    heat : float
        Multiplier of the heat transfer from the gas. [1]
    """

    temperature: float
    follows: bool = False
    outer_coefficient: float = 30.0
    roughness: float = 3e-5
    friction: float = 1.0
    heat: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Stretch of a pipe with one wall, straight or conical.

    Attributes
    ----------
    group : str
        What it is, as in "primary" or "exhaust port"; sections of one group are reported and drawn together.
    length : float
        Length along the middle line. [m]
    diameter_start, diameter_end : float
        Inner diameters; between them it runs straight. [m]
    wall : Wall
        Its wall.
    bend_loss : float
        Sum of the loss coefficients K of its bends and of what else stands in the way, spread over the length. [1]
    """

    group: str
    length: float
    diameter_start: float
    diameter_end: float
    wall: Wall
    bend_loss: float = 0.0

    @property
    def volume(self) -> float:
        """Volume of the frustum. [m3]."""
        first, last = self.diameter_start, self.diameter_end
        return math.pi / 12.0 * self.length * (first * first + first * last + last * last)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipe:
    """One pipe without branches: sections one after the other, each beginning with the diameter the last ended with.

    Attributes
    ----------
    name : str
        As in "primary 3"; unique.
    side : Side
        Intake or exhaust; the gas that it holds at first is fresh or burned.
    sections : tuple of Section
        From the start to the end.
    """

    name: str
    side: Side
    sections: tuple[Section, ...]

    @property
    def length(self) -> float:
        """Length of all sections. [m]."""
        return sum(section.length for section in self.sections)

    @property
    def volume(self) -> float:
        """Volume of all sections. [m3]."""
        return sum(section.volume for section in self.sections)

    @property
    def stations(self) -> Stations:
        """Distance from the start and diameter at every place where the taper changes. [m, m]."""
        found = [(0.0, self.sections[0].diameter_start)]
        for section in self.sections:
            found.append((found[-1][0] + section.length, section.diameter_end))
        return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Volume:
    """Volume whose pressure is the same everywhere: a plenum, an air box, a chamber of a silencer.

    Attributes
    ----------
    name : str
        Unique.
    side : Side
        Intake or exhaust.
    volume : float
        Content. [m3]
    wall : Wall
        Its wall; only the temperature counts where `isothermal` is true.
    isothermal : bool
        The gas has the temperature of the wall always, as in a chamber packed with wool.
    """

    name: str
    side: Side
    volume: float
    wall: Wall
    isothermal: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """Place where two or more pipes meet; each of them names it in a `JoinEnd`.

    Attributes
    ----------
    name : str
        Unique.
    model : str
        "mixing": one pressure at the merge plane and the steady mixing of jets; "pressure": one static pressure;
        "stagnation": one stagnation pressure.
    """

    name: str
    model: str = "mixing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Perforate:
    """Perforated stretch of a pipe with a volume around it: one slice of a silencer.

    Slices that touch belong to one silencer; gas may also flow along its shell from one to the next.

    Attributes
    ----------
    name : str
        Unique.
    pipe : int
        Index of the pipe.
    start, end : float
        Stretch of the pipe that is perforated. [m]
    volume : int
        Index of the volume around it.
    open_area : float
        Sum of the holes of this stretch. [m2]
    resistance : float
        Flow resistance of what is behind the holes (wool), over the whole surface of the tube: pressure by the mean
        velocity through the surface. [Pa s/m]
    discharge : float
        Discharge coefficient of the holes. [1]
    """

    name: str
    pipe: int
    start: float
    end: float
    volume: int
    open_area: float
    resistance: float
    discharge: float = 0.7
