"""Where the pipes of a network stand on a drawing: straight, to one scale, cylinders in the middle, intake to the left.

Each cylinder has a lane. From its valves the pipes go outwards, join by join; what is equally far from the valves in
number of pipes is placed in one go. A pipe that leaves a place where others met stands at their mean height; one that
connects two places of equal distance, as the cross pipe of an h or a piece of a log, is drawn from one to the other.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import mean
from typing import TYPE_CHECKING, Final

from pullbook.engine.network_ends import END, START, JoinEnd, Side, ValveEnd, VolumeEnd

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from pullbook.engine.network import Network

__all__ = ["Box", "Drawing", "Leg", "place_network"]

_PITCH: Final = 1.3  # distance of two lanes by the bore
_BANK_GAP: Final = 0.6  # extra distance between two banks by the pitch
_SPREAD: Final = 0.62  # distance of pipes that leave one place by the pitch
_BOX: Final = 0.16  # m; width of a volume
_MARGIN: Final = 0.3  # of the pitch that a volume is taller than what is fixed to it

Point = tuple[float, float]
Node = tuple[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One pipe on the drawing.

    Attributes
    ----------
    pipe : int
        Index of the pipe.
    start, end : tuple of (float, float)
        Where its start and its end stand. [m, m]
    link : bool
        Drawn from one place to another, so that its length is not to scale.
    """

    pipe: int
    start: Point
    end: Point
    link: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A volume or a cylinder on the drawing.

    Attributes
    ----------
    volume : int
        Index of the volume; of the cylinder where `cylinder` is true.
    low, high : tuple of (float, float)
        Lower left and upper right corner. [m, m]
    cylinder : bool
        Whether it is a cylinder.
    """

    volume: int
    low: Point
    high: Point
    cylinder: bool = False


@dataclass(slots=True)
class Drawing:
    """Everything that is placed.

    Attributes
    ----------
    legs : list of Leg
        Pipes.
    boxes : list of Box
        Volumes and cylinders.
    ties : list of tuple of points
        Lines without length between the ends of pipes that meet.
    pitch : float
        Distance of two lanes. [m]
    """

    pitch: float
    legs: list[Leg] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    ties: list[tuple[Point, Point]] = field(default_factory=list)

    def points(self) -> Iterator[Point]:
        """Corners of everything. [m, m]."""
        for leg in self.legs:
            yield from (leg.start, leg.end)
        for box in self.boxes:
            yield from (box.low, box.high)


def place_network(network: Network) -> Drawing:
    """Place the pipes, volumes and cylinders of a network.

    Parameters
    ----------
    network : Network
        A validated network with cylinders.

    Returns
    -------
    Drawing
        Everything, in m, x to the right and y up.
    """
    pitch = _PITCH * max(cylinder.bore for cylinder in network.cylinders)
    drawing = Drawing(pitch=pitch)
    lanes = _lanes(network, pitch)
    for number, cylinder in enumerate(network.cylinders):
        half, tall = cylinder.stroke / 2.0, cylinder.bore / 2.0
        low, high = (-half, lanes[number] - tall), (half, lanes[number] + tall)
        drawing.boxes.append(Box(volume=number, low=low, high=high, cylinder=True))
    for side, way in ((Side.INTAKE, -1.0), (Side.EXHAUST, 1.0)):
        _Walker(network, drawing, side, way).walk(lanes)
    _place_rest(network, drawing)
    return drawing


def _lanes(network: Network, pitch: float) -> dict[int, float]:
    """Height of each cylinder: bank under bank, by number in each."""
    banks = list(dict.fromkeys(cylinder.bank for cylinder in network.cylinders))
    order = sorted(range(len(network.cylinders)), key=lambda one: (banks.index(network.cylinders[one].bank), one))
    found: dict[int, float] = {}
    height = 0.0
    for place, number in enumerate(order):
        if place and network.cylinders[number].bank != network.cylinders[order[place - 1]].bank:
            height -= _BANK_GAP * pitch
        found[number] = height
        height -= pitch
    return found


class _Walker:
    """Places the pipes of one side, from the valves outwards."""

    def __init__(self, network: Network, drawing: Drawing, side: Side, way: float) -> None:
        self._network = network
        self._drawing = drawing
        self._way = way
        self._open = {number for number, pipe in enumerate(network.pipes) if pipe.side is side}
        self._reached: dict[Node, list[Point]] = {}

    def walk(self, lanes: dict[int, float]) -> None:
        for number in sorted(self._open):
            for end in (START, END):
                fixed = self._network.end_of(number, end)
                if isinstance(fixed, ValveEnd) and number in self._open:
                    edge = self._network.cylinders[fixed.cylinder].stroke / 2.0
                    self._place(number, end, (self._way * edge, lanes[fixed.cylinder]))
        level = dict(self._reached)
        while level:
            self._link(level)
            before = set(self._reached)
            shifts = _apart({node: mean(point[1] for point in points) for node, points in level.items()},
                            _SPREAD * self._drawing.pitch)  # fmt: skip
            for node, arrived in level.items():
                self._leave(node, arrived, shifts[node])
            level = {node: points for node, points in self._reached.items() if node not in before}

    def _leave(self, node: Node, arrived: list[Point], shift: float) -> None:
        """Place what leaves a join or a volume."""
        leaving = [(number, end) for number, end in self._at(node) if number in self._open]
        x = max((point[0] for point in arrived), key=lambda one: self._way * one)
        heights = [
            height + shift for height in _heights([point[1] for point in arrived], len(leaving), self._drawing.pitch)
        ]
        begin = x
        if node[0] == "volume":
            begin = x + self._way * _BOX
            ys = [point[1] for point in arrived] + heights
            margin = _MARGIN * self._drawing.pitch
            low = (min(x, begin), min(ys) - margin)
            self._drawing.boxes.append(Box(volume=node[1], low=low, high=(max(x, begin), max(ys) + margin)))
            self._drawing.ties += [(point, (x, point[1])) for point in arrived if point[0] != x]
        else:
            for y in heights:
                self._drawing.ties += [(point, (x, y)) for point in arrived]
        for (number, end), y in zip(leaving, heights, strict=True):
            self._place(number, end, (begin, y))

    def _link(self, level: dict[Node, list[Point]]) -> None:
        """Draw what connects two places of one level."""
        for number in sorted(self._open):
            first, last = (_node(self._network, number, end) for end in (START, END))
            if first in level and last in level and first != last:
                points = [_outermost(level[node], self._way) for node in (first, last)]
                self._drawing.legs.append(Leg(pipe=number, start=points[0], end=points[1], link=True))
                self._open.discard(number)

    def _place(self, number: int, near: str, point: Point) -> None:
        far = (point[0] + self._way * self._network.pipes[number].length, point[1])
        start, end, other = (point, far, END) if near == START else (far, point, START)
        self._drawing.legs.append(Leg(pipe=number, start=start, end=end))
        self._open.discard(number)
        node = _node(self._network, number, other)
        if node is not None:
            self._reached.setdefault(node, []).append(far)

    def _at(self, node: Node) -> Iterator[tuple[int, str]]:
        for one in self._network.attachments:
            if _node(self._network, one.pipe, one.end) == node:
                yield one.pipe, one.end


def _outermost(points: Iterable[Point], way: float) -> Point:
    found = list(points)
    return max((point[0] for point in found), key=lambda x: way * x), mean(point[1] for point in found)


def _node(network: Network, pipe: int, end: str) -> Node | None:
    """Place that an end of a pipe shares with others."""
    fixed = network.end_of(pipe, end)
    if isinstance(fixed, JoinEnd):
        return "join", fixed.join
    return ("volume", fixed.volume) if isinstance(fixed, VolumeEnd) else None


def _heights(arrived: list[float], count: int, pitch: float) -> list[float]:
    """Heights of the pipes that leave: each behind its own where as many leave, spread about the middle otherwise."""
    if count == len(arrived):
        return sorted(arrived, reverse=True)
    middle = mean(arrived)
    return [middle + _SPREAD * pitch * ((count - 1) / 2.0 - place) for place in range(count)]


def _apart(heights: dict[Node, float], least: float) -> dict[Node, float]:
    """By how much each place has to move up so that no two stand closer than they may, the middle staying put."""
    order = sorted(heights, key=lambda node: -heights[node])
    moved: dict[Node, float] = {}
    for place, node in enumerate(order):
        ceiling = moved[order[place - 1]] - least if place else heights[node]
        moved[node] = min(heights[node], ceiling)
    drop = mean(heights[node] - moved[node] for node in order)
    return {node: moved[node] + drop - heights[node] for node in order}


def _place_rest(network: Network, drawing: Drawing) -> None:
    """Pipes that no way leads to from a valve stand below, each for itself."""
    placed = {leg.pipe for leg in drawing.legs}
    lowest = min(point[1] for point in drawing.points())
    rest = [number for number in range(len(network.pipes)) if number not in placed]
    for place, number in enumerate(rest, start=1):
        y = lowest - place * drawing.pitch
        drawing.legs.append(Leg(pipe=number, start=(0.0, y), end=(network.pipes[number].length, y)))
