"""Parts of a network that is declared freely, as they stand in the file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.engine.network_ends import Side
    from pullbook.engine.parts_pipes import Silencer

__all__ = ["FreeJoin", "FreeNetwork", "FreePipe", "FreeSilencer", "FreeVolume"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FreePipe:
    """One pipe.

    Attributes
    ----------
    name : str
        Unique.
    side : Side
        Intake or exhaust.
    group : str
        Group of pipes, for colours and wall temperatures.
    shape : tuple of tuple of (float, float)
        Distance and diameter. [m, m]
    bend_loss : float
        Sum of the loss coefficients of its bends. [1]
    wall : float
        Wall temperature. [K]
    starts_at, ends_at : str
        What its ends are fixed to, in words; empty where a join names the end.
    starts_at_angle_deg, ends_at_angle_deg : float
        Angle in a join. [deg]
    place : str
        Place in the file, for messages.
    """

    name: str
    side: Side
    group: str
    shape: tuple[tuple[float, float], ...]
    bend_loss: float
    wall: float
    starts_at: str
    ends_at: str
    starts_at_angle_deg: float
    ends_at_angle_deg: float
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeVolume:
    """One volume.

    Attributes
    ----------
    name : str
        Unique.
    side : Side
        Intake or exhaust.
    volume : float
        Content. [m3]
    wall : float
        Wall temperature. [K]
    packed : bool
        Filled with wool, so that the gas keeps the wall's temperature.
    """

    name: str
    side: Side
    volume: float
    wall: float
    packed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeJoin:
    """One join.

    Attributes
    ----------
    name : str
        Unique.
    model : str
        "mixing", "pressure" or "stagnation".
    members : tuple of str
        Pipe ends in words, as in "collector start"; empty where the pipes name the join.
    place : str
        Place in the file, for messages.
    """

    name: str
    model: str
    members: tuple[str, ...]
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeSilencer:
    """One silencer of the exhaust; a pipe leads to it, and another one away from it.

    Attributes
    ----------
    name : str
        Unique.
    silencer : Silencer
        What it is.
    place : str
        Place in the file, for messages.
    """

    name: str
    silencer: Silencer
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeNetwork:
    """Network that is declared freely.

    Attributes
    ----------
    pipes : tuple of FreePipe
        Pipes.
    volumes : tuple of FreeVolume
        Volumes.
    joins : tuple of FreeJoin
        Joins.
    silencers : tuple of FreeSilencer
        Silencers.
    """

    pipes: tuple[FreePipe, ...]
    volumes: tuple[FreeVolume, ...]
    joins: tuple[FreeJoin, ...]
    silencers: tuple[FreeSilencer, ...]

    @property
    def sides(self) -> frozenset[Side]:
        """Sides of the engine that it replaces the shorthand of."""
        return frozenset(pipe.side for pipe in self.pipes)
