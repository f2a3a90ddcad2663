r"""Places of a network at which waves are reflected, and how much of them by linear acoustics.

At a change of area from :math:`A_1` to :math:`A_2`, and at a join of pipes, pressure is sent back and passed on by

.. math:: R = \frac{A_1 - \sum A_i}{A_1 + \sum A_i}, \qquad T = \frac{2 A_1}{A_1 + \sum A_i} = 1 + R

since pressure is one and flow is kept [1]_. A closed end sends back all, an open end and the mouth of a volume all with
the sign turned: a volume keeps its pressure while the front arrives. A perforated tube in an empty shell is to waves
that are long against a slice as a pipe of the area of both. Through packing the gas comes and goes, but does not run
along: there the stretch takes up k times the gas of its tube, is as a pipe of :math:`\sqrt k` times the area, and waves
in it are slower by :math:`\sqrt k` (at long waves; what packing takes from them is left out).

References
----------
.. [1] P. M. Morse, K. U. Ingard, "Theoretical Acoustics", McGraw-Hill 1968, section 9.1 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from pullbook.engine.network_ends import END, START, AnechoicEnd, ClosedEnd, JoinEnd, OpenEnd, ValveEnd, VolumeEnd
from pullbook.records.reflections import PlaceKind

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.engine.network_pipes import Section

__all__ = ["Layout", "Place", "Way", "layout_of", "scatter"]

_STEEP: Final = 2.0 * (1.0 + 1e-6)  # length by difference of diameters up to which a cone is a step
_GAMMA: Final = 1.33  # of exhaust gas; only where side volumes are held at their temperature by wool


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Place inside a pipe where its area changes, or one of its ends.

    Attributes
    ----------
    name : str
        As in the engine file.
    kind : PlaceKind or None
        What it is; None for valves and for ends that send nothing back.
    at : float
        From the start of the pipe as it is cut into cells, end correction included. [m]
    length : float
        The same without end corrections. [m]
    ratio : float
        Area behind by area before, along the pipe; 1 at an end. [1]
    capacity : float
        k of the stretch behind, up to the next place. [1]
    """

    name: str
    kind: PlaceKind | None
    at: float
    length: float
    ratio: float = 1.0
    capacity: float = 1.0


Layout = tuple[Place, ...]
"""Places of a pipe from its start to its end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One of the ways that a wave goes on from a place.

    Attributes
    ----------
    pipe, place : int
        Pipe, and index of the place in its layout, from which it goes on.
    forward : bool
        Along the pipe.
    back : bool
        It was sent back.
    factor : float
        Its pressure by that of the wave that came. [1]
    """

    pipe: int
    place: int
    forward: bool
    back: bool
    factor: float


def layout_of(network: Network, pipe: int) -> Layout:
    """Places of a pipe.

    Parameters
    ----------
    network : Network
        The network.
    pipe : int
        Index of the pipe.

    Returns
    -------
    Layout
        Its start, all tapers and silencers on the way, its end.

    Examples
    --------
    >>> from pullbook.engine.engine_file import parse_engine
    >>> from pullbook.engine.layouts import build_network
    >>> network = build_network(parse_engine(""))
    >>> [place.name for place in layout_of(network, network.index("primary 1"))]
    ['valves', 'taper of the exhaust port', 'step into the primary', 'merge into collector']
    """
    first = network.end_of(pipe, START)
    last = network.end_of(pipe, END)
    before = first.correction if isinstance(first, OpenEnd) else 0.0
    behind = last.correction if isinstance(last, OpenEnd) else 0.0
    length = network.pipes[pipe].length
    found = [*_tapers(network, pipe, before), *_silencers(network, pipe, before)]
    found.sort(key=lambda place: place.at)
    capacity = 1.0
    for number, place in enumerate(found):
        capacity = place.capacity if place.kind is PlaceKind.SILENCER else capacity
        found[number] = replace(place, capacity=capacity)
    start = _end(network, pipe, START, (0.0, 0.0))
    return (start, *found, _end(network, pipe, END, (before + length + behind, length)))


def _tapers(network: Network, pipe: int, before: float) -> list[Place]:
    """One place in the middle of each run of conical sections of one group."""
    found: list[Place] = []
    runs: list[tuple[float, list[Section], str]] = []
    at, group = 0.0, ""
    for section in network.pipes[pipe].sections:
        if section.diameter_start != section.diameter_end:
            touching = runs and runs[-1][1][-1].group == section.group and _end_of(runs[-1]) == at
            if touching:
                runs[-1][1].append(section)
            else:
                runs.append((at, [section], group))
        at += section.length
        group = section.group
    for start, sections, earlier in runs:
        middle = start + 0.5 * sum(one.length for one in sections)
        narrow, wide = sections[0].diameter_start, sections[-1].diameter_end
        steep = all(one.length <= _STEEP * abs(one.diameter_end - one.diameter_start) for one in sections)
        into = "into" if earlier and earlier != sections[0].group else "in"
        part = _part(network, pipe, sections[0])
        name = f"step {into} {part}" if steep else f"taper of {part}"
        kind = PlaceKind.STEP if steep else PlaceKind.TAPER
        found.append(Place(name=name, kind=kind, at=before + middle, length=middle, ratio=(wide / narrow) ** 2))
    return found


def _part(network: Network, pipe: int, section: Section) -> str:
    """Group of a section; a pipe that is declared freely has no other name than its own."""
    return f"the {section.group}" if section.group != "pipe" else network.pipes[pipe].name


