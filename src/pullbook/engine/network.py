"""Network: the engine as the gas sees it, ready to be turned into arrays.

A network is what is left of an engine file when all shorthand is spelt out: pipes as chains of straight or conical
sections, each with its wall; what each end of each pipe is fixed to; volumes, joins, the perforates of silencers; and
cylinders with the effective areas of their valves over the crank angle. Indices count from 0 in the order of the
tuples. Everything is SI.

Directions: x runs along a pipe from its start (0) to its end (length). `pullbook.engine.layouts` lays every pipe with
the mean flow: intake pipes from the air box towards the valve, exhaust pipes from the valve towards the open end; a
network that is declared freely may do otherwise, and nothing may rest on it.

Angles: the crank angle of the engine runs from 0 to 720 degrees. A cylinder fires at its `firing_angle_deg`; its own
angle is ``(engine angle - firing_angle_deg) mod 720``, so that 0 is top dead centre of firing, 180 bottom, 360 top dead
centre of overlap, 540 bottom. The tables of its valves are over its own angle.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

from pullbook.engine.network_ends import END, START, AnechoicEnd, JoinEnd, OpenEnd, Side, ValveEnd, VolumeEnd
from pullbook.errors import EngineFileError

if TYPE_CHECKING:
    from pullbook.engine.network_cylinders import Cylinder
    from pullbook.engine.network_ends import Attachment, End
    from pullbook.engine.network_pipes import Join, Perforate, Pipe, Stations, Volume

__all__ = ["Network"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """All pipes of an engine and what they are fixed to.

    Attributes
    ----------
    pipes : tuple of Pipe
        Pipes.
    attachments : tuple of Attachment
        What each end of each pipe is fixed to; every end stands in it once.
    volumes : tuple of Volume
        Volumes.
    joins : tuple of Join
        Joins.
    perforates : tuple of Perforate
        Perforated stretches of pipes.
    cylinders : tuple of Cylinder
        Cylinders, in the order of their numbers.
    """

    pipes: tuple[Pipe, ...]
    attachments: tuple[Attachment, ...]
    volumes: tuple[Volume, ...] = ()
    joins: tuple[Join, ...] = ()
    perforates: tuple[Perforate, ...] = ()
    cylinders: tuple[Cylinder, ...] = ()

    def end_of(self, pipe: int, end: str) -> End:
        """What the start or the end of a pipe is fixed to."""
        return next(one.to for one in self.attachments if (one.pipe, one.end) == (pipe, end))

    def members(self, join: int) -> tuple[Attachment, ...]:
        """Pipe ends that meet at a join."""
        return tuple(one for one in self.attachments if isinstance(one.to, JoinEnd) and one.to.join == join)

    def sounding_stations(self, pipe: int) -> Stations:
        """Stations of a pipe with the end corrections of its open ends added as straight pipe. [m, m]."""
        stations = list(self.pipes[pipe].stations)
        first, last = self.end_of(pipe, START), self.end_of(pipe, END)
        if isinstance(first, OpenEnd) and first.correction > 0.0:
            stations = [(0.0, stations[0][1]), *((x + first.correction, d) for x, d in stations)]
        if isinstance(last, OpenEnd) and last.correction > 0.0:
            stations.append((stations[-1][0] + last.correction, stations[-1][1]))
        return tuple(stations)

    def index(self, name: str) -> int:
        """Index of a pipe by its name."""
        return next(number for number, pipe in enumerate(self.pipes) if pipe.name == name)

    def validate(self, where: str = "network") -> None:
        """Refuse a network that cannot be.

        Parameters
        ----------
        where : str
            Place to name in the message.

        Raises
        ------
        EngineFileError
            If an end of a pipe is fixed to nothing or twice, an index points nowhere, a length or a diameter is not
            positive, a join has fewer than two pipes, a valve set has not one pipe, or no end is open.
        """
        for fault in (_lengths, _volumes, _fixed_once, _indices, _joins, _valves, _perforates, _open):
            found = fault(self)
            if found is not None:
                what, place, value, remedy = found
                raise EngineFileError(what, where=f"{where}: {place}" if place else where, value=value, remedy=remedy)


Fault: TypeAlias = tuple[str, str, str, str] | None  # what, place, value, remedy


def _lengths(net: Network) -> Fault:
    for pipe in net.pipes:
        if not pipe.sections:
            return "the pipe has no sections", pipe.name, "", "give it a length"
        for before, after in pairwise(pipe.sections):
            if not math.isclose(before.diameter_end, after.diameter_start, rel_tol=1e-9):
                jump = f"{before.diameter_end * 1e3:g} to {after.diameter_start * 1e3:g} mm"
                return "the diameter jumps inside the pipe", pipe.name, jump, "join two pipes where it jumps"
        for section in pipe.sections:
            place = f"{pipe.name}, {section.group}"
            if not section.length > 0.0:
                return "the length is not positive", place, f"{section.length * 1e3:g} mm", "give it more than 0 mm"
            thinnest = min(section.diameter_start, section.diameter_end)
            if not thinnest > 0.0:
                return "the diameter is not positive", place, f"{thinnest * 1e3:g} mm", "give it more than 0 mm"
    return None


def _volumes(net: Network) -> Fault:
    for volume in net.volumes:
        if not volume.volume > 0.0:
            return "the volume is not positive", volume.name, f"{volume.volume * 1e3:g} L", "give it more than 0 L"
    return None


def _fixed_once(net: Network) -> Fault:
    count = Counter((one.pipe, one.end) for one in net.attachments)
    for number, pipe in enumerate(net.pipes):
        for end in (START, END):
            if count[number, end] == 0:
                return "this end of the pipe is fixed to nothing", f"{pipe.name}, {end}", "", "fix each end once"
            if count[number, end] > 1:
                return f"this end of the pipe is fixed {count[number, end]} times", f"{pipe.name}, {end}", "", "once"
    return None


def _indices(net: Network) -> Fault:
    for one in net.attachments:
        if not (0 <= one.pipe < len(net.pipes) and one.end in {START, END}):
            return "there is no such end of a pipe", f"pipe {one.pipe}, {one.end}", "", "name a pipe of the network"
        if isinstance(one.to, VolumeEnd) and not 0 <= one.to.volume < len(net.volumes):
            return "there is no such volume", net.pipes[one.pipe].name, str(one.to.volume), "name a volume"
        if isinstance(one.to, JoinEnd) and not 0 <= one.to.join < len(net.joins):
            return "there is no such join", net.pipes[one.pipe].name, str(one.to.join), "name a join"
    return None


def _joins(net: Network) -> Fault:
    for number, join in enumerate(net.joins):
        count = len(net.members(number))
        if count < 2:
            what = "a join needs two pipes or more"
            return what, f"join '{join.name}'", f"{count}", "fix more pipe ends to it, or take it out"
    return None


def _valves(net: Network) -> Fault:
    used = Counter((one.to.cylinder, one.to.valve_set) for one in net.attachments if isinstance(one.to, ValveEnd))
    there = {(i, k) for i, cylinder in enumerate(net.cylinders) for k in range(len(cylinder.valve_sets))}
    for cylinder, valve_set in sorted(there | set(used)):
        place = f"cylinder {cylinder + 1}, valve set {valve_set + 1}"
        if (cylinder, valve_set) not in there:
            return "there are no such valves", place, "", "name a cylinder of the engine"
        if used[cylinder, valve_set] != 1:
            return f"{used[cylinder, valve_set]} pipes are fixed to these valves", place, "", "fix one pipe to them"
    return None


def _perforates(net: Network) -> Fault:
    for one in net.perforates:
        if not (0 <= one.pipe < len(net.pipes) and 0 <= one.volume < len(net.volumes)):
            return "the perforated pipe or its volume is not there", one.name, "", "name both"
        length = net.pipes[one.pipe].length
        if not 0.0 <= one.start < one.end <= length * (1.0 + 1e-9):
            stretch = f"{one.start * 1e3:g} to {one.end * 1e3:g} mm"
            return "the perforated stretch is not on the pipe", one.name, stretch, f"0 to {length * 1e3:g} mm"
    return None


def _open(net: Network) -> Fault:
    """The air has to come from somewhere and go somewhere."""
    sides = {net.pipes[one.pipe].side for one in net.attachments if isinstance(one.to, OpenEnd | AnechoicEnd)}
    for side in Side:
        if side not in sides and (net.cylinders or not sides):
            names = ", ".join(pipe.name for pipe in net.pipes if pipe.side is side)
            what = f"no pipe of the {side} is open to the air"
            return what, "network.pipe" if names else "", names, 'let at least one of them end "open"'
    return None
