"""Parts that lead air in and gas out: throttle, plenum, runners, headers, silencers, tailpipe."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["AirBox", "Exhaust", "Header", "Intake", "Merge", "Runners", "Silencer", "Throttle", "Tube"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """Straight or conical piece of pipe.

    Attributes
    ----------
    length : float
        Along the middle line. [m]
    diameter : float
        Inner diameter where gas enters with the mean flow. [m]
    end_diameter : float
        Inner diameter where it leaves. [m]
    bend_loss : float
        Sum of the loss coefficients of its bends. [1]
    """

    length: float
    diameter: float
    end_diameter: float
    bend_loss: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AirBox:
    """Box with the air filter.

    Attributes
    ----------
    volume : float
        Content. [m3]
    inlet : Tube
        Pipe from the open air into it.
    bellmouth : bool
        Whether that pipe begins with a rounded mouth.
    """

    volume: float
    inlet: Tube
    bellmouth: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Throttle:
    """Throttle body.

    Attributes
    ----------
    count : int
        How many of them, side by side.
    body : Tube
        The body.
    opening : float
        Open share of its area: 1 for wide open. [1]
    discharge : float
        Discharge coefficient of the open area; shaft and blade are in it. [1]
    """

    count: int
    body: Tube
    opening: float
    discharge: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Runners:
    """Intake runners, one for each cylinder, from the plenum to the flange of the head.

    Attributes
    ----------
    tubes : tuple of Tube
        In the order of the cylinder numbers.
    bellmouth : bool
        Whether they begin with a rounded mouth.
    """

    tubes: tuple[Tube, ...]
    bellmouth: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """Intake of the whole engine.

    Attributes
    ----------
    layout : str
        "plenum" or "individual" (a runner with its own throttle for each cylinder).
    air_box : AirBox or None
        Air box; None where the engine breathes from the open.
    throttle : Throttle
        Throttle.
    plenum : float
        Content of the plenum; not used by individual runners. [m3]
    runners : Runners
        Runners.
    """

    layout: str
    air_box: AirBox | None
    throttle: Throttle
    plenum: float
    runners: Runners


@dataclass(frozen=True, slots=True, kw_only=True)
class Merge:
    """Where pipes become one.

    Attributes
    ----------
    length : float
        From the plane where the pipes end to the outlet. [m]
    outlet : float
        Diameter of the outlet. [m]
    angle_deg : float
        Angle of each pipe against the axis. [deg]
    model : str
        "mixing" or "pressure".
    """

    length: float
    outlet: float
    angle_deg: float
    model: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """Header of some cylinders.

    Attributes
    ----------
    layout : str
        "4-1" and its like, "4-2-1" and its like, "individual" or "log".
    groups : tuple of tuple of int
        Cylinder numbers by first merge; one group for "4-1", one for each cylinder for "individual".
    primaries : tuple of tuple of Tube
        Pieces of each primary, in the order of `cylinders`.
    secondaries : Tube or None
        Pipe from each first merge to the second; only for "4-2-1" and its like.
    first_merge : Merge or None
        Merge of the primaries; None for "individual" and "log".
    last_merge : Merge or None
        Merge of the secondaries.
    log : Tube or None
        Piece of the log between two cylinders; only for "log".
    outlet : tuple of Tube
        Collector and its extension, or the megaphone of each primary.
    """

    layout: str
    groups: tuple[tuple[int, ...], ...]
    primaries: tuple[tuple[Tube, ...], ...]
    secondaries: Tube | None
    first_merge: Merge | None
    last_merge: Merge | None
    log: Tube | None
    outlet: tuple[Tube, ...]

    @property
    def cylinders(self) -> tuple[int, ...]:
        """Cylinder numbers, group by group."""
        return tuple(number for group in self.groups for number in group)


@dataclass(frozen=True, slots=True, kw_only=True)
class Silencer:
    """One silencer.

    Attributes
    ----------
    kind : str
        "straight-through", "chamber" or "reversed".
    tube : Tube
        Tube inside; its length is that of the shell.
    shell : float
        Diameter of a circle with the area of the shell. [m]
    porosity : float
        Share of the tube's surface that is holes. [1]
    packed : bool
        Whether the room between tube and shell is filled with wool.
    resistivity : float
        Flow resistivity of the wool. [Pa s/m2]
    after : Tube or None
        Pipe from here to the next silencer.
    """

    kind: str
    tube: Tube
    shell: float
    porosity: float
    packed: bool
    resistivity: float
    after: Tube | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Exhaust:
    """What follows the headers.

    Attributes
    ----------
    joined : str
        "separate", "y", "x" or "h": how two systems meet.
    front : Tube or None
        Pipe behind each header.
    crossover : Tube or None
        Cross pipe of an h.
    middle : Tube or None
        Pipe behind the crossing.
    silencers : tuple of Silencer
        In the order of the flow.
    tailpipe : Tube or None
        Last pipe.
    tip : str
        "plain", "flanged" or "bellmouth".
    join_model : str
        How joins of three pipes or more are reckoned: "mixing", "pressure" or "stagnation".
    """

    joined: str
    front: Tube | None
    crossover: Tube | None
    middle: Tube | None
    silencers: tuple[Silencer, ...]
    tailpipe: Tube | None
    tip: str
    join_model: str
