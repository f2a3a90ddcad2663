"""Labels of the drawing of an engine: name and size of each kind of piece, in rows above the drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.engine.layout_silencers import WOOL_FREE
from pullbook.quantities.showing import UnitSystem
from pullbook.quantities.units import UNITS, from_si

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from pullbook.engine.network import Network
    from pullbook.engine.network_pipes import Section
    from pullbook.publish.engine_places import Drawing, Leg

__all__ = ["LABEL_SIZE", "EngineLabel", "labels_of", "rows_of", "shells_of"]

LABEL_SIZE: Final = 18.0  # px
_LETTER: Final = 0.60  # width of a letter by its size
_BOLD_LETTER: Final = 0.68
_GAP: Final = 16.0  # px between two labels of a row
_STEP: Final = 0.02  # m; shorter pieces beside others are the cones of steps


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineLabel:
    """Two lines of text and the place that they are about.

    Attributes
    ----------
    name, size : str
        The two lines.
    at : tuple of (float, float)
        Place on the drawing. [m, m]
    """

    name: str
    size: str
    at: tuple[float, float]

    @property
    def width(self) -> float:
        """Room that it needs. [px]."""
        return LABEL_SIZE * max(len(self.name) * _BOLD_LETTER, len(self.size) * _LETTER)


def shells_of(network: Network, pipe: int) -> Iterator[tuple[float, float, float]]:
    """Start, end and outer diameter of each slice of a silencer on a pipe. [m, m, m]."""
    for one in network.perforates:
        if one.pipe == pipe:
            inner = _diameter_at(network, pipe, 0.5 * (one.start + one.end))
            around = network.volumes[one.volume]
            content = around.volume / (WOOL_FREE if around.isothermal else 1.0)
            yield one.start, one.end, math.sqrt(inner**2 + 4.0 * content / (math.pi * (one.end - one.start)))


def _diameter_at(network: Network, pipe: int, x: float) -> float:
    place = 0.0
    for section in network.pipes[pipe].sections:
        if x <= place + section.length:
            share = (x - place) / section.length
            return section.diameter_start * (1.0 - share) + section.diameter_end * share
        place += section.length
    return network.pipes[pipe].sections[-1].diameter_end


def labels_of(network: Network, drawing: Drawing, system: UnitSystem) -> Iterator[EngineLabel]:
    """One label for each kind of piece, at the highest one; cones that are only steps have none."""
    seen: set[tuple[str, str]] = set()
    for leg in sorted(drawing.legs, key=lambda one: (-max(one.start[1], one.end[1]), one.pipe)):
        for name, size, at in _pieces(network, leg, system):
            if (name, size) not in seen:
                seen.add((name, size))
                yield EngineLabel(name=name, size=size, at=at)
    for box in drawing.boxes:
        if not box.cylinder:
            volume = network.volumes[box.volume]
            middle = 0.5 * (box.low[0] + box.high[0])
            symbol = "L" if system is UnitSystem.METRIC else "in3"
            size = f"{from_si(volume.volume, UNITS[symbol]):.3g} {symbol.replace('3', '³')}"
            yield EngineLabel(name=volume.name, size=size, at=(middle, box.high[1]))


def _pieces(network: Network, leg: Leg, system: UnitSystem) -> Iterator[tuple[str, str, tuple[float, float]]]:
    """Name, size and middle of each piece of a pipe; the cone of a small step belongs to the piece behind it."""
    pipe = network.pipes[leg.pipe]
    shells = list(shells_of(network, leg.pipe))
    place = begin = 0.0
    for section, after in zip(pipe.sections, (*pipe.sections[1:], None), strict=True):
        place += section.length
        if section.length < _STEP and after is not None and after.group == section.group:
            continue
        middle, length = 0.5 * (begin + place), place - begin
        share = middle / pipe.length
        at = (
            leg.start[0] * (1.0 - share) + leg.end[0] * share,
            leg.start[1] * (1.0 - share) + leg.end[1] * share,
        )
        size = _size(section, length, system)
        shell = next((outer for first, last, outer in shells if first <= middle <= last), None)
        if shell is not None:
            size += f" in {_length(shell, system)}"
        yield section.group, f"{size} {'mm' if system is UnitSystem.METRIC else 'in'}", at
        begin = place


def _size(section: Section, length: float, system: UnitSystem) -> str:
    first, last = _length(section.diameter_start, system), _length(section.diameter_end, system)
    taper = first if first == last else f"{first} to {last}"
    return f"{_length(length, system)} \u00d7 \u2300 {taper}"


def _length(value: float, system: UnitSystem) -> str:
    """Length in mm or inches, to 1 mm or 0.01 in; small ones to 0.1 mm."""
    if system is UnitSystem.US:
        return f"{from_si(value, UNITS['in']):.2f}"
    millimetres = value * 1e3
    return f"{millimetres:.0f}" if millimetres >= 100.0 else f"{millimetres:.1f}".removesuffix(".0")


def rows_of(labels: Iterable[EngineLabel], across: Callable[[float], float]) -> list[list[tuple[EngineLabel, float]]]:
    """Labels in rows, the highest row first, so that none lies on another and no line goes through a text.

    Each label is a flag to the right of its pole. Whatever pole stands within the length of a flag has to end below
    it; so rows are given out from the right to the left.

    Parameters
    ----------
    labels : iterable of EngineLabel
        Labels.
    across : callable
        Makes a place on the picture of a distance.

    Returns
    -------
    list of list of (EngineLabel, float)
        Each label with its pole. [px]
    """
    placed: list[tuple[int, EngineLabel, float]] = []
    for label in sorted(labels, key=lambda one: -one.at[0]):
        pole = across(label.at[0])
        under = [row for row, _, other in placed if pole - _GAP <= other < pole + label.width + _GAP]
        placed.append((1 + max(under, default=-1), label, pole))
    rows: list[list[tuple[EngineLabel, float]]] = [[] for _ in range(1 + max((row for row, *_ in placed), default=-1))]
    for row, label, pole in placed:
        rows[row].append((label, pole))
    return rows[::-1]
