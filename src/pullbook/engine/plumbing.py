"""Plumbing: a network as it is built, run by run.

A run is a pipe that is still open at its end. Where the next piece has another diameter, a small step becomes a short
cone inside the same pipe; a large one ends the pipe, and the next pipe goes on behind a join of two, where the loss of
the step is reckoned.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from pullbook.engine.network import Network
from pullbook.engine.network_ends import END, START, Attachment, JoinEnd
from pullbook.engine.network_pipes import Join, Perforate, Pipe, Section, Volume

if TYPE_CHECKING:
    from pullbook.engine.network_cylinders import Cylinder
    from pullbook.engine.network_ends import End, Side
    from pullbook.engine.network_pipes import Wall
    from pullbook.engine.parts_pipes import Tube

__all__ = ["Plumbing", "Run"]

_SMALL_STEP: Final = 1.15  # ratio of diameters up to which a step is a cone inside the pipe
_CONE: Final = 2.0  # length of that cone by the difference of the diameters
_STRAIGHT: Final = 0.0
_AWAY: Final = 180.0


@dataclass(slots=True)
class _Slice:
    """Perforated stretch of a run."""

    name: str
    start: float
    end: float
    volume: int
    open_area: float
    resistance: float


@dataclass(slots=True)
class Run:
    """Pipe that is still open at its end.

    Attributes
    ----------
    name : str
        Name of the pipe that it becomes.
    side : Side
        Side of the engine.
    start : End
        What its start is fixed to.
    sections : list of Section
        Pieces so far.
    """

    name: str
    side: Side
    start: End
    sections: list[Section] = field(default_factory=list)
    slices: list[_Slice] = field(default_factory=list)

    @property
    def length(self) -> float:
        """Length so far. [m]."""
        return sum(section.length for section in self.sections)

    @property
    def diameter(self) -> float:
        """Diameter at its end. [m]."""
        return self.sections[-1].diameter_end

    def perforate(self, name: str, ends: tuple[float, float], volume: int, holes: tuple[float, float]) -> None:
        """Perforate a stretch.

        Parameters
        ----------
        name : str
            Name of the stretch.
        ends : tuple of (float, float)
            Stretch, from the start of the run. [m]
        volume : int
            Index of the volume around it.
        holes : tuple of (float, float)
            Area of the holes, and resistance behind them. [m2, Pa s/m]
        """
        self.slices.append(
            _Slice(name=name, start=ends[0], end=ends[1], volume=volume, open_area=holes[0], resistance=holes[1])
        )


class Plumbing:
    """Network as it is built."""

    def __init__(self) -> None:
        self._pipes: list[Pipe] = []
        self._attachments: list[Attachment] = []
        self._volumes: list[Volume] = []
        self._joins: list[Join] = []
        self._perforates: list[Perforate] = []

    def run(self, name: str, side: Side, start: End) -> Run:
        """Begin a pipe."""
        return Run(name=name, side=side, start=start)

    def lay(self, run: Run, group: str, tube: Tube, wall: Wall) -> Run:
        """Add a tube to a run; the run that goes on, which is another one behind a large step."""
        section = Section(group=group, length=tube.length, diameter_start=tube.diameter, diameter_end=tube.end_diameter,
                          wall=wall, bend_loss=tube.bend_loss)  # fmt: skip
        if run.sections:
            ratio = section.diameter_start / run.diameter
            if not 1.0 / _SMALL_STEP <= ratio <= _SMALL_STEP:
                run = self.step(run, f"{run.name}, {group}")
            elif abs(ratio - 1.0) > 1e-9:
                run.sections += _with_cone(run.diameter, section)
                return run
        run.sections.append(section)
        return run

    def step(self, run: Run, name: str, angle_deg: float = _STRAIGHT) -> Run:
        """End a run at a join of two, behind which another one goes on.

        Parameters
        ----------
        run : Run
            The run.
        name : str
            Name of the one that goes on.
        angle_deg : float
            Angle by which the gas turns in the join. [deg]
        """
        join = self.join(f"{run.name} to {name.rsplit(', ', 1)[-1]}", "mixing")
        self.end(run, JoinEnd(join=join, angle_deg=angle_deg))
        return self.run(name, run.side, JoinEnd(join=join, angle_deg=_AWAY))

    def end(self, run: Run, end: End) -> int:
        """End a run; the index of the pipe."""
        number = len(self._pipes)
        self._pipes.append(Pipe(name=run.name, side=run.side, sections=tuple(run.sections)))
        self._attachments += [
            Attachment(pipe=number, end=START, to=run.start),
            Attachment(pipe=number, end=END, to=end),
        ]
        self._perforates += [
            Perforate(name=one.name, pipe=number, start=one.start, end=one.end, volume=one.volume,
                      open_area=one.open_area, resistance=one.resistance)
            for one in run.slices
        ]  # fmt: skip
        return number

    def join(self, name: str, model: str) -> int:
        """Add a join; its index."""
        self._joins.append(Join(name=name, model=model))
        return len(self._joins) - 1

    def volume(self, volume: Volume) -> int:
        """Add a volume; its index."""
        self._volumes.append(volume)
        return len(self._volumes) - 1

    def network(self, cylinders: tuple[Cylinder, ...]) -> Network:
        """Finished network."""
        return Network(
            pipes=tuple(self._pipes),
            attachments=tuple(self._attachments),
            volumes=tuple(self._volumes),
            joins=tuple(self._joins),
            perforates=tuple(self._perforates),
            cylinders=cylinders,
        )


def _with_cone(before: float, section: Section) -> list[Section]:
    """Cone from a diameter to that of a section, taken from its length, and the rest of the section."""
    cone = min(_CONE * abs(section.diameter_start - before), 0.5 * section.length)
    share = cone / section.length
    middle = section.diameter_start + share * (section.diameter_end - section.diameter_start)
    return [
        Section(group=section.group, length=cone, diameter_start=before, diameter_end=middle, wall=section.wall,
                bend_loss=section.bend_loss * share),
        Section(group=section.group, length=section.length - cone, diameter_start=middle,
                diameter_end=section.diameter_end, wall=section.wall, bend_loss=section.bend_loss * (1.0 - share)),
    ]  # fmt: skip
