"""Pipes one behind the other, from the valves of a cylinder to the open air, as a wave map lays them out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.engine.network_ends import END, START, JoinEnd
from pullbook.engine.reflection_places import layout_of
from pullbook.engine.waves import CYCLE_DEG

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.engine.waves import Track
    from pullbook.quantities.arrays import FloatArray

__all__ = ["Chain", "Link", "chain_of", "wrapped"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One pipe of a chain.

    Attributes
    ----------
    pipe : int
        Index of the pipe.
    offset : float
        Distance of its nearer end from the valves. [m]
    length : float
        Its length, end corrections included. [m]
    forward : bool
        Its start is the nearer end.
    """

    pipe: int
    offset: float
    length: float
    forward: bool

    def from_valves(self, distance: FloatArray) -> FloatArray:
        """Distances from the valves.

        Parameters
        ----------
        distance : array of float
            From the start of the pipe. [m]

        Returns
        -------
        array of float
            From the valves. [m]
        """
        return self.offset + (distance if self.forward else self.length - distance)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Pipes from the valves outward.

    Attributes
    ----------
    links : tuple of Link
        From the valves on.
    places : tuple of (str, float)
        Names of what reflects on the way, and distances from the valves. [m]
    """

    links: tuple[Link, ...]
    places: tuple[tuple[str, float], ...]

    @property
    def length(self) -> float:
        """Length of all pipes. [m]."""
        return self.links[-1].offset + self.links[-1].length

    def link(self, pipe: int) -> Link | None:
        """The link that a pipe is, if it is one."""
        return next((one for one in self.links if one.pipe == pipe), None)


def chain_of(network: Network, pipe: int, *, starts: bool) -> Chain:
    """Chain of pipes from valves on; at a join it goes on in the pipe that leads away, the widest of several.

    Parameters
    ----------
    network : Network
        The network.
    pipe : int
        Pipe at the valves.
    starts : bool
        The valves are at its start.

    Returns
    -------
    Chain
        Up to an end that is no join.
    """
    links: list[Link] = []
    places: list[tuple[str, float]] = []
    here: tuple[int, bool] | None = (pipe, starts)
    offset = 0.0
    while here is not None:
        number, forward = here
        layout = layout_of(network, number)
        link = Link(pipe=number, offset=offset, length=layout[-1].at, forward=forward)
        links.append(link)
        beyond = layout[1:] if forward else layout[-2::-1]
        places += [(place.name, float(link.from_valves(np.array(place.at)))) for place in beyond if place.kind]
        offset += link.length
        here = _next(network, number, END if forward else START, {one.pipe for one in links})
    return Chain(links=tuple(links), places=tuple(places))


def _next(network: Network, pipe: int, end: str, known: set[int]) -> tuple[int, bool] | None:
    to = network.end_of(pipe, end)
    if not isinstance(to, JoinEnd):
        return None
    found = [one for one in network.members(to.join) if one.pipe not in known]
    if not found:
        return None

    def leads_away(number: int) -> tuple[float, float]:
        one = found[number]
        sections = network.pipes[one.pipe].sections
        wide = sections[0].diameter_start if one.end == START else sections[-1].diameter_end
        return (one.to.angle_deg if isinstance(one.to, JoinEnd) else 0.0), wide

    best = found[max(range(len(found)), key=leads_away)]
    return best.pipe, best.end == START


def wrapped(track: Track, link: Link) -> tuple[FloatArray, FloatArray]:
    """A track as a line in one cycle, broken where it leaves the cycle and comes in again at the other side.

    Parameters
    ----------
    track : Track
        A way through the pipe of the link. [deg, m]
    link : Link
        Where that pipe lies.

    Returns
    -------
    tuple of (array of float, array of float)
        Crank angles from 0 to 720 and distances from the valves, NaN at a break. [deg, m]
    """
    angle, distance = track.angle_deg, link.from_valves(track.distance)
    edges = np.arange(np.floor(angle[0] / CYCLE_DEG) + 1.0, np.ceil(angle[-1] / CYCLE_DEG)) * CYCLE_DEG
    parts: list[tuple[FloatArray, FloatArray]] = []
    for low, high in zip([-np.inf, *edges], [*edges, np.inf], strict=True):
        start, stop = max(low, angle[0]), min(high, angle[-1])
        inner = (angle > start) & (angle < stop)
        along = np.array([start, *angle[inner], stop])
        turns = np.floor(0.5 * (start + stop) / CYCLE_DEG) * CYCLE_DEG
        parts.append((np.append(along - turns, np.nan), np.append(np.interp(along, angle, distance), np.nan)))
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])
