"""Labels of the drawing of an engine: name and size of each kind of piece, in rows above the drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.quantities.showing import UnitSystem
from pullbook.quantities.units import UNITS, from_si

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from pullbook.engine.network import Network
    from pullbook.engine.network_pipes import Section
    from pullbook.publish.engine_places import Drawing, Leg

__all__ = ["LABEL_SIZE", "EngineLabel", "labels_of", "rows_of", "shells_of"]

LABEL_SIZE: Final = 18.0  # px
_LETTER: Final = 0.56  # width of a letter by its size
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
        return max(len(self.name), len(self.size)) * LABEL_SIZE * _LETTER


def shells_of(network: Network, pipe: int) -> Iterator[tuple[float, float, float]]:
    """Start, end and outer diameter of each slice of a silencer on a pipe. [m, m, m]."""
    for one in network.perforates:
        if one.pipe == pipe:
            inner = _diameter_at(network, pipe, 0.5 * (one.start + one.end))
            content = network.volumes[one.volume].volume
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
    """Name, size and middle of each piece of a pipe: sections of one group without the cones of steps."""
    pipe = network.pipes[leg.pipe]
    shells = list(shells_of(network, leg.pipe))
    place = 0.0
    for section in pipe.sections:
        middle = place + 0.5 * section.length
        place += section.length
        if section.length < _STEP and len(pipe.sections) > 1:
            continue
        share = middle / pipe.length
        at = tuple(a * (1.0 - share) + b * share for a, b in zip(leg.start, leg.end, strict=True))
        size = _size(section, system)
        shell = next((outer for first, last, outer in shells if first <= middle <= last), None)
        if shell is not None:
            size += f" in {_length(shell, system)}"
        yield section.group, f"{size} {'mm' if system is UnitSystem.METRIC else 'in'}", (at[0], at[1])


def _size(section: Section, system: UnitSystem) -> str:
    first, last = _length(section.diameter_start, system), _length(section.diameter_end, system)
    taper = first if first == last else f"{first} to {last}"
    return f"{_length(section.length, system)} \u00d7 \u2300 {taper}"


def _length(value: float, system: UnitSystem) -> str:
    """Length in mm or inches, to 1 mm or 0.01 in; small ones to 0.1 mm."""
    if system is UnitSystem.US:
        return f"{from_si(value, UNITS['in']):.2f}"
    millimetres = value * 1e3
    return f"{millimetres:.0f}" if millimetres >= 100.0 else f"{millimetres:.1f}".removesuffix(".0")


def rows_of(
    labels: Iterable[EngineLabel], across: Callable[[float], float], room: tuple[float, float]
) -> list[list[tuple[EngineLabel, float]]]:
    """Labels in rows, the highest row first, so that none lies on another.

    Parameters
    ----------
    labels : iterable of EngineLabel
        Labels.
    across : callable
        Makes a place on the picture of a distance.
    room : tuple of (float, float)
        Left and right end of the rows. [px]

    Returns
    -------
    list of list of (EngineLabel, float)
        Each label with the left end of its text. [px]
    """
    rows: list[list[tuple[EngineLabel, float]]] = []
    ends: list[float] = []
    for label in sorted(labels, key=lambda one: one.at[0]):
        wanted = min(max(across(label.at[0]) - 0.5 * label.width, room[0]), room[1] - label.width)
        row = next((number for number, end in enumerate(ends) if end <= wanted), len(rows))
        if row == len(rows):
            rows.append([])
            ends.append(0.0)
        rows[row].append((label, wanted))
        ends[row] = wanted + label.width + _GAP
    return rows[::-1]