def _end_of(run: tuple[float, list[Section], str]) -> float:
    return run[0] + sum(one.length for one in run[1])


def _silencers(network: Network, pipe: int, before: float) -> list[Place]:
    """Inlet and outlet of each chain of slices that touch."""
    slices = sorted((one for one in network.perforates if one.pipe == pipe), key=lambda one: one.start)
    chains: list[list[int]] = []
    for number, one in enumerate(slices):
        if number and math.isclose(slices[number - 1].end, one.start, abs_tol=1e-9):
            chains[-1].append(number)
        else:
            chains.append([number])
    found: list[Place] = []
    for chain in chains:
        start, end = slices[chain[0]].start, slices[chain[-1]].end
        volumes = [network.volumes[slices[number].volume] for number in chain]
        side = sum(one.volume * (_GAMMA if one.isothermal else 1.0) for one in volumes)
        whole = 1.0 + side / _content(network, pipe, start, end)
        packed = any(slices[number].resistance > 0.0 for number in chain)
        wider, capacity = (math.sqrt(whole), whole) if packed else (whole, 1.0)
        name = slices[chain[0]].name.rsplit(", slice", 1)[0]
        for label, at, ratio, behind in (("inlet", start, wider, capacity), ("outlet", end, 1.0 / wider, 1.0)):
            found.append(
                Place(name=f"{label} of {name}", kind=PlaceKind.SILENCER, at=before + at, length=at, ratio=ratio,
                      capacity=behind)
            )  # fmt: skip
    return found


def _content(network: Network, pipe: int, start: float, end: float) -> float:
    """Volume of a stretch, by the middles of the sections that it covers. [m3]."""
    found, at = 0.0, 0.0
    for section in network.pipes[pipe].sections:
        low, high = max(start, at), min(end, at + section.length)
        if high > low:
            share = (0.5 * (low + high) - at) / section.length
            diameter = section.diameter_start + share * (section.diameter_end - section.diameter_start)
            found += math.pi / 4.0 * diameter**2 * (high - low)
        at += section.length
    return found


def _end(network: Network, pipe: int, end: str, where: tuple[float, float]) -> Place:
    to = network.end_of(pipe, end)
    sections = network.pipes[pipe].sections
    part = _part(network, pipe, sections[0 if end == START else -1])
    name, kind = "valves", None
    match to:
        case OpenEnd():
            name, kind = f"open end of {part}", PlaceKind.OPEN
        case ClosedEnd():
            name, kind = f"closed end of {part}", PlaceKind.CLOSED
        case VolumeEnd(volume=volume):
            name, kind = network.volumes[volume].name, PlaceKind.VOLUME
        case JoinEnd(join=join):
            two = len(network.members(join)) == 2
            name, kind = _join_name(network, join), PlaceKind.STEP if two else PlaceKind.JOIN
        case _:
            pass
    return Place(name=name, kind=kind, at=where[0], length=where[1])


def _join_name(network: Network, join: int) -> str:
    """Two pipes by their names; else as it is called, where the trade says x-pipe, h-pipe and y-pipe."""
    members = network.members(join)
    if len(members) == 2:
        return " to ".join(network.pipes[one.pipe].name for one in members)
    name = network.joins[join].name
    letter, _, rest = name.partition(" ")
    return f"{letter}-pipe {rest}".rstrip() if letter in {"x", "h", "y"} else name


def scatter(network: Network, layouts: dict[int, Layout], arrived: tuple[int, int, bool]) -> tuple[Way, ...]:
    """Ways on which a wave goes on from a place.

    Parameters
    ----------
    network : Network
        The network.
    layouts : dict of int to Layout
        Layout of each pipe.
    arrived : tuple of (int, int, bool)
        Pipe, index of the place in its layout, and whether the wave came along the pipe.

    Returns
    -------
    tuple of Way
        The one sent back first; none from valves and from ends that send nothing back.
    """
    pipe, number, forward = arrived
    places = layouts[pipe]
    if 0 < number < len(places) - 1:
        ratio = places[number].ratio if forward else 1.0 / places[number].ratio
        return (
            Way(pipe=pipe, place=number, forward=not forward, back=True, factor=(1.0 - ratio) / (1.0 + ratio)),
            Way(pipe=pipe, place=number, forward=forward, back=False, factor=2.0 / (1.0 + ratio)),
        )
    to = network.end_of(pipe, END if forward else START)
    if isinstance(to, ValveEnd | AnechoicEnd):
        return ()
    if not isinstance(to, JoinEnd):
        sent = 1.0 if isinstance(to, ClosedEnd) else -1.0
        return (Way(pipe=pipe, place=number, forward=not forward, back=True, factor=sent),)
    areas = {(one.pipe, one.end == START): _area(network, one.pipe, one.end) for one in network.members(to.join)}
    own, whole = areas.pop((pipe, not forward)), sum(areas.values())
    whole += own
    back = Way(pipe=pipe, place=number, forward=not forward, back=True, factor=2.0 * own / whole - 1.0)
    return (back, *(
        Way(pipe=other, place=0 if starts else len(layouts[other]) - 1, forward=starts, back=False,
            factor=2.0 * own / whole)
        for other, starts in areas
    ))  # fmt: skip


def _area(network: Network, pipe: int, end: str) -> float:
    sections = network.pipes[pipe].sections
    diameter = sections[0].diameter_start if end == START else sections[-1].diameter_end
    return math.pi / 4.0 * diameter**2
